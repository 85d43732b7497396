"""The file beside captions that binds their words to figures: which words of which cue, to which figure."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import Field

from flyoff.core.problems import Collector, near_miss
from flyoff.core.record import Context, Record, Text, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, read_toml
from flyoff.draft.bound import SCHEME
from flyoff.draft.text import Block, Draft, Link

ENDING = ".figures.toml"
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t"}


class BoundWords(Record):
    """Words of one cue that a figure stands behind."""

    cue: Text = Field(description="When the cue begins, as the captions write it")
    words: Text = Field(description="The words, as they stand there")
    figure: Text = Field(description="Key of the figure")
    nth: int = Field(1, ge=1, description="Which, where the cue has these words several times")


class SideFile(Record):
    """The file as a whole."""

    bound: tuple[BoundWords, ...] = ()


@dataclass(frozen=True)
class Binding:
    """Bound words in their place: letters `start` to `end` of block number `block`."""

    record: BoundWords
    index: int
    """Which entry of the side file."""
    block: int
    start: int
    end: int


def side_path(captions: Path) -> Path:
    """Return the path of the file beside some captions."""
    return captions.with_name(captions.name + ENDING)


def read_side_file(path: Path, name: str, collector: Collector) -> tuple[tuple[BoundWords, ...], Document]:
    """Return what a side file binds; faults go to `collector`.

    Raises
    ------
    Problems
        If it is no TOML file.
    """
    document = read_toml(path, name)
    record = validate(SideFile, Context(document), collector)
    return (record.bound if record else ()), document


def bindings(draft: Draft, captions: Path) -> tuple[Binding, ...]:
    """Return the bound words of captions in their places; none where no file stands beside them.

    Raises
    ------
    Problems
        Every fault of the side file, and words or cues that the captions do not have.
    """
    path = side_path(captions)
    if not path.exists():
        return ()
    collector, found = Collector(), []
    records, document = read_side_file(path, str(path), collector)
    taken: dict[tuple[int, int], int] = {}
    for index, record in enumerate(records):
        place = document.place("bound", index)
        at = _placed(record, draft, Place(place.file, place.line, "words"), collector)
        if at is None:
            continue
        binding = Binding(record, index, *at)
        where = (binding.block, binding.start)
        if where in taken:
            words = f"'{record.words}' bound again; first on line {taken[where]}"
            collector.add(place, words, "expected each words once")
            continue
        taken[where] = place.line
        found.append(binding)
    collector.raise_any()
    return tuple(found)


def bind(draft: Draft, bound: Sequence[Binding]) -> Draft:
    """Return a draft whose bound words link to their figures."""
    blocks = list(draft.blocks)
    for one in bound:
        link = Link(one.start, one.end, SCHEME + one.record.figure)
        blocks[one.block] = replace(blocks[one.block], links=(*blocks[one.block].links, link))
    return replace(draft, blocks=tuple(blocks))


def places_of(draft: Draft, cue: str, words: str) -> list[tuple[int, int, int]]:
    """Return where words stand that begin in a cue: block, start and end, in order."""
    pattern = re.compile(r"\s+".join(re.escape(word) for word in words.split()))
    return [
        (number, match.start(), match.end())
        for number, block in enumerate(draft.blocks)
        for match in pattern.finditer(block.text)
        if words.split() and block.spot(match.start()).time == cue
    ]


def side_text(records: Iterable[BoundWords]) -> str:
    """Return the text of a side file."""
    parts = ["# Words of the captions that figures stand behind: flyoff check compares and updates them.\n"]
    for record in records:
        lines = [f"{key} = {quoted(getattr(record, key))}" for key in ("cue", "words", "figure")]
        if record.nth > 1:
            lines.append(f"nth = {record.nth}")
        parts.append("\n".join(["[[bound]]", *lines, ""]))
    return "\n".join(parts)


def _placed(
    record: BoundWords, draft: Draft, place: Place, collector: Collector
) -> tuple[int, int, int] | None:
    found = places_of(draft, record.cue, record.words)
    if len(found) >= record.nth:
        return found[record.nth - 1]
    cues = dict.fromkeys(spot.time for block in draft.blocks for spot in block.spots)
    if record.cue not in cues:
        expected = f"expected the time at which a cue begins{near_miss(record.cue, cues)}"
        collector.add(replace(place, field="cue"), f"no cue begins at '{record.cue}'", expected)
    else:
        said = " ".join("".join(_words_of(block, record.cue) for block in draft.blocks).split())
        collector.add(place, f"the cue has no '{record.words}'", f"expected words of it: '{said[:120]}'")
    return None


def _words_of(block: Block, cue: str) -> str:
    ends = [*(spot.offset for spot in block.spots[1:]), len(block.text)]
    return "".join(
        block.text[spot.offset : end] for spot, end in zip(block.spots, ends, strict=True) if spot.time == cue
    )


def quoted(text: str) -> str:
    """Return text as a TOML string."""
    return '"' + "".join(_ESCAPES.get(letter, letter) for letter in text) + '"'
