"""What a fit rests on, said line by line where it was flown and column by column where it is printed."""

from collections.abc import Sequence

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import Input, format_number, supported_decimals
from flyoff.core.units import fpm, ft, kt
from flyoff.model.evidence import Observation
from flyoff.model.solve import group_of


def inputs_of(observations: Sequence[Observation]) -> tuple[Input, ...]:
    """Return each flown value by its line, printed ones by column and file."""
    columns: dict[tuple[str, str], list[Observation]] = {}
    flown: list[Input] = []
    for o in observations:
        if o.evidence == "handbook":
            columns.setdefault((o.place.file, o.place.field), []).append(o)
        else:
            altitude = f"{format_number(o.pressure_altitude_m / ft, 0)} ft"
            flown.append(Input(f"flown {o.text} at {altitude}", _said(o), o.place, o.source))
    return (*(_column(members) for members in columns.values()), *flown)


def _said(o: Observation) -> str:
    """Return a flown value in trade units with its doubt of every sort."""
    u95 = COVERAGE_95 * float(np.hypot(o.u, o.u_shared))
    if group_of(o.kind) == "speed":
        u95, value, unit = u95 / kt, o.value / kt, "kt true"
    else:
        u95, value, unit = u95 / fpm, o.value / fpm, "ft/min"
    decimals = supported_decimals(value, u95)
    return f"{format_number(value, decimals)} ± {format_number(u95, decimals)} {unit}"


def _column(members: Sequence[Observation]) -> Input:
    """Return the printed values of one column that were fitted to, with the lines they stand on."""
    first, last = (pick(members, key=lambda o: o.place.line) for pick in (min, max))
    count = "1 value" if len(members) == 1 else f"{len(members)} values"
    lines = f"line {first.place.line}"
    if last.place.line > first.place.line:
        lines = f"lines {first.place.line} to {last.place.line}"
    return Input(f"printed {first.place.field or first.kind}", f"{count}, {lines}", first.place, first.source)
