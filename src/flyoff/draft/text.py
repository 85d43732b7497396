"""A draft as running text that still knows where each of its letters stands in the file."""

from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Literal, NamedTuple, TypeAlias

from flyoff.core.sources import Place

Kind: TypeAlias = Literal["paragraph", "heading", "cell", "captions"]


class Spot(NamedTuple):
    """From `offset` in a block's text on, letters stand at `line` and `column` of the file."""

    offset: int
    line: int
    column: int
    time: str = ""


@dataclass(frozen=True)
class Link:
    """A stretch of a block's text that links to `target`."""

    start: int
    end: int
    target: str


@dataclass(frozen=True)
class Cell:
    """Where a table's cell stands: the words of its row's and its column's heading."""

    row: str
    column: str


@dataclass(frozen=True)
class Block:
    """A stretch of text that is read as one: a paragraph, a heading, a cell, a run of captions."""

    text: str
    spots: tuple[Spot, ...]
    kind: Kind = "paragraph"
    links: tuple[Link, ...] = ()
    cell: Cell | None = None

    def spot(self, offset: int) -> Spot:
        """Return where the letter at `offset` stands: its line, column and cue time."""
        found = self.spots[max(bisect_right(self.spots, offset, key=lambda s: s.offset) - 1, 0)]
        return Spot(offset, found.line, found.column + max(offset - found.offset, 0), found.time)


@dataclass(frozen=True)
class Note:
    """What a reader of the file should know: tracked changes, comments, overlapping cues."""

    place: Place
    words: str

    def __str__(self) -> str:
        """Return ``file:line: note: words``."""
        return f"{self.place}: note: {self.words}"


@dataclass(frozen=True)
class Draft:
    """A file as read: its blocks in order, and what was noted on the way."""

    file: str
    blocks: tuple[Block, ...]
    notes: tuple[Note, ...] = ()


@dataclass
class BlockBuilder:
    """Puts a block together from pieces, each with the place where it was found."""

    kind: Kind = "paragraph"
    pieces: list[str] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    length: int = 0

    def add(self, text: str, line: int, column: int, time: str = "") -> None:
        """Append text that stands at a place of the file."""
        if text:
            self.spots.append(Spot(self.length, line, column, time))
            self.pieces.append(text)
            self.length += len(text)

    def block(self, cell: Cell | None = None) -> Block | None:
        """Return the block, or nothing where it holds no text."""
        text = "".join(self.pieces)
        if not text.strip():
            return None
        return Block(text, tuple(self.spots), self.kind, tuple(self.links), cell)


def plain_blocks(text: str) -> tuple[Block, ...]:
    """Return the paragraphs of plain text: runs of lines with an empty line between."""
    found: list[Block] = []
    builder = BlockBuilder()
    for number, line in enumerate([*text.splitlines(), ""], 1):
        if line.strip():
            indent = len(line) - len(line.lstrip())
            builder.add(line.strip() + " ", number, indent + 1)
            continue
        if block := builder.block():
            found.append(block)
        builder = BlockBuilder()
    return tuple(found)
