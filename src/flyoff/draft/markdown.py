"""Markdown as blocks: the words that a reader sees, each with its line and column."""

import re
from collections.abc import Iterator, Sequence

from markdown_it import MarkdownIt
from markdown_it.token import Token

from flyoff.draft.text import Block, BlockBuilder, Cell, Kind, Link

_FRONT_MATTER = re.compile(r"\A---\r?\n.*?^(?:---|\.\.\.)[ \t]*$", re.M | re.S)
_SEEN_THROUGH = {"text", "code_inline", "text_special"}


def markdown_blocks(text: str) -> tuple[Block, ...]:
    """Return the blocks of a Markdown text; code blocks and front matter are not prose and are left out."""
    # The lines of the front matter stay, empty, so that every line keeps its number.
    text = _FRONT_MATTER.sub(lambda match: "\n" * match[0].count("\n"), text)
    source = _Source(text)
    # Without text_join what was written with a backslash or as an entity stays apart, and can be found.
    tokens = MarkdownIt("commonmark", {"html": True}).enable("table").disable("text_join").parse(text)
    return tuple(_blocks(tokens, source))


def _blocks(tokens: Sequence[Token], source: "_Source") -> Iterator[Block]:
    table = _Table()
    kind: Kind = "paragraph"
    for token in tokens:
        table.see(token)
        if token.type == "heading_open":
            kind = "heading"
        elif token.type == "heading_close":
            kind = "paragraph"
        elif token.type == "inline" and token.map:
            builder = BlockBuilder("cell" if table.inside else kind)
            source.start(token.map[0])
            _inline(token.children or [], builder, source)
            if table.inside:
                table.fill("".join(builder.pieces).strip())
            if block := builder.block(table.cell if table.inside else None):
                yield block


def _inline(children: Sequence[Token], builder: BlockBuilder, source: "_Source") -> None:
    opened: list[tuple[int, str]] = []
    for child in children:
        if child.type in _SEEN_THROUGH:
            raw = child.markup if child.type == "text_special" else child.content
            line, column = source.find(raw, child.content)
            builder.add(child.content, line, column)
        elif child.type in ("softbreak", "hardbreak"):
            builder.add(" ", *source.here())
            source.next_line()
        elif child.type == "image":
            _inline(child.children or [], builder, source)
        elif child.type == "link_open":
            opened.append((builder.length, str(child.attrs.get("href", ""))))
        elif child.type == "link_close" and opened:
            start, target = opened.pop()
            builder.links.append(Link(start, builder.length, target))
            source.skip(target)


class _Source:
    """The raw text with a finger in it, that only moves on."""

    def __init__(self, text: str) -> None:
        self.lines = text.split("\n")
        self.line = self.column = 0

    def start(self, line: int) -> None:
        """Go to a line; cells of one row follow each other in it."""
        if line != self.line:
            self.line, self.column = line, 0

    def next_line(self) -> None:
        """Go to the start of the next line."""
        self.line, self.column = self.line + 1, 0

    def here(self) -> tuple[int, int]:
        """Return line and column, counted from 1."""
        return self.line + 1, self.column + 1

    def find(self, raw: str, content: str) -> tuple[int, int]:
        """Return where a piece stands, from the finger on, and move the finger behind it."""
        if not raw or self.line >= len(self.lines):
            return self.here()
        text = self.lines[self.line]
        for wanted in dict.fromkeys((raw, content, raw.replace("|", "\\|"))):
            at = text.find(wanted, self.column)
            if at >= 0:
                self.column = at + len(wanted)
                return self.line + 1, at + 1
        return self.here()

    def skip(self, target: str) -> None:
        """Move the finger behind a link's target, whose digits are no prose."""
        text = self.lines[self.line] if self.line < len(self.lines) else ""
        at = text.find(target, self.column)
        if target and at >= 0:
            self.column = at + len(target)


class _Table:
    """Follows a table's tokens: which cell is read now, and the headings of its row and column."""

    def __init__(self) -> None:
        self.headings: list[str] = []
        self.row, self.column = "", -1
        self.inside = self.in_head = False

    def see(self, token: Token) -> None:
        """Follow one token."""
        if token.type == "table_open":
            self.headings, self.inside = [], True
        elif token.type == "table_close":
            self.inside = False
        elif token.type in ("thead_open", "thead_close"):
            self.in_head = token.type == "thead_open"
        elif token.type == "tr_open":
            self.row, self.column = "", -1
        elif token.type in ("th_open", "td_open"):
            self.column += 1

    def fill(self, text: str) -> None:
        """Take the text of the cell just read."""
        if self.in_head:
            self.headings.append(text)
        elif self.column == 0:
            self.row = text

    @property
    def cell(self) -> Cell:
        """The headings of the cell just read."""
        if self.in_head or self.column >= len(self.headings):
            return Cell("", "")
        return Cell(self.row, self.headings[self.column])
