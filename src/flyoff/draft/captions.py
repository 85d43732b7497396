"""Captions (SubRip and WebVTT) as running speech: a sentence goes on from cue to cue.

WebVTT as in the W3C's "WebVTT: The Web Video Text Tracks Format", sections 4 and 6;
SubRip has no standard: common practice, no source.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from flyoff.core.problems import Collector
from flyoff.core.sources import Place
from flyoff.draft.text import Block, BlockBuilder, Note

_CLOCK = r"(?:(\d{1,4}):)?(\d{1,2}):(\d{2})[.,](\d{3})"
_TIMES = re.compile(rf"\s*({_CLOCK})\s*-->\s*({_CLOCK})(?:\s.*)?$")
_TAG = re.compile(r"<[^<>\n]{0,200}>|\{\\[^{}\n]{0,100}\}")
_BREAK_S = 20.0
"""[s] A silence after which a new thought is taken to begin; own limit."""


@dataclass(frozen=True)
class _Cue:
    line: int
    start_s: float
    end_s: float
    clock: str
    lines: tuple[tuple[int, str], ...]


def caption_blocks(text: str, file: str, *, web: bool) -> tuple[tuple[Block, ...], tuple[Note, ...]]:
    """Return captions as blocks, cut where a long silence lies, and what to note of their times.

    Raises
    ------
    Problems
        If the header or a cue's times are no captions'.
    """
    collector = Collector()
    lines = text.splitlines()
    if web and not lines[0].startswith("WEBVTT"):
        collector.add(Place(file, 1), f"'{lines[0][:40]}'", "expected WEBVTT as the first word of the file")
    cues = list(_cues(lines, file, collector, web=web))
    if not cues and not collector.problems:
        collector.add(
            Place(file, 1), "no cue", "expected times such as 00:00:01.000 --> 00:00:04.000, then words"
        )
    collector.raise_any()
    return tuple(_runs(cues)), tuple(_notes(cues, file))


def _cues(lines: list[str], file: str, collector: Collector, *, web: bool) -> Iterator[_Cue]:
    number = 0
    while number < len(lines):
        line = lines[number]
        if web and re.match(r"(NOTE|STYLE|REGION)\b", line) and (not number or not lines[number - 1].strip()):
            while number < len(lines) and lines[number].strip():
                number += 1
            continue
        number += 1
        if "-->" not in line:
            continue
        times = _TIMES.match(line)
        if not times:
            collector.add(
                Place(file, number),
                f"'{line.strip()[:60]}'",
                "expected a cue's times, such as 00:00:01.000 --> 00:00:04.000",
            )
            continue
        first = number
        while number < len(lines) and lines[number].strip() and "-->" not in lines[number]:
            number += 1
        words = tuple((n + 1, lines[n]) for n in range(first, number))
        yield _Cue(first, _seconds(times, 2), _seconds(times, 7), times[1], words)


def _seconds(times: re.Match[str], group: int) -> float:
    hours, minutes, seconds, thousandths = times.group(group, group + 1, group + 2, group + 3)
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds) + int(thousandths) / 1000


def _runs(cues: list[_Cue]) -> Iterator[Block]:
    builder, last_s = BlockBuilder("captions"), cues[0].start_s
    for cue in cues:
        if cue.start_s - last_s > _BREAK_S:
            if block := builder.block():
                yield block
            builder = BlockBuilder("captions")
        last_s = cue.end_s
        for number, line in cue.lines:
            _add_line(builder, line, number, cue.clock)
    if block := builder.block():
        yield block


def _add_line(builder: BlockBuilder, line: str, number: int, clock: str) -> None:
    at = 0
    for tag in [*_TAG.finditer(line), None]:
        end = tag.start() if tag else len(line)
        builder.add(line[at:end], number, at + 1, clock)
        at = tag.end() if tag else end
    builder.add(" ", number, len(line) + 1, clock)


def _notes(cues: list[_Cue], file: str) -> Iterator[Note]:
    latest_s, latest = 0.0, 0
    for cue in cues:
        if cue.end_s <= cue.start_s:
            yield Note(
                Place(file, cue.line), "this cue ends before it begins; its words were read all the same"
            )
        if latest and cue.start_s < latest_s:
            yield Note(
                Place(file, cue.line),
                f"this cue begins before the one of line {latest} ends; read in the order of the file",
            )
        if cue.end_s >= latest_s:
            latest_s, latest = cue.end_s, cue.line
