"""Editions are kept whole, made again to the byte, and refused where anything of them was changed."""

import hashlib
import json
import shutil

import pytest

from flyoff.cli import main
from flyoff.core.problems import Problems
from flyoff.study import changes as changing
from flyoff.study import editions, kept
from flyoff.study.changes import changes
from flyoff.study.changes_text import changes_text, rebuilt_text
from flyoff.study.run import Build, build, load
from helpers.study_files import AIRCRAFT, write_study


def tree(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A study with one edition, and its files; not to be changed."""
    folder = write_study(tmp_path_factory.mktemp("made") / "study")
    records = tree(folder)
    editions.build_edition(folder, "2026-06")
    return folder, records


@pytest.fixture
def study(made, tmp_path):
    """A copy of it, without its report."""
    return shutil.copytree(made[0], tmp_path / "study", ignore=shutil.ignore_patterns("out"))


def edit(study, name, old, new):
    path = study / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def forge(study, change, name="2026-06"):
    """Change what an edition says of itself, and make its digest right, as another program might have."""
    folder = study / "editions" / name
    said = json.loads((folder / "edition.json").read_text())
    change(said)
    said["published"]["figures.json"] = editions.digest((folder / "figures.json").read_bytes())
    said["digest"] = editions.manifest_digest(said)
    (folder / "edition.json").write_text(json.dumps(said))


def test_an_edition_holds_what_was_published_and_its_records(made):
    folder, records = made
    edition = kept.read_edition(folder, "2026-06")
    assert tree(edition.path / "records") == records
    assert (edition.path / "figures.json").read_bytes() == (folder / "out/figures.json").read_bytes()
    assert edition.records == {k: hashlib.sha256(v).hexdigest() for k, v in records.items()}
    assert edition.published == {k: hashlib.sha256(v).hexdigest() for k, v in tree(folder / "out").items()}
    said = json.loads((edition.path / "edition.json").read_text())
    assert {"term": "Head wind", "written": "0 kt", "source": "This study"} in said["terms"]
    assert said["made_with"]["flyoff"]
    assert sorted(p.name for p in (folder / "editions").iterdir()) == ["2026-06"]


def test_an_edition_is_made_again_byte_for_byte_whatever_the_study_is_now(made, study, monkeypatch):
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "710 kg"')
    builds = []
    monkeypatch.setattr(kept, "build", lambda *a, **k: builds.append(build(*a, **k)) or builds[0])
    rebuilt = kept.rebuild(study, "2026-06")
    assert rebuilt.differing == ()
    assert rebuilt.other_program == ()
    assert tree(rebuilt.folder) == tree(made[0] / "out")
    assert f"all {rebuilt.count} files as published, byte for byte" in rebuilt_text(rebuilt)

    def older(said):
        said["made_with"]["flyoff"] = "0.0.9"
        said["published"]["report.html"] = "0" * 64

    forge(study, older)
    monkeypatch.setattr(kept, "build", lambda *_, **__: builds[0])
    rebuilt = kept.rebuild(study, "2026-06")
    assert rebuilt.differing == ("report.html",)
    assert "flyoff 0.0.9 then, " in rebuilt_text(rebuilt)
    assert "the program accounts for it" in rebuilt_text(rebuilt)


def test_an_edition_is_never_written_over(study, capsys):
    before = tree(study)
    assert main(["build", str(study), "--edition", "2026-06"]) == 2
    assert "this edition exists; expected a new name" in capsys.readouterr().err
    assert tree(study) == before


@pytest.mark.parametrize(
    "name", ["a/b", "..", ".a", "", "a\\b", "working", "a ", "ä", "x" * 65, "a.", "-a", "a\n"]
)
def test_names_that_are_none_are_refused(study, name, capsys):
    before = tree(study)
    with pytest.raises(Problems, match="expected"):
        editions.build_edition(study, name)
    if name != "working":
        with pytest.raises(Problems, match="expected"):
            changes(study, name, "working")
    assert tree(study) == before


def test_a_study_with_faults_gives_no_edition(study):
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "x kg"')
    before = tree(study)
    with pytest.raises(Problems, match=r"aircraft/plain\.toml:8"):
        editions.build_edition(study, "next")
    assert tree(study) == before


def test_a_failed_write_leaves_no_part_of_an_edition(study, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(editions, "write_folder", full)
    monkeypatch.setattr(editions, "build", lambda *_, **__: made_nothing(study))
    with pytest.raises(OSError, match="No space"):
        editions.build_edition(study, "next")
    assert [p.name for p in (study / "editions").iterdir()] == ["2026-06"]


def made_nothing(study):
    out = study / "out" / "figures.json"
    out.parent.mkdir()
    out.write_text("{}")
    return Build(load(study), out, (out,))


def drop(path):
    path.unlink()


def spoil(path):
    path.write_bytes(path.read_bytes() + b"\n")


@pytest.mark.parametrize(
    ("name", "how", "words"),
    [
        ("records/aircraft/plain.toml", spoil, "records/aircraft/plain.toml: its digest is"),
        ("records/aircraft/plain/climb.csv", drop, "records/aircraft/plain/climb.csv: it is gone"),
        ("records/aircraft/other.toml", lambda p: p.write_text("x"), "it is no record of this edition"),
        ("figures.json", spoil, "figures.json: its digest is"),
        ("edition.json", drop, "the edition has no edition.json; expected a whole edition"),
        ("edition.json", lambda p: p.write_text("{"), "edition.json: no JSON"),
        ("edition.json", lambda p: p.write_text("[]"), "edition.json: no JSON object"),
        ("edition.json", lambda p: p.write_text("{}"), "'edition' is not as it should be"),
        ("edition.json", lambda p: p.write_text(p.read_text().replace("0 kt", "1 kt", 1)), "its digest is"),
    ],
)
def test_an_edition_that_was_tampered_with_is_refused_by_name(study, name, how, words, capsys):
    path = study / "editions/2026-06" / name
    how(path)
    assert main(["changes", "2026-06", "--study", str(study)]) == 2
    assert words in capsys.readouterr().err
    assert main(["build", str(study), "--rebuild", "2026-06"]) == 2
    assert not (study / "rebuilt").exists()


def test_an_edition_under_another_name_or_none_is_refused(study, capsys):
    (study / "editions/2026-06").rename(study / "editions/2026-07")
    assert main(["changes", "2026-07", "--study", str(study)]) == 2
    assert "it calls itself '2026-06'; expected '2026-07'" in capsys.readouterr().err
    assert main(["changes", "2026-70", "--study", str(study)]) == 2
    assert "no such edition; expected one of 2026-07 (did you mean '2026-07'?)" in capsys.readouterr().err


def test_no_change_is_no_correction(study, capsys):
    assert main(["changes", "2026-06", "--study", str(study)]) == 0
    assert "to the study as it is: 0 figures to correct." in capsys.readouterr().out


def test_one_changed_file_is_the_cause(study, capsys):
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "710 kg"')
    found = changes(study, "2026-06", "working")
    by_key = {change.key: change for change in found.figures}
    assert {(change.files, change.how) for change in found.figures} == {
        (("aircraft/plain.toml",), "only change")
    }
    # 10 kg are 22.05 lb (NIST SP 811, 2008, B.8).
    was, now = (
        float(text.split()[0])
        for text in (by_key["plain.useful_load"].before, by_key["plain.useful_load"].after)
    )
    assert was - now == pytest.approx(10 / 0.45359237, abs=0.1)
    assert by_key["plain.useful_load"].inputs == (
        "empty weight is 710 kg, was 700 kg (aircraft/plain.toml:8)",
    )
    assert "plain.cruise_speed" not in by_key
    assert main(["changes", "2026-06", "--study", str(study)]) == 1
    text = capsys.readouterr().out
    assert "Because of aircraft/plain.toml (the only file that changed):" in text
    assert 'aircraft/plain.toml:8: empty = "710 kg"    was: empty = "700 kg"' in text
    assert "Not for flight planning" in text
    assert main(["changes", "2026-06", "--study", str(study), "--json"]) == 1
    assert {c["key"] for c in json.loads(capsys.readouterr().out)["figures"]} == set(by_key)


def test_of_several_files_each_figure_gets_its_own(study):
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "710 kg"')
    edit(study, "aircraft/plain/cruise.csv", "8000,0,65,124", "8000,0,65,126")
    edit(study, "sources.toml", "Invented manual", "Invented manual, revised")
    found = {change.key: change for change in changes(study, "2026-06", "working").figures}
    assert found["plain.useful_load"].files == ("aircraft/plain.toml",)
    assert found["plain.cruise_speed"].files == ("aircraft/plain/cruise.csv",)
    assert found["plain.range_seats_filled"].files == ("aircraft/plain.toml", "aircraft/plain/cruise.csv")
    assert "Changed without effect on any figure: sources.toml (changed)." in changes_text(
        changes(study, "2026-06", "working")
    )


def test_what_the_traces_decide_is_what_a_run_with_that_file_alone_shows(study):
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "710 kg"')
    edit(study, "aircraft/plain/climb.csv", "8000,11,8.0,17", "8000,12,8.0,17")
    a, b = (changing.state(study, name) for name in ("2026-06", "working"))
    traced = [c for c in changes(study, "2026-06", "working").figures if c.how == "trace"]
    assert {c.files for c in traced} == {("aircraft/plain.toml",)}
    for file in ("aircraft/plain.toml", "aircraft/plain/climb.csv"):
        alone = changing._figures({**a.files, file: b.files[file]})
        moved = {k for k in alone if changing._told(alone[k]) != changing._told(a.figures.get(k))}
        assert {c.key for c in traced if c.files == (file,)} == {c.key for c in traced} & moved


def test_files_that_cannot_stand_alone_are_the_cause_together(study):
    (study / "aircraft/other.toml").write_text(AIRCRAFT.replace("Plain One", "Other"), "utf-8")
    shutil.copytree(study / "aircraft/plain", study / "aircraft/other")
    edit(study, "study.toml", 'aircraft = ["plain"]', 'aircraft = ["plain", "other"]')
    edit(study, "aircraft/other.toml", 'file = "plain/cruise.csv"', 'file = "other/cruise.csv"')
    found = changes(study, "2026-06", "working")
    assert {change.how for change in found.figures if change.key.startswith("other.")} == {"together"}
    assert not [change for change in found.figures if change.key.startswith("plain.")]
    assert {(f.file, f.change) for f in found.files} >= {("aircraft/other.toml", "added")}


def test_what_the_records_do_not_account_for_is_the_programs(study):
    figures = study / "editions/2026-06/figures.json"
    text = figures.read_text("utf-8")
    value = next(f["value"] for f in json.loads(text)["figures"] if f["key"] == "plain.cruise_speed")
    figures.write_text(text.replace(json.dumps(value), json.dumps(value + 3), 1), "utf-8")

    def older(said):
        said["made_with"]["flyoff"] = "0.0.9"
        said["figures"]["plain.cruise_speed"] = "125.0 ± 0.8 kt"

    forge(study, older)
    found = changes(study, "2026-06", "working")
    assert {(c.key, c.how) for c in found.figures} == {("plain.cruise_speed", "program")}
    assert "The program differs: flyoff 0.0.9 then," in changes_text(found)
    edit(study, "aircraft/plain.toml", 'empty = "700 kg"', 'empty = "710 kg"')
    found = {c.key: c for c in changes(study, "2026-06", "working").figures}
    assert found["plain.cruise_speed"].how == "program"
    assert found["plain.useful_load"].files == ("aircraft/plain.toml",)
