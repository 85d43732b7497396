"""The file beside captions: what it binds, and how it fails."""

import pytest

from flyoff.core.problems import Problems
from flyoff.draft.bound import figure_of
from flyoff.draft.read import read_draft
from flyoff.draft.sidefile import BoundWords, side_text

CAPTIONS = """WEBVTT

00:01.000 --> 00:04.000
she does <i>ninety</i> knots
or ninety knots

00:04.000 --> 00:08.000
and ninety
knots again
"""


def write(folder, side):
    (folder / "c.vtt").write_text(CAPTIONS, "utf-8")
    (folder / "c.vtt.figures.toml").write_text(side, "utf-8")
    return folder / "c.vtt"


def said(path):
    with pytest.raises(Problems) as raised:
        read_draft(path)
    return str(raised.value)


def test_words_are_bound_by_cue_and_count(tmp_path):
    records = [
        BoundWords(cue="00:01.000", words="ninety knots", figure="a.b", nth=2),
        BoundWords(cue="00:04.000", words="ninety knots", figure='c.d?x="1"'),
    ]
    (block,) = read_draft(write(tmp_path, side_text(records))).blocks
    links = [(figure_of(link), block.text[: link.start].count("ninety")) for link in block.links]
    assert links == [("a.b", 1), ('c.d?x="1"', 2)]


def test_every_fault_is_named_with_its_line(tmp_path):
    side = (
        '[[bound]]\ncue = "00:01.00"\nwords = "x"\nfigure = "a.b"\n'
        '[[bound]]\ncue = "00:04.000"\nwords = "eighty"\nfigure = "a.b"\n'
        '[[bound]]\ncue = "00:04.000"\nwords = "again"\nfigure = "a.b"\n'
        '[[bound]]\ncue = "00:04.000"\nwords = "again"\nfigure = "a.c"\n'
    )
    text = said(write(tmp_path, side))
    assert "c.vtt.figures.toml:1: cue: no cue begins at '00:01.00'; expected the time at which a cue" in text
    assert "(did you mean '00:01.000'?)" in text
    assert "c.vtt.figures.toml:5: words: the cue has no 'eighty'; expected words of it: 'and ninety" in text
    assert "c.vtt.figures.toml:13: bound.3: 'again' bound again; first on line 9" in text


@pytest.mark.parametrize(
    ("side", "words"),
    [
        ("[[bound]]\n", "cue"),
        ('[[bound]]\ncue = 4\nwords = "a"\nfigure = "b"\n', "cue"),
        ('[[bound]]\ncue = "4"\nwords = "a"\nfigure = "b"\nfigures = 1\n', "did you mean 'figure'"),
        ("bound = [", "TOML"),
        ("", "empty"),
    ],
)
def test_what_is_no_side_file_is_refused(tmp_path, side, words):
    assert words in said(write(tmp_path, side))
