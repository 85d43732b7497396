"""What a document is made of, whatever it is rendered to."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, TypeAlias

from flyoff.core.figure import Figure
from flyoff.core.wording import AS_WRITTEN, Wording

DASH = "—"
_COUNTED = re.compile(r"[+−-]?\d[\d.,’\u202f]*°?( ± [\d.,’\u202f]+°?)?")


@dataclass(frozen=True)
class Text:
    """A paragraph; `tone` is plain, caution, or note."""

    kind: ClassVar[str] = "text"
    text: str
    tone: str = "plain"


@dataclass(frozen=True)
class Items:
    """A list of remarks."""

    kind: ClassVar[str] = "items"
    items: tuple[str, ...]


@dataclass(frozen=True)
class Cell:
    """A cell of a table: a figure or words, and small words below."""

    text: str = ""
    figure: Figure | None = None
    note: str = ""
    why: str = ""
    """Why a figure is missing, where the reader is better served than by its own words."""
    signed: bool = False
    """Whether a positive figure shows its sign, as a difference does."""


@dataclass(frozen=True)
class Row:
    """A row with its name."""

    head: str
    cells: tuple[Cell, ...]
    note: str = ""
    anchor: str = ""
    """Where a link leads that means this row."""

    @property
    def shared_terms(self) -> dict[str, str]:
        """The terms that differ from the study's in all of its figures alike."""
        terms = [cell.figure.terms for cell in self.cells if cell.figure]
        first = terms[0] if terms else {}
        return {name: text for name, text in first.items() if all(t.get(name) == text for t in terms)}

    def own_terms(self, cell: Cell) -> dict[str, str]:
        """Return what differs in a cell's figure beyond what the whole row shares."""
        terms = cell.figure.terms if cell.figure else {}
        shared = self.shared_terms
        return {name: text for name, text in terms.items() if name not in shared}


@dataclass(frozen=True)
class Group:
    """Rows under one heading; without title they stand alone."""

    title: str
    rows: tuple[Row, ...]

    @property
    def unit(self) -> str:
        """The unit that all its figures share, told once with its title; nothing where they have several."""
        figures = [cell.figure for row in self.rows for cell in row.cells if cell.figure]
        units = {figure.unit_label for figure in figures if figure.si is not None}
        shared = len(units) == 1 and len(self.rows) > 1 and bool(self.title)
        return units.pop() if shared else ""


@dataclass(frozen=True)
class Column:
    """A column's name, and the airplane whose mark it bears."""

    title: str
    aircraft: str = ""


@dataclass(frozen=True)
class Table:
    """A table; `corner` names its first column."""

    kind: ClassVar[str] = "table"
    caption: str
    corner: str
    columns: tuple[Column, ...]
    groups: tuple[Group, ...]
    figures: bool = True
    """Whether the cells are figures, set as numbers are."""
    numbers: bool = False
    """Whether, being no figures, they are numbers nonetheless: set closely, many in a row."""
    folded: bool = False
    """Whether a screen shows its rows only when asked: they are many, and what they tell is told before."""
    dash: str = "none is known or given"
    """What a dash in a cell says."""

    @property
    def heading(self) -> str:
        """The caption, and what a dash means where there is one."""
        dashed = any(cell.text == DASH for cell in self._cells())
        return f"{self.caption}; {DASH} where {self.dash}" if dashed else self.caption

    @property
    def row_count(self) -> int:
        """How many rows it has."""
        return sum(len(group.rows) for group in self.groups)

    def _cells(self) -> Iterator[Cell]:
        return (cell for group in self.groups for row in group.rows for cell in row.cells)

    def counts(self, column: int) -> bool:
        """Tell whether a column holds plain numbers, so that it is set to the right."""
        cells = [row.cells[column] for group in self.groups for row in group.rows]
        known = [cell for cell in cells if cell.text != DASH]
        return bool(known) and all(cell.figure is None and _COUNTED.fullmatch(cell.text) for cell in known)

    @property
    def notes(self) -> tuple[str, ...]:
        """The remarks of its figures, each once, in the order a reader meets them."""
        return tuple(dict.fromkeys(r for cell in self._cells() if cell.figure for r in cell.figure.remarks))


@dataclass(frozen=True)
class Drawing:
    """A chart as SVG for a wide and for a narrow page."""

    title: str
    alt: str
    wide: str
    narrow: str


@dataclass(frozen=True)
class Picture:
    """A chart by its name."""

    kind: ClassVar[str] = "picture"
    name: str
    caption: str


@dataclass(frozen=True)
class Card:
    """An airplane introduced."""

    aircraft: str
    name: str
    maker: str
    summary: str
    facts: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Cards:
    """Several airplanes introduced beside one another."""

    kind: ClassVar[str] = "cards"
    cards: tuple[Card, ...]


@dataclass(frozen=True)
class Key:
    """The meaning of marks: what stands for what."""

    kind: ClassVar[str] = "key"
    entries: tuple[tuple[str, str], ...]


Block: TypeAlias = Text | Items | Table | Picture | Cards | Key


@dataclass(frozen=True)
class Part:
    """A part of the document: its anchor, full and short title, and blocks."""

    anchor: str
    title: str
    short: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class TraceInput:
    """One input of a trace, told."""

    label: str
    text: str
    where: str
    source: str
    figure: str
    """Key of the figure it is, or nothing; always one that the document traces."""


@dataclass(frozen=True)
class TraceNote:
    """A figure with everything it rests on."""

    figure: Figure
    title: str
    inputs: tuple[TraceInput, ...]
    used_by: tuple[tuple[str, str], ...]
    """Key and title of the figures that rest on it."""
    seen: tuple[tuple[str, str], ...] = ()
    """Anchor and words of where else in the document it is shown."""


@dataclass(frozen=True)
class Document:
    """The whole report."""

    title: str
    author: str
    summary: str
    caution: str
    parts: tuple[Part, ...]
    index: tuple[tuple[str, tuple[TraceNote, ...]], ...]
    """The traces, grouped under the names of airplanes and pairs of airplanes."""
    wording: Wording = AS_WRITTEN
    """How its figures are printed."""
