"""An HTML copy of a draft: each quantity marked, its reason shown on hover and by keyboard; no network."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from jinja2 import Environment, PackageLoader, StrictUndefined

from flyoff.core.caution import CAUTION
from flyoff.draft.findings import VERDICTS, Checked, Finding
from flyoff.draft.text import Block

# Besides its colour each verdict has a sign of its own, and its own line below the words.
SIGNS = {"impossible": "‼", "contradicted": "✗", "unsupported": "?", "supported": "✓", "not a figure": "·"}


@dataclass(frozen=True)
class Piece:
    """A stretch of text, marked or not; `anchor` is the mark's name in the page."""

    text: str
    finding: Finding | None = None
    anchor: str = ""


@dataclass(frozen=True)
class Section:
    """A heading, a paragraph, a run of captions or a table's rows, cut into pieces."""

    kind: str
    pieces: tuple[Piece, ...] = ()
    rows: tuple[tuple[tuple[Piece, ...], ...], ...] = ()


def html_page(checked: Sequence[Checked], *, figures: bool) -> str:
    """Return the page of one or several drafts; without `figures` only what is impossible is listed."""
    environment = Environment(
        loader=PackageLoader("flyoff.draft"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    drafts = [_draft(number, one) for number, one in enumerate(checked, 1)]
    listed = VERDICTS[:3] if figures else VERDICTS[:1]
    return environment.get_template("check.html.j2").render(
        drafts=drafts, signs=SIGNS, verdicts=VERDICTS, listed=listed, figures=figures, caution=CAUTION
    )


def _draft(number: int, checked: Checked) -> dict[str, object]:
    counts = checked.counts()
    anchors = {id(f): f"q{number}-{i}" for i, f in enumerate(checked.findings, 1)}
    return {
        "file": checked.draft.file,
        "notes": [note.words for note in checked.notes],
        "counts": [(verdict, counts[verdict]) for verdict in VERDICTS if counts[verdict]],
        "findings": [(anchors[id(f)], f) for f in checked.findings],
        "sections": list(_sections(checked, anchors)),
    }


def _sections(checked: Checked, anchors: dict[int, str]) -> Iterator[Section]:
    by_block: dict[int, list[Finding]] = {}
    for finding in checked.findings:
        by_block.setdefault(finding.block, []).append(finding)
    numbered = list(enumerate(checked.draft.blocks))
    for is_table, group in groupby(numbered, key=lambda item: item[1].kind == "cell"):
        if is_table:
            yield Section("table", rows=tuple(_rows(list(group), by_block, anchors)))
            continue
        for number, block in group:
            yield Section(block.kind, tuple(_pieces(block, by_block.get(number, []), anchors)))


def _rows(
    cells: Sequence[tuple[int, Block]], by_block: dict[int, list[Finding]], anchors: dict[int, str]
) -> Iterator[tuple[tuple[Piece, ...], ...]]:
    """Put cells of one line of the file, or of one heading, into one row."""
    for _, row in groupby(cells, key=lambda item: item[1].cell.row if item[1].cell else ""):
        yield tuple(tuple(_pieces(block, by_block.get(n, []), anchors)) for n, block in row)


def _pieces(block: Block, findings: Sequence[Finding], anchors: dict[int, str]) -> Iterator[Piece]:
    at = 0
    for finding in sorted(findings, key=lambda f: f.start):
        if finding.start < at:
            continue
        yield Piece(block.text[at : finding.start])
        yield Piece(block.text[finding.start : finding.end], finding, anchors[id(finding)])
        at = finding.end
    yield Piece(block.text[at:])
