"""Words bound to a figure by a Markdown link: ``[1,090 nm](figure:tern.range?altitude=6000ft)``."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from urllib.parse import unquote

from flyoff.draft.claims import Known
from flyoff.draft.companions import given_unit
from flyoff.draft.manner import SCALES
from flyoff.draft.mention import COUNTED, Mention, Reading
from flyoff.draft.quantities import mentions_of
from flyoff.draft.text import Block, Link
from flyoff.draft.tokens import tokens_of

SCHEME = "figure:"
_CLOCK = re.compile(r"(?<![\d:.,])\d{1,3}:[0-5]\d(?::[0-5]\d)?(?![\d:])")
_JOINT = re.compile(r"\s*(?:-?to-?|or|[-–—])\s*", re.IGNORECASE)
_AND = re.compile(r"\s*and\s*", re.IGNORECASE)
_BETWEEN = re.compile(r"\bbetween\s*$", re.IGNORECASE)
_SCALE = re.compile(r"[\d\s](k|m|hundred|thousand|million)\b|\b(hundred|thousand|million)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Range:
    """The two ends of a range, the words between them, and the scale that the first leaves to the last.

    That of 'five to six hundred' is 100.
    """

    first: Mention
    joint: str
    last: Mention
    scale: float = 1.0


def figure_of(link: Link) -> str:
    """Return the figure's key that a link names, or nothing where it links to something else."""
    return unquote(link.target.removeprefix(SCHEME)) if link.target.startswith(SCHEME) else ""


def bound_figures(
    block: Block, mentions: Sequence[Mention], figures: Mapping[str, Known] | None = None
) -> list[Mention]:
    """Return the quantities, those inside a link to a figure with its key, and as that figure is told."""
    bound = [link for link in block.links if link.target.startswith(SCHEME)]
    if not bound:
        return list(mentions)
    found: list[Mention] = []
    for link, group in groupby(mentions, lambda mention: _link_of(mention, bound)):
        key = figure_of(link) if link else ""
        of_link = list(group)
        if link:
            of_link = [
                replace(m, figure=key) for m in as_bound(block.text, of_link, (figures or {}).get(key))
            ]
        found += of_link
    return found


def _link_of(mention: Mention, links: Sequence[Link]) -> Link | None:
    return next((k for k in links if k.start <= mention.start and mention.end <= k.end), None)


def as_bound(text: str, mentions: Sequence[Mention], known: Known | None = None) -> list[Mention]:
    """Return the quantities of one link as they tell one figure: a range as one, '2:20' as hours."""
    found: list[Mention] = []
    for mention in clocked(text, mentions, known):
        ends = range_of(text, found[-1], mention) if found else None
        one = ends and _as_one(text, ends, known)
        if one:
            found[-1] = one
        else:
            found.append(mention)
    return found


def clocked(text: str, mentions: Sequence[Mention], known: Known | None) -> list[Mention]:
    """Return the quantities, those bound to a time with '2:20' as hours and minutes, which need no unit."""
    if not mentions or known is None or known.dimension != "time":
        return list(mentions)
    found = list(mentions)
    for match in _CLOCK.finditer(text, mentions[0].start, mentions[-1].end):
        inside = [m for m in found if match.start() <= m.start and m.end <= match.end()]
        if not inside or inside[0].start != match.start():
            continue
        (read,) = mentions_of(tokens_of(f"{match[0]} hours"))
        clock = replace(
            read, start=match.start(), end=match.end(), first=inside[0].first, last=inside[-1].last,
            text=match[0], sentence=inside[0].sentence, clause=inside[0].clause, hedge=inside[0].hedge,
            airplane=inside[0].airplane,
        )  # fmt: skip
        at = found.index(inside[0])
        found[at : at + len(inside)] = [clock]
    return found


def range_of(text: str, first: Mention, last: Mention) -> Range | None:
    """Return two quantities as a range where words between them say so, or nothing."""
    between = text[first.end : last.start]
    said = _JOINT.fullmatch(between) or (_AND.fullmatch(between) and _BETWEEN.search(text[: first.start]))
    shared = first.elliptic
    if first.dimension == "money" and last.dimension == COUNTED:  # '$540–560K'
        last, shared = given_unit(last, first.measure, first.role), True
    if not said or first.dimension != last.dimension or min(first.number, last.number) < 0:
        return None
    scale = 1.0
    if shared and (named := _SCALE.search(last.text)) and not _SCALE.search(first.text):
        factor = SCALES[(named[1] or named[2]).lower()]
        scale = factor if first.number * factor <= last.number else 1.0
    return Range(first, between, last, scale)


def is_end(text: str, link: Link, mention: Mention) -> bool:
    """Tell whether a quantity is one end of what its link has as a range, and cannot be read as one."""
    before, behind = text[link.start : mention.start].rstrip(), text[mention.end : link.end].lstrip()
    return bool(re.match(r"(?:to\b|[-–—])\s*\w", behind) or re.search(r"\w\s*(?:\bto|[-–—])$", before))


def _as_one(text: str, ends: Range, known: Known | None) -> Mention | None:
    """Return a range as one quantity; its value is the figure as far as that lies inside."""
    readings = tuple(_readings(ends, known))
    if not readings:
        return None
    first, last = ends.first, ends.last
    middle = readings[0].measure.from_si(readings[0].si)
    return replace(
        last, start=first.start, first=first.first, text=text[first.start : last.end], number=middle,
        step=min(first.step * ends.scale, last.step), readings=readings, hedge=first.hedge, elliptic=False,
        role=last.role or first.role, other=None,
    )  # fmt: skip


def _readings(ends: Range, known: Known | None) -> Iterator[Reading]:
    for last in ends.last.readings:
        for first in (_scaled(reading, ends.scale) for reading in ends.first.readings):
            if first.measure.dimension != last.measure.dimension or first.unlikely != last.unlikely:
                continue
            if first.measure != last.measure and first.measure.dimension != "time":
                continue
            low, high = sorted((first, last), key=lambda reading: reading.si)
            below, above = low.si - low.low, high.high - high.si
            if ends.first.hedge:  # 'about' goes for both ends
                below, above = max(below, first.si - first.low), max(above, first.high - first.si)
            si = min(max(known.si, low.si), high.si) if known else (low.si + high.si) / 2
            yield replace(last, si=si, low=low.si - below, high=high.si + above)


def _scaled(reading: Reading, scale: float) -> Reading:
    return replace(reading, si=reading.si * scale, low=reading.low * scale, high=reading.high * scale)
