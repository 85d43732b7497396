"""Each command ends with an honest status, says what is wrong, and writes nothing then."""

import json
import shutil
import subprocess
import sys
from contextlib import redirect_stdout
from io import StringIO

import pytest

from flyoff.cli import main
from helpers.study_files import write_study


def run(capsys, *arguments):
    status = main([str(argument) for argument in arguments])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """A study as built, and the figures that the build printed."""
    folder = write_study(tmp_path_factory.mktemp("built"))
    with redirect_stdout(StringIO()) as printed:
        assert main(["build", str(folder), "--json"]) == 0
    return folder, {figure["key"]: figure for figure in json.loads(printed.getvalue())["figures"]}


def test_build_writes_the_report_and_prints_the_table(tmp_path, capsys):
    write_study(tmp_path)
    status, out, err = run(capsys, "build", tmp_path)
    assert (status, err) == (0, "")
    assert "Useful load" in out
    assert "Not for flight planning" in out
    assert (tmp_path / "out/report.html").is_file()


def test_build_json_has_the_documented_keys(built):
    load = built[1]["plain.useful_load"]
    assert {"key", "value", "unit", "u95", "basis", "terms", "trace"} <= set(load)
    assert load["unit"] == "lb"
    assert load["trace"]["inputs"][0]["file"] == "aircraft/plain.toml"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            {"plain": ('takeoff = "1,100 kg"', "takeoff = 1100")},
            "aircraft/plain.toml:10: weights.takeoff: bare",
        ),
        ({"study": ('end = "ESSA"', 'ende = "ESSA"')}, "study.toml:27: trips.0.ende: unknown key"),
        ({"sources": ("[afm]", "[afm")}, "sources.toml:1: not TOML"),
        ({"cruise": ("120,30.0", "12x,30.0")}, "aircraft/plain/cruise.csv:3: true airspeed: '12x'"),
    ],
)
def test_bad_input_is_two_said_and_nothing_written(tmp_path, capsys, change, said):
    write_study(tmp_path, **change)
    before = sorted(path for path in tmp_path.rglob("*"))
    status, out, err = run(capsys, "build", tmp_path)
    assert (status, out) == (2, "")
    assert said in err
    assert "nothing was written" in err
    assert "Traceback" not in err
    assert sorted(path for path in tmp_path.rglob("*")) == before


def test_a_trip_that_nobody_can_fly_is_named_and_the_rest_built(tmp_path, capsys):
    write_study(tmp_path, study=('end = "ESSA"', 'end = "XXXX"'))
    status, out, err = run(capsys, "build", tmp_path)
    assert status == 1
    assert "study.toml:27: trips.0.end: unknown airport 'XXXX'" in err
    assert "Useful load" in out


def test_a_spoilt_study_keeps_its_earlier_report(built, tmp_path, capsys):
    shutil.copytree(built[0], tmp_path, dirs_exist_ok=True)
    report = (tmp_path / "out/report.html").read_bytes()
    write_study(tmp_path, plain=('takeoff = "1,100 kg"', "takeoff = 1100"))
    assert run(capsys, "build", tmp_path)[0] == 2
    assert (tmp_path / "out/report.html").read_bytes() == report


def test_a_log_alone_is_pointed_to_propose(tmp_path, capsys):
    (tmp_path / "log.csv").write_text("a,b\n1,2\n")
    status, _, err = run(capsys, "reduce", tmp_path / "log.csv")
    assert status == 2
    assert "--propose" in err


def test_no_such_folder(tmp_path, capsys):
    status, _, err = run(capsys, "build", tmp_path / "nowhere")
    assert status == 2
    assert "nowhere: no such folder" in err


@pytest.mark.parametrize("arguments", [[], ["bild"], ["build", "--jsn"], ["reduce"]])
def test_wrong_words_are_two_with_usage(arguments, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert stopped.value.code == 2
    assert "usage: flyoff" in capsys.readouterr().err


def test_a_pipe_that_closes_is_no_fault(tmp_path):
    """More is printed than a pipe holds."""
    draft = tmp_path / "draft.md"
    draft.write_text("It weighs 2,600 lb (1,279 kg).\n\n" * 1500)
    shell = f"{sys.executable} -m flyoff check {draft} | head -c 10"
    done = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False)
    assert done.stdout == str(draft)[:10]
    assert done.stderr == ""


def test_new_starts_a_study_that_builds(tmp_path, capsys):
    folder = tmp_path / "mine"
    assert run(capsys, "new", folder)[0] == 0
    assert (folder / ".schema/aircraft.json").is_file()
    status, out, err = run(capsys, "build", folder)
    assert status == 0, err
    assert out


def test_new_does_not_write_over_a_study(tmp_path, capsys):
    write_study(tmp_path)
    status, _, err = run(capsys, "new", tmp_path)
    assert status == 2
    assert "Traceback" not in err


def test_check_ends_with_a_status_that_tells(tmp_path, capsys):
    draft = tmp_path / "draft.md"
    draft.write_text("It weighs 2,600 lb (1,179 kg).\n")
    assert run(capsys, "check", draft)[0] == 0
    draft.write_text("It weighs 2,600 lb (1,279 kg).\n")
    status, out, _ = run(capsys, "check", draft, "--html", tmp_path / "draft.html")
    assert status == 1
    assert f"{draft}:1:21: impossible: '1,279 kg'" in out
    assert "1,279 kg" in (tmp_path / "draft.html").read_text("utf-8")
    status, out, _ = run(capsys, "check", draft, "--json")
    assert status == 1
    assert json.loads(out)["findings"][1]["expected"] == "1,179 kg"
    status, out, err = run(capsys, "check", draft, tmp_path / "none.txt", "--html", tmp_path / "two.html")
    assert (status, out) == (2, "")
    assert "none.txt: no such file" in err
    assert not (tmp_path / "two.html").exists()


def test_check_compares_with_the_study(built, tmp_path, capsys):
    folder, figures = built
    pounds = figures["plain.useful_load"]["value"]
    draft = tmp_path / "draft.md"
    for off, ends, word in ((0, 0, "supported"), (60, 1, "contradicted")):
        draft.write_text(f"The plain has a useful load of {pounds + off:.0f} pounds.\n")
        status, out, _ = run(capsys, "check", draft, "--study", folder)
        assert status == ends
        assert word in out
