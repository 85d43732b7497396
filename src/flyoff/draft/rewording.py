"""Other words for a quantity: its author's unit, precision and manner, another value."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from flyoff.draft.bound import Range, as_bound, clocked, range_of
from flyoff.draft.claims import Known, agrees
from flyoff.draft.manner import Clock, HourAndPart, InParts, Manner, Plain, manner_of, number_text
from flyoff.draft.measures import Measure
from flyoff.draft.mention import Mention
from flyoff.draft.numerals import Number
from flyoff.draft.quantities import mentions_of
from flyoff.draft.tokens import tokens_of

_AROUND = 400
"""Letters on either side that may give a quantity its meaning; own limit."""
_FINER = 3
"""How many digits may be added where the author's do not tell the value; own limit."""
_WIDEST = 100
"""How many times its lower end a range's upper end may be, or it is misread; own limit."""
_IN_FULL = "a hundred and one"
_EXACT = 1e-6
"""How near a multiple of a step is one, floats being what they are."""


def reworded(text: str, mention: Mention, known: Known) -> str | None:
    """Return what to write in a text instead of a quantity, or nothing where no words are sure to be read so.

    Every answer has been read again in its place, and says the figure with the author's unit and hedge.
    """
    readings = [r for r in mention.readings if r.measure.dimension == known.dimension]
    if not readings:
        return None
    difference = mention.role == "difference"
    aim_si = abs(known.si) if difference else known.si
    measure = min(readings, key=lambda r: abs(r.si - aim_si)).measure
    aim, known_step = abs(measure.from_si(aim_si)), abs(known.step_si / measure.factor)
    inside = _inside(text, mention.start, mention.end)
    ends = clocked(text, inside, known) if len(inside) > 1 else []
    if len(ends) == 2 and (whole := range_of(text, *ends)):
        candidates = _moved(whole, measure, aim_si, known.step_si)
    else:
        manner = manner_of(mention)
        candidates = _candidates(manner, aim, known_step) if manner else iter(())
    return next((words for words in candidates if _is_read(text, mention, words, known)), None)


def _inside(text: str, begin: int, end: int) -> list[Mention]:
    """Return the quantities between two letters of a text, as they are read there."""
    start = max(begin - _AROUND, 0)
    found = mentions_of(tokens_of(text[start : end + _AROUND]))
    placed = (replace(m, start=m.start + start, end=m.end + start) for m in found)
    return [m for m in placed if begin <= m.start and m.end <= end]


def _is_read(text: str, mention: Mention, words: str, known: Known) -> bool:
    after = text[: mention.start] + words + text[mention.end :]
    end = mention.start + len(words)
    found = as_bound(after, _inside(after, mention.start, end), known)
    if len(found) != 1 or (found[0].start, found[0].end) != (mention.start, end):
        return False
    same = found[0].dimension == mention.dimension and found[0].hedge == mention.hedge
    return same and agrees(found[0], known, magnitude=mention.role == "difference")


def _candidates(manner: Manner, aim: float, known_step: float) -> Iterator[str]:
    """Yield the ways to write a value, the author's own manner and precision first."""
    if isinstance(manner, HourAndPart):
        yield manner.write(round(4 * aim))
        yield f"{aim:.1f} hours"
    elif isinstance(manner, Plain):
        yield from _plain(manner, aim, known_step)
    else:
        for grain in dict.fromkeys((manner.grain, 1)):
            yield manner.write(grain * round(aim * manner.per / grain))


def _plain(manner: Plain, aim: float, known_step: float) -> Iterator[str]:
    if manner.in_fractions or not (manner.spelled or manner.is_scaled):
        yield manner.write(aim, 0.25)
    else:
        for value, step in _rounded(manner.read, aim, known_step):
            yield manner.write(value, step)
        if manner.is_scaled:
            return
    for decimals in range(1, _FINER):
        yield manner.with_number(f"{aim:,.{decimals}f}")


def _rounded(read: Number, aim: float, known_step: float) -> Iterator[tuple[float, float]]:
    """Yield a value rounded as coarsely as its author did, or as its uncertainty asks, then finer."""
    step = max(read.round_step, _power(known_step))
    finest = read.step * 10.0**-_FINER
    while step >= 0.999 * finest:
        for rounding in (round, math.ceil, math.floor):
            yield rounding(aim / step) * step, min(step, read.step)
        step /= 10


@dataclass(frozen=True)
class _End:
    """One end of a range: its value in the smallest unit that it is told in, and how it is written."""

    value: float
    unit_si: float
    manner: Plain | InParts | Clock
    scale: float = 1.0

    def in_full(self) -> "_End":
        """Return the end with hundreds said: 'ninety to one ten knots' is no range."""
        manner = self.manner
        if not isinstance(manner, Plain) or not manner.spelled or manner.in_fractions:
            return self
        return replace(self, manner=replace(manner, number=_IN_FULL))

    def moved(self, by_si: float, like: str) -> str | None:
        """Return the end so much further on, exactly; halves in the manner of the other end's."""
        value = self.value + by_si / self.unit_si
        if not isinstance(self.manner, Plain):
            return self.manner.write(round(value)) if _is_multiple(value, 1.0) else None
        said, own = value / self.scale, self.manner.read.step
        steps = [own * 10.0**-finer for finer in range(_FINER)]
        if self.manner.in_fractions or _is_multiple(said, own):
            return self.manner.write(said, own)
        if like and _is_multiple(said, 0.25):
            return self.manner.with_number(number_text(said, 0.25, like))
        step = next((step for step in steps if _is_multiple(said, step)), None)
        return self.manner.write(said, step) if step else None


def _end(mention: Mention, measure: Measure, scale: float) -> _End | None:
    manner = manner_of(mention)
    reading = next((r for r in mention.readings if r.measure == measure), mention.readings[0])
    factor = reading.measure.factor
    if manner is None or isinstance(manner, HourAndPart) or reading.measure.offset:
        return None
    unit_si = factor if isinstance(manner, Plain) else factor / manner.per
    return _End(reading.si * scale / unit_si, unit_si, manner, scale)


def _moved(ends: Range, measure: Measure, aim_si: float, known_step_si: float) -> Iterator[str]:
    """Yield a range of the same width around a value, its ends as round as its author's.

    Both ends move by the same whole number of the coarsest step that both are multiples of.
    """
    first, last = _end(ends.first, measure, ends.scale), _end(ends.last, measure, 1.0)
    if first is None or last is None:
        return
    unit = min(first.unit_si, last.unit_si)
    low, high = sorted(end.value * end.unit_si / unit for end in (first, last))
    grain = _grain(low, high)
    if not grain or (low and high > _WIDEST * low):
        return
    fractions = [
        e.manner.number for e in (first, last) if isinstance(e.manner, Plain) and e.manner.in_fractions
    ]
    spelled = isinstance(last.manner, Plain) and last.manner.spelled
    like = fractions[0] if fractions else "two and a half" if spelled else ""
    for step in dict.fromkeys((max(grain, _power(known_step_si / unit)), grain)):
        by = max(round((aim_si / unit - (low + high) / 2) / step), -math.floor(low / step)) * step
        for ends_as in ((first, last), (first.in_full(), last.in_full())):
            words = [end.moved(by * unit, like) for end in ends_as]
            if words[0] and words[1]:
                yield words[0] + ends.joint + words[1]


def _grain(low: float, high: float) -> float:
    """Return the coarsest of 50, 25, 10, 5 ... that both ends are multiples of; 0 where there is no width."""
    steps = (digit * 10.0**power for power in range(5, -4, -1) for digit in (5.0, 2.5, 1.0))
    return next((s for s in steps if high > low and _is_multiple(low, s) and _is_multiple(high, s)), 0.0)


def _is_multiple(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < _EXACT


def _power(step: float) -> float:
    """Return the power of ten nearest to a step; 0 for none."""
    return 10.0 ** round(math.log10(step)) if step > 0 else 0.0
