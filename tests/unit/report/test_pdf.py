"""The report on paper: tagged as PDF/UA-1 asks, complete, linked to its traces, the same bytes each time.

PDF/UA-1 is ISO 14289-1:2014: a title shown, a language, all real content tagged, words for each picture.
"""

import io
import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import Destination, DictionaryObject, IndirectObject

from flyoff.core.caution import CAUTION
from flyoff.report import html
from flyoff.report.blocks import Block, Cell, Document, Drawing, Group, Picture, Row, Table, TraceInput
from flyoff.report.document import METHODS, build_document
from flyoff.report.pdf import PAPERS, Paper, Typesetter
from flyoff.report.pdf_traces import appendix, shown_figures, traced_figures
from helpers import comparison_fixture as fixture

MM = 72 / 25.4
SIZES = {"a4": (210 * MM, 297 * MM), "us-letter": (8.5 * 72, 11 * 72)}
"""ISO 216:2007, A4; ANSI/ASME Y14.1, A (letter)."""
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="760" height="300"><text x="9" y="99">text</text></svg>'
TALL = SVG.replace('"300"', '"1500"').replace('"99"', '"1490"')


@pytest.fixture(scope="module")
def document() -> Document:
    return build_document(fixture.comparison(), fixture.SOURCES)


@pytest.fixture(scope="module")
def typesetter(document: Document) -> Typesetter:
    names = [b.name for part in document.parts for b in part.blocks if b.kind == "picture"]
    drawings = {name: Drawing(f"Title of {name}", f"In words: {name}", SVG, SVG) for name in names}
    return Typesetter(document, drawings, html.marks_of(fixture.comparison()))


@pytest.fixture(scope="module")
def pdfs(typesetter: Typesetter) -> dict[str, bytes]:
    return {paper: typesetter.set(paper) for paper in PAPERS.values()}


@pytest.fixture(scope="module")
def reader(pdfs: dict[str, bytes]) -> PdfReader:
    return PdfReader(io.BytesIO(pdfs["a4"]))


def tags(reader: PdfReader) -> Iterator[DictionaryObject]:
    """Yield every element of the structure tree."""
    waiting = [reader.trailer["/Root"]["/StructTreeRoot"]]
    seen = set()
    while waiting:
        node = waiting.pop()
        if isinstance(node, IndirectObject):
            if node.idnum in seen:
                continue
            seen.add(node.idnum)
            node = node.get_object()
        if isinstance(node, list):
            waiting += node
        elif isinstance(node, DictionaryObject):
            yield node
            if "/K" in node:
                waiting.append(node.raw_get("/K"))


def words(reader: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


@pytest.mark.parametrize("paper", SIZES)
def test_pages_have_the_size_of_their_paper(pdfs: dict[str, bytes], paper: str) -> None:
    for page in PdfReader(io.BytesIO(pdfs[paper])).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            SIZES[paper], abs=0.1
        )


def test_the_same_bytes_each_time(pdfs: dict[str, bytes], typesetter: Typesetter) -> None:
    assert typesetter.set("a4") == pdfs["a4"]


def test_says_that_it_is_accessible(reader: PdfReader, document: Document) -> None:
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part>1<" in root["/Metadata"].get_data()
    assert reader.metadata is not None
    assert (reader.metadata.title, reader.metadata.author) == (document.title, document.author)


def test_every_picture_has_words_and_every_table_heads(reader: PdfReader, document: Document) -> None:
    found = list(tags(reader))
    blocks = _set_blocks(document)
    alts = {str(tag["/Alt"]) for tag in found if tag.get("/S") == "/Figure"}
    assert alts == {f"In words: {b.name}" for b in blocks if b.kind == "picture"}
    kinds = [tag.get("/S") for tag in found]
    assert kinds.count("/Table") == sum(block.kind == "table" for block in blocks)
    heads = sum(1 + len(b.columns) for b in blocks if isinstance(b, Table))
    assert kinds.count("/TH") >= heads


def _set_blocks(document: Document) -> list[Block]:
    """Return the blocks that the paper shows as such: its traces tell the methods."""
    return [
        block
        for part in document.parts
        for block in part.blocks
        if not (isinstance(block, Table) and block.caption == METHODS)
    ]


def test_fonts_are_all_embedded(reader: PdfReader) -> None:
    found = 0
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            for below in font.get_object().get("/DescendantFonts", [font]):
                descriptor = below.get_object()["/FontDescriptor"]
                assert any(f"/FontFile{end}" in descriptor for end in ("", "2", "3"))
                found += 1
    assert found


def test_prints_every_part_figure_and_caution(reader: PdfReader, document: Document) -> None:
    said = words(reader)
    for part in document.parts:
        assert part.title in said
    for key in traced_figures(document):
        assert key in said.replace(" ", ""), key
    assert all(CAUTION in re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages)


@pytest.mark.parametrize("paper", SIZES)
def test_the_tallest_picture_stands_on_the_page_of_its_heading(document: Document, paper: Paper) -> None:
    kept = tuple(part for part in document.parts if any(b.kind == "picture" for b in part.blocks))
    names = [b.name for part in kept for b in part.blocks if b.kind == "picture"]
    drawings = {name: Drawing(f"Title of {name}", "In words", TALL, TALL) for name in names}
    brief = replace(document, parts=kept, index=())
    made = Typesetter(brief, drawings, html.marks_of(fixture.comparison())).set(paper)
    reader = PdfReader(io.BytesIO(made))
    found = 0
    for part, entry in zip(kept, reader.outline, strict=True):
        opening = itertools.takewhile(lambda block: block.kind != "table", part.blocks)
        first = next((block for block in opening if isinstance(block, Picture)), None)
        if first:
            assert isinstance(entry, Destination)
            number = reader.get_destination_page_number(entry)
            assert number is not None
            assert f"Title of {first.name}." in re.sub(r"\s+", " ", reader.pages[number].extract_text())
            found += 1
    assert found > 3


def test_contents_and_outline_name_the_parts(reader: PdfReader, document: Document) -> None:
    titles = [str(entry["/Title"]) for entry in reader.outline if not isinstance(entry, list)]
    names = [*(part.title for part in document.parts), "Traces"]
    assert titles == [f"{number} {name}" for number, name in enumerate(names, 1)]


def test_each_shown_figure_leads_to_its_trace(reader: PdfReader, document: Document) -> None:
    cells = [
        c for p in document.parts for b in p.blocks if isinstance(b, Table) for c in _cells(b) if c.figure
    ]
    links = [
        a for page in reader.pages for a in page.get("/Annots", []) if a.get_object()["/Subtype"] == "/Link"
    ]
    assert len(links) > len(cells)
    assert all(a.get_object().get("/Contents") for a in links)  # ISO 14289-1, 7.18.5


def _cells(table: Table) -> Iterator[Cell]:
    return (cell for group in table.groups for row in group.rows for cell in row.cells)


def test_the_appendix_holds_what_shown_figures_rest_on(document: Document) -> None:
    told = appendix(document, traced_figures(document))
    traces = {trace["key"]: trace for group in told["groups"] for trace in group["traces"]}
    numbers = [number for under in told["inputs"] for number, *_ in under["entries"]]
    assert numbers == list(range(1, len(numbers) + 1))
    notes = {note.figure.key: note for _, group in document.index for note in group}
    apart = {key for key, note in notes.items() if "draw by draw" in note.figure.trace.method}
    assert set(shown_figures(document)) - apart <= set(traces)
    keys = {trace["number"]: trace["key"] for trace in traces.values()}
    assert list(keys) == list(range(1, len(traces) + 1))
    for trace in traces.values():
        assert _resting_on(trace, keys) == {
            i.figure for i in notes[trace["key"]].inputs if i.figure
        } - apart | {
            operand.figure
            for i in notes[trace["key"]].inputs
            if i.figure in apart
            for operand in notes[i.figure].inputs
        }
        assert all(1 <= a <= b <= len(numbers) for a, b in trace["inputs"])
        assert all(1 <= a <= b <= len(told["remarks"]) for a, b in trace["remarks"])
        assert 1 <= trace["method"] <= len(told["methods"])
    assert told["left_out"] == len(notes.keys() - set(traces) - set(shown_figures(document)))


def _resting_on(trace: dict[str, Any], keys: dict[int, str]) -> set[str]:
    """Return the keys of the figures that a trace names by their numbers."""
    numbers = {n for a, b in trace["figures"] for n in range(a, b + 1)}
    return {keys[n] for n in numbers.union(*trace["less"])}


def test_a_difference_is_told_as_one_figure_less_another(document: Document) -> None:
    told = appendix(document, traced_figures(document))
    traces = [trace for group in told["groups"] for trace in group["traces"]]
    notes = {note.figure.key: note.figure for _, group in document.index for note in group}
    keys = {trace["number"]: trace["key"] for trace in traces}
    found = 0
    for trace in traces:
        rests = [i.figure for i in notes[trace["key"]].trace.inputs if i.figure]
        apart = [key for key in dict.fromkeys(rests) if key not in keys.values()]
        for key, (first, second) in zip(apart, trace["less"], strict=True):
            a, b, less = notes[keys[first]].si, notes[keys[second]].si, notes[key].si
            if a is not None and b is not None:
                assert less == pytest.approx(a - b, abs=1e-9)
                found += 1
    assert found


def test_many_inputs_are_told_once_for_figures_that_share_them(document: Document) -> None:
    given = [TraceInput("tables", str(n), "book.csv:1", "The book", "") for n in range(6)]
    (name, notes), *_ = document.index
    told = frozenset(note.figure.key for note in notes[:3])
    shared = [
        replace(n, inputs=tuple(i)) for n, i in zip(notes, (given, given[::2], given[::2]), strict=False)
    ]
    (group,) = appendix(replace(document, index=((name, tuple(shared)),)), told)["groups"]
    assert [trace["alike"] for trace in group["traces"]] == [None, None, 2]
    assert group["traces"][1]["inputs"] == group["traces"][2]["inputs"] == [(1, 1), (3, 3), (5, 5)]


def test_the_appendix_tells_each_thing_once_and_all_of_it(document: Document) -> None:
    told = appendix(document, traced_figures(document))
    entries = {
        number: (under["label"], text, "".join(where), under["source"])
        for under in told["inputs"]
        for number, text, *where in under["entries"]
    }
    assert len(set(entries.values())) == len(entries)
    heads = [under["source"] for under in told["inputs"]]
    assert len([head for head, _ in itertools.groupby(heads)]) == len(set(heads))
    notes = {note.figure.key: note for _, group in document.index for note in group}
    for trace in (trace for group in told["groups"] for trace in group["traces"]):
        note = notes[trace["key"]]
        given = {(i.label, i.text, i.where, i.source) for i in note.inputs if not i.figure}
        assert {entries[n] for a, b in trace["inputs"] for n in range(a, b + 1)} == given
        said = {told["remarks"][n - 1] for a, b in trace["remarks"] for n in range(a, b + 1)}
        assert said == {*note.figure.remarks, *(f"{n}: {t}" for n, t in note.figure.terms.items())}


def test_texts_are_set_as_they_stand(typesetter: Typesetter, document: Document) -> None:
    odd = 'A *bold* #panic("no") $x$ @nobody [1] <b> \\ "quoted" // not a comment'
    part = replace(document.parts[0], title=odd, blocks=())
    other = Typesetter(replace(document, title=odd, parts=(part,), index=()), {}, {})
    reader = PdfReader(io.BytesIO(other.set("a4")))
    assert odd in words(reader).replace("”", '"').replace("“", '"')


def test_terms_of_a_whole_group_are_told_once_and_none_is_lost(document: Document) -> None:
    table = next(b for p in document.parts for b in p.blocks if isinstance(b, Table) and b.figures)
    figure = next(cell.figure for cell in _cells(table) if cell.figure)

    def row(head: str, **terms: str) -> Row:
        cell = Cell(figure=replace(figure, terms={"wind": "westerly", **terms}))
        return Row(head, (cell,) * len(table.columns))

    rows = (row("Takeoff over 50 ft", altitude="0 ft"), row("Ceiling", mass="900 kg"))
    told = replace(table, groups=(Group("Summer", rows),))
    part = replace(document.parts[0], blocks=(told,))
    made = Typesetter(replace(document, parts=(part,), index=()), {}, html.marks_of(fixture.comparison()))
    said = words(PdfReader(io.BytesIO(made.set("a4"))))
    assert [said.count(t) for t in ("wind: westerly", "altitude: 0 ft", "mass: 900 kg")] == [1, 1, 1]


def test_a_document_without_traces_has_no_appendix(document: Document) -> None:
    parts = tuple(p for p in document.parts if p.anchor in ("terms", "figures"))
    made = Typesetter(replace(document, parts=parts, index=()), {}, html.marks_of(fixture.comparison())).set(
        "a4"
    )
    assert "Traces" not in words(PdfReader(io.BytesIO(made)))
