"""Markdown links that bind words to a figure: found in the raw text, put in, and taken out again."""

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from urllib.parse import quote

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.bound import SCHEME
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.text import Block

_INLINE = re.compile(
    r"\[(?P<words>(?:[^\[\]\\]|\\.)*)\]"
    rf"\(\s*<?(?P<target>{SCHEME}[^\s<>()]*)>?(?:\s+(?:\"[^\"]*\"|'[^']*'))?\s*\)"
)
_NO_LINK = re.compile(r"\]\(\s*figures?\s*:", re.IGNORECASE)


@dataclass(frozen=True, order=True)
class Edit:
    """Letters `start` to `end` of a text become `new`."""

    start: int
    end: int
    new: str


def edited(text: str, edits: Iterable[Edit]) -> str:
    """Return a text with edits made; they must not overlap."""
    for edit in sorted(edits, reverse=True):
        text = text[: edit.start] + edit.new + text[edit.end :]
    return text


class Raw:
    """A raw text whose lines and columns, as blocks know them, lead back to its letters."""

    def __init__(self, text: str, *, captions: bool = False) -> None:
        lines = text.splitlines(keepends=True) if captions else text.split("\n")
        self.text = text
        self._starts = [0, *accumulate(len(line) + (not captions) for line in lines)]

    def offset(self, line: int, column: int) -> int:
        """Return where line and column, counted from 1, stand in the text; its end if it has no such line."""
        return min(self._starts[min(line, len(self._starts)) - 1] + column - 1, len(self.text))

    def line(self, offset: int) -> int:
        """Return the line, counted from 1, that a letter stands on."""
        return bisect_right(self._starts, offset)

    def span(self, block: Block, start: int, end: int) -> tuple[int, int] | None:
        """Return where a stretch of a block stands; nothing where marks stand among its letters."""
        first, last = block.spot(start), block.spot(end - 1)
        begin = self.offset(first.line, first.column)
        stop = self.offset(last.line, last.column) + 1
        written = " ".join(self.text[begin:stop].split())
        return (begin, stop) if written == " ".join(block.text[start:end].split()) else None


@dataclass(frozen=True)
class FigureLink:
    """A link to a figure in raw text: letters `start` to `end`, its words, what it names."""

    start: int
    end: int
    words: str
    target: str
    line: int


def figure_links(text: str, file: str) -> tuple[FigureLink, ...]:
    """Return the links to figures of a Markdown text; what stands in code is none.

    Raises
    ------
    Problems
        If a link to a figure is not written inline.
    """
    found = [*_INLINE.finditer(text)]
    if len(found) != _count(text) or _seen(_bare(text, found)) != _seen(text):
        seen, count = _seen(text), _count(text)
        found = [m for m in found if _seen(one := _bare(text, [m])) == seen and _count(one) == count - 1]
    raw = Raw(text)
    links = tuple(FigureLink(m.start(), m.end(), m["words"], m["target"], raw.line(m.start())) for m in found)
    if len(links) < _count(text):
        raise Problems(_not_inline(text, file, links))
    return links


def _bare(text: str, found: Iterable[re.Match[str]]) -> str:
    return edited(text, [Edit(match.start(), match.end(), match["words"]) for match in found])


def _not_inline(text: str, file: str, links: Sequence[FigureLink]) -> list[Problem]:
    inline = {link.line for link in links}
    lines = [
        block.spot(link.start).line
        for block in markdown_blocks(text)
        for link in block.links
        if link.target.startswith(SCHEME)
    ]
    expected = "expected [words](figure:KEY), all in one place"
    return [
        Problem(Place(file, line), "a link to a figure by reference", expected)
        for line in [line for line in lines if line not in inline] or lines
    ]


def unlinked(text: str, file: str) -> str:
    """Return a Markdown text without its links to figures; what a reader sees stays, letter for letter.

    Raises
    ------
    Problems
        If a link to a figure is not written inline.
    """
    links = figure_links(text, file)
    return edited(text, [Edit(link.start, link.end, link.words) for link in links])


def linked(text: str, edits: Sequence[Edit]) -> tuple[str, tuple[Edit, ...]]:
    """Return a Markdown text with links put in, and those that could be: what a reader sees must stay."""
    seen = _seen(text)
    whole = edited(text, edits)
    if _seen(whole) == seen and _count(whole) == _count(text) + len(edits):
        return whole, tuple(edits)
    kept = [e for e in edits if _seen(one := edited(text, [e])) == seen and _count(one) == _count(text) + 1]
    return edited(text, kept), tuple(kept)


def link_to(words: str, figure: str) -> str:
    """Return words bound to a figure."""
    return f"[{words}]({SCHEME}{quote(figure, safe='?=&.:_-')})"


def unreadable_links(blocks: Sequence[Block]) -> list[tuple[int, str]]:
    """Return the lines where something looks like a link to a figure, and is text to a reader; and why."""
    found = []
    for block in blocks:
        for match in _NO_LINK.finditer(block.text):
            words = "this looks like a link to a figure and is none: expected [words](figure:KEY), no spaces"
            found.append((block.spot(match.start()).line, words))
    return found


def _seen(text: str) -> list[tuple[str, str]]:
    return [(block.kind, block.text) for block in markdown_blocks(text)]


def _count(text: str) -> int:
    return sum(link.target.startswith(SCHEME) for block in markdown_blocks(text) for link in block.links)
