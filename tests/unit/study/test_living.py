"""Living figures against a small study: bound, updated, exported; nothing changed that was not asked for."""

import json
import re

import pytest

from flyoff.charts.catalogue import CHARTS
from flyoff.cli import main
from flyoff.core.problems import Problems
from flyoff.study import living
from flyoff.study.asked import Refused, changed_terms, records_of
from flyoff.study.charted import SHOWN
from flyoff.study.check import checking
from flyoff.study.run import load
from helpers.study_files import write_study

KEY = "plain.useful_load"


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("study"))


@pytest.fixture(scope="module")
def loaded(study):
    return load(study)


@pytest.fixture(scope="module")
def printed(loaded):
    """What the study says of the useful load, in whole kilograms."""
    return f"{loaded.figures()[KEY].si:,.0f} kg"


def draft(folder, text, name="d.md"):
    path = folder / name
    path.write_bytes(text.encode())
    return path


def test_words_that_agree_are_proposed_and_written_only_when_asked(study, tmp_path, printed, capsys):
    text = f"The Plain has a useful load of {printed}. The Plain has a useful load of 12 kg.\r\n"
    path = draft(tmp_path, "\ufeff" + text)
    assert main(["check", str(path), "--study", str(study), "--bind"]) == 1
    shown = capsys.readouterr().out
    assert f"[{printed}](figure:{KEY})" in shown
    assert "1 change proposed; nothing was written" in shown
    assert path.read_bytes() == ("\ufeff" + text).encode()
    assert sorted(tmp_path.iterdir()) == [path]
    main(["check", str(path), "--study", str(study), "--bind", "--write"])
    assert path.read_bytes() == ("\ufeff" + text.replace(printed, f"[{printed}](figure:{KEY})", 1)).encode()
    assert (tmp_path / "d.md.bak").read_bytes() == ("\ufeff" + text).encode()
    out = tmp_path / "out.md"
    main(["check", str(path), "--export", str(out)])
    assert out.read_bytes() == ("\ufeff" + text).encode()


def test_each_proposal_can_be_declined(study, tmp_path, printed):
    path = draft(tmp_path, f"The Plain has a useful load of {printed}, a useful load of {printed}.\n")
    answers = iter([False, True])
    (rewriting,) = living.bound_anew(checking([path], study), lambda _: next(answers))
    assert len(rewriting.changes) == 1
    assert rewriting.after[path].count("figure:") == 1


def test_on_a_terminal_each_is_asked_for_and_no_answer_is_no(study, tmp_path, printed, monkeypatch, capsys):
    said = f"The Plain has a useful load of {printed}.\n\n"
    path = draft(tmp_path, said * 3)
    answers = iter(["y", "n"])

    def answer(_):
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", answer)
    assert main(["check", str(path), "--study", str(study), "--bind", "--write"]) == 0
    bound = said.replace(printed, f"[{printed}](figure:{KEY})")
    assert path.read_text() == bound + said * 2
    assert capsys.readouterr().out.count("->") == 3


def test_bound_words_are_updated_and_nothing_else(study, tmp_path, printed, capsys):
    text = f"It lifts [about 600 kg](figure:{KEY}), not 600 kg; [{printed}](figure:{KEY}) is so.\n"
    path = draft(tmp_path, text)
    draft(tmp_path, "mine", "d.md.bak")
    assert main(["check", str(path), "--study", str(study), "--write", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)["changes"]
    assert told["copies"] == [str(tmp_path / "d.md.2.bak")]
    assert (tmp_path / "d.md.bak").read_text() == "mine"
    (change,) = told["words"]
    assert path.read_text() == text.replace("about 600 kg", f"about {change['new']}")
    assert change["figure"] == KEY
    assert not living.updated(checking([path], study))[0].changes


def test_bound_ranges_are_one_statement_each(study, tmp_path, loaded):
    value = round(loaded.figures()[KEY].si)
    holds, fails = f"between {value - 2} and {value + 9} kg", "600 to 610 kg"
    text = f"It lifts [{holds}](figure:{KEY}), not [{fails}](figure:{KEY}).\n"
    path = draft(tmp_path, text)
    (checked,) = checking([path], study).checked
    assert [(f.text, f.verdict) for f in checked.findings] == [
        (holds.removeprefix("between "), "supported"), (fails, "contradicted"),
    ]  # fmt: skip
    (rewriting,) = living.updated(checking([path], study))
    (change,) = rewriting.changes
    low, high = (int(end) for end in change.new.removesuffix(" kg").split(" to "))
    assert low <= value <= high == low + 10
    living.write([rewriting])
    assert path.read_text() == text.replace(fails, change.new)
    assert not living.updated(checking([path], study))[0].changes


def test_a_range_in_captions_is_updated(study, tmp_path):
    path = draft(
        tmp_path,
        "WEBVTT\n\n00:01.000 --> 00:04.000\nit lifts six hundred\nto six hundred and ten kg\n",
        "c.vtt",
    )
    side = draft(
        tmp_path,
        f'[[bound]]\ncue = "00:01.000"\nwords = "six hundred to six hundred and ten kg"\nfigure = "{KEY}"\n',
        "c.vtt.figures.toml",
    )
    living.write(living.updated(checking([path], study)))
    assert "six hundred\n" not in path.read_text()
    assert "six hundred and ten" not in side.read_text()
    (checked,) = checking([path], study).checked
    assert [f.verdict for f in checked.findings if f.figure] == ["supported"]


def test_captions_are_bound_and_updated_through_the_file_beside_them(study, tmp_path, printed):
    number = printed.removesuffix(" kg")
    path = draft(
        tmp_path, f"WEBVTT\n\n00:01.000 --> 00:04.000\nthe plain has a useful load of {number}\nkg\n", "c.vtt"
    )
    living.write(living.bound_anew(checking([path], study)))
    side = tmp_path / "c.vtt.figures.toml"
    assert f'words = "{printed}"\nfigure = "{KEY}"' in side.read_text()
    path.write_text(path.read_text().replace(number, "600"))
    side.write_text("# mine\n" + side.read_text().replace(number, "600"))
    copies = living.write(living.updated(checking([path], study)))
    assert {copy.name for copy in copies} == {"c.vtt.bak", "c.vtt.figures.toml.bak"}
    assert "600" not in path.read_text() + side.read_text()
    assert side.read_text().startswith("# mine\n")
    (checked,) = checking([path], study).checked
    assert [f.verdict for f in checked.findings if f.figure] == ["supported"]


def test_nothing_wrong_is_exported(study, tmp_path, capsys):
    path = draft(tmp_path, f"It lifts [600 kg](figure:{KEY}).\n")
    out = tmp_path / "out.md"
    assert main(["check", str(path), "--study", str(study), "--export", str(out)]) == 1
    assert "was not written" in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["d.md", "--bind"], "expected --study FOLDER"),
        (["d.md", "--unused"], "expected --study FOLDER"),
        (["d.md", "e.md", "--export", "o.md"], "2 drafts; expected one"),
        (["d.md", "--export", "d.md"], "a draft with links to figures"),
        (["d.md", "--export", "o.html"], "expected a file ending in .md"),
        (["d.txt", "--export", "o.md"], "no Markdown"),
    ],
)
def test_what_cannot_be_done_is_refused(tmp_path, monkeypatch, capsys, arguments, words):
    monkeypatch.chdir(tmp_path)
    for name in ("d.md", "e.md", "d.txt"):
        draft(tmp_path, f"It lifts [600 kg](figure:{KEY}).\n", name)
    assert main(["check", *arguments]) == 2
    assert words in capsys.readouterr().err
    assert {path.name for path in tmp_path.iterdir()} == {"d.md", "e.md", "d.txt"}


def test_words_of_plain_text_cannot_be_bound(study, tmp_path):
    path = draft(tmp_path, "It lifts 600 kg.", "d.txt")
    with pytest.raises(Problems, match=r"no words of a \.txt file can be bound; expected one of \.md"):
        living.bound_anew(checking([path], study))


def test_a_file_changed_meanwhile_is_not_written_over(study, tmp_path):
    path = draft(tmp_path, f"It lifts [600 kg](figure:{KEY}).\n")
    rewriting = living.updated(checking([path], study))
    path.write_text("changed")
    with pytest.raises(Problems, match="it changed while it was read"):
        living.write(rewriting)
    assert [p.read_text() for p in tmp_path.iterdir()] == ["changed"]


def test_links_to_nothing_are_said_with_the_nearest_key(study, tmp_path, capsys):
    path = draft(
        tmp_path, "[600 kg](figure:plain.usefull_load), [x](figure:plain.range), [6 kg](figure: plain.range)"
    )
    assert main(["check", str(path), "--study", str(study)]) == 1
    out = capsys.readouterr().out
    assert "the study has no figure of this key (did you mean 'plain.useful_load'?)" in out
    assert "no quantity in 'x', bound to plain.range" in out
    assert "this looks like a link to a figure and is none" in out
    assert "figures are used nowhere (--unused lists them)" in out


def test_a_chart_that_says_otherwise_is_named(study, tmp_path):
    path = draft(tmp_path, "The Plain has a [cruise speed of 50 kt](figure:plain.cruise_speed).")
    (checked,) = checking([path], study).checked
    assert [
        n.words for n in checked.notes if "Cruise speed over altitude" in n.words and "'50 kt'" in n.words
    ]


def test_every_chart_of_a_comparison_says_what_it_shows():
    assert sorted(SHOWN) == sorted(chart.name for chart in CHARTS)


def test_other_terms_are_answered_as_by_a_study_that_has_them(study, loaded, tmp_path):
    asked = ["plain.range?altitude=4,000ft&people=1", "plain.cruise_speed?wind=5kt&altitude=4000ft"]
    answered = records_of(loaded, asked)
    assert not answered.refused
    other = load(write_study(tmp_path, study=('altitude = "', 'altitude = "4,000 ft" # "')))
    assert answered.figures[asked[1]].si == other.figures()["plain.cruise_speed"].si
    assert answered.figures[asked[0]].si > other.figures()["plain.range"].si - 1e-6


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("altitud=6000ft", "(did you mean 'altitude'?)"),
        ("altitude", "gives no value"),
        ("altitude=6000", "has no unit"),
        ("altitude=6000kg", "unknown unit"),
        ("altitude=60000ft", "expected between"),
        ("people=0", "no number from 1 to 20"),
        ("people=²", "no number from 1 to 20"),
        ("bags=-4kg", "is negative"),
        ("evidence=handbok", "(did you mean 'handbook'?)"),
        ("wind=3kt&wind=4kt", "wind is given twice"),
        ("", "is no term"),
    ],
)
def test_terms_that_cannot_be_changed_are_refused_with_the_reason(loaded, query, words):
    with pytest.raises(Refused, match=re.escape(words)):
        changed_terms(loaded.folder.record.terms, query)
    key = f"plain.range?{query}"
    assert words in records_of(loaded, [key]).refused[key]
