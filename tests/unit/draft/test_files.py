"""Each kind of file as text with places, and what is refused."""

import contextlib
import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.problems import Problems
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.read import read_draft

W = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'


def docx(body: str, **others: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("[Content_Types].xml", "<Types/>")
        package.writestr("word/document.xml", f"<w:document {W}><w:body>{body}</w:body></w:document>")
        for name, data in others.items():
            package.writestr(f"word/{name.replace('__', '.')}", data)
    return stream.getvalue()


def run(text: str) -> str:
    return f"<w:r><w:t>{text}</w:t></w:r>"


def write(folder, name, data):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def said(path) -> str:
    with pytest.raises(Problems) as raised:
        read_draft(path)
    return str(raised.value)


def places(blocks, words):
    """Return where words stand by what the blocks say."""
    found = []
    for block in blocks:
        at = block.text.find(words)
        if at >= 0:
            spot = block.spot(at)
            found.append((spot.line, spot.column))
    return found


def test_markdown_keeps_lines_and_columns():
    text = (
        "---\ntitle: 12 kt\n---\n# 1 head\n\nOne *and* two.\n"
        "The [1,090 nm](figure:tern.range?altitude=6000ft) at **147 knots**,\n> 3 gph & more\n\n"
        "| a | b |\n|---|---|\n| Tern | 9 \\| 10 gph |\n\n```\n5 ft\n```\n"
    )
    blocks = markdown_blocks(text)
    lines = text.split("\n")
    for words in ("1,090 nm", "147 knots", "3 gph", "1 head", "Tern"):
        ((line, column),) = places(blocks, words)
        assert lines[line - 1][column - 1 :].startswith(words)
    assert not places(blocks, "5 ft")
    assert not places(blocks, "6000ft")
    assert not places(blocks, "12 kt")
    cell = next(block.cell for block in blocks if "10 gph" in block.text)
    assert (cell.row, cell.column) == ("Tern", "b")


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\r"), max_size=400))
def test_any_markdown_has_places_inside_the_file(text):
    lines = text.split("\n")
    for block in markdown_blocks(text):
        for spot in block.spots:
            assert 1 <= spot.line <= len(lines) + 1
            assert spot.column >= 1


def test_plain_text_keeps_places(tmp_path):
    draft = read_draft(write(tmp_path, "a.txt", "First line\n  with 12 kt\n\nSecond."))
    assert places(draft.blocks, "12 kt") == [(2, 8)]
    assert len(draft.blocks) == 2


def test_captions_run_on_from_cue_to_cue(tmp_path):
    text = (
        "WEBVTT\n\nNOTE not said\n\nfirst\n00:01.000 --> 00:03.000 align:start\n<v Ann>a hundred and\n\n"
        "00:02.500 --> 00:05.000\nforty knots\n\n00:50.000 --> 00:49.000\nlate\n"
    )
    draft = read_draft(write(tmp_path, "a.vtt", text))
    assert [block.text.strip() for block in draft.blocks] == ["a hundred and forty knots", "late"]
    spot = draft.blocks[0].spot(draft.blocks[0].text.index("forty"))
    assert (spot.line, spot.column, spot.time) == (10, 1, "00:02.500")
    notes = [str(note) for note in draft.notes]
    assert "begins before the one of line 6 ends" in notes[0]
    assert "ends before it begins" in notes[1]


def test_subrip_is_read(tmp_path):
    draft = read_draft(write(tmp_path, "a.srt", "1\n00:00:01,000 --> 00:00:03,000\n{\\an8}<i>12 kt</i>\n"))
    assert draft.blocks[0].text.strip() == "12 kt"


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.vtt", "1\n00:00:01.000 --> 00:00:03.000\nx\n", "expected WEBVTT"),
        ("a.vtt", "WEBVTT\n\n0:1 --> soon\nx\n", ":3: '0:1 --> soon'"),
        ("a.srt", "no times at all\n", "no cue"),
        ("a.txt", b"caf\xe9 12 kt\n", ":1: byte 0xe9 is not UTF-8"),
        ("a.md", "\ufeffx\n".encode("utf-16"), "is not UTF-8"),
        ("a.md", b"one\ntwo\x00\n", ":2: a NUL byte"),
        ("a.md", b"", "the file is empty"),
        ("a.odt", b"x", "expected one of"),
        ("a.docx", b"PK no zip", "cannot be unpacked"),
        ("a.docx", docx("<w:p>", settings__xml=b""), "is not XML"),
        ("a.docx", docx("", vbaProject__bin=b"x"), "it carries macros"),
        ("a.docx", docx(f"<w:p>{run('9' * 30_000_000)}</w:p>"), "packed like a bomb"),
    ],
)
def test_what_cannot_be_read_is_said(tmp_path, name, text, words):
    path = write(tmp_path, name, text)
    before = path.read_bytes()
    assert words in said(path)
    assert path.read_bytes() == before


def test_entities_are_refused(tmp_path):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("word/document.xml", f'<!DOCTYPE d [<!ENTITY a "b">]><w:d {W}>&a;</w:d>')
    assert "declares entities" in said(write(tmp_path, "a.docx", stream.getvalue()))


def test_tracked_changes_are_read_as_accepted(tmp_path):
    body = (
        f"<w:p>{run('It cruises at ')}<w:del><w:r><w:delText>157</w:delText></w:r></w:del>"
        f"<w:ins>{run('147')}</w:ins>{run(' knots')}</w:p><w:tbl><w:tr><w:tc><w:p>{run('a')}</w:p></w:tc>"
        f"<w:tc><w:p>{run('flow')}</w:p></w:tc></w:tr><w:tr><w:tc><w:p>{run('Tern')}</w:p></w:tc>"
        f"<w:tc><w:p>{run('9 gph')}</w:p></w:tc></w:tr></w:tbl>"
    )
    draft = read_draft(write(tmp_path, "a.docx", docx(body, comments__xml=b"<c/>")))
    assert draft.blocks[0].text == "It cruises at 147 knots"
    assert "1 deleted and 1 inserted" in draft.notes[0].words
    assert "comments" in draft.notes[1].words
    assert draft.blocks[-1].cell.row == "Tern"
    assert draft.blocks[-1].cell.column == "flow"


WHOLE = docx("<w:p><w:r><w:t>It cruises at 147 knots, for three hours, on 9 gph.</w:t></w:r></w:p>" * 20)


@given(st.integers(0, len(WHOLE) - 1), st.binary(min_size=1, max_size=8), st.integers(1, len(WHOLE)))
def test_a_damaged_file_is_read_or_refused(tmp_path_factory, at, bytes_there, length):
    path = tmp_path_factory.getbasetemp() / "damaged.docx"
    path.write_bytes((WHOLE[:at] + bytes_there + WHOLE[at + len(bytes_there) :])[:length])
    with contextlib.suppress(Problems):
        read_draft(path)
