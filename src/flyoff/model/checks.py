"""Evidence that cannot be: named, with what would mend it.

The limits are wide: they refuse what no light airplane can do, so that a
column exchanged, a unit mistaken or a misprint is found before it is fitted.
"""

import itertools
from collections.abc import Callable, Sequence

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.figure import format_number
from flyoff.core.problems import Collector
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import ft, hour, hp, inhg, kt, lb
from flyoff.dossier.read import Dossier
from flyoff.dossier.tables import Table
from flyoff.model.evidence import Observation, equivalent, handbook_observations
from flyoff.model.parameters import Known, known_of
from flyoff.physics.atmosphere import (
    density_at_altitude,
    density_ratio,
    pressure_at_altitude,
    temperature_at_altitude,
)
from flyoff.physics.engine import GAGG_FARRAR_LOSS

LEAST_VALUES = 3
LEAST_SPREAD = 1.1
CONSUMPTIONS = (0.25 * lb / hp / hour, 0.75 * lb / hp / hour)
"""[kg/J] Specific consumption of any piston engine in cruise; common practice, no source."""
DRAG_COEFFICIENTS = (0.012, 0.08)
"""Zero-lift drag coefficients cleaner and dirtier than any light airplane; common practice, no source."""
EFFICIENCIES = (0.30, 0.95)
"""Propeller efficiencies worse and better than any in level flight; common practice, no source."""
_SHOWN = 5
_TOLERANCE = 1.08
_THIN_AIR_GAIN_PER_M = 3.4e-5
"""[1/m] Most that thin air alone adds to speed at one power: V goes with the cube root of 1/density."""
_CHART_GAIN_PER_M = 0.025 / (1000 * ft)
"""[1/m] Most that falling back pressure adds to power at one manifold pressure; twice what the SFTE
Reference Handbook (2013), Fig. 10.2a, shows."""
_LEAST_GROWTH = 1 / 6
"""Speed grows with at least this exponent of power: a third where all drag is parasite, less where the
propeller tires; common practice, no source."""
_RAM = 1.03
"""Most that ram adds to the pressure of the air around; common practice, no source."""
_DRAG_KINDS = {
    "speed at power", "speed at fuel flow", "full-throttle speed", "rate of climb", "climb time",
    "glide ratio", "sink rate",
}  # fmt: skip


def check_evidence(dossier: Dossier, known: Known, observations: Sequence[Observation]) -> None:
    """Refuse evidence that no airplane can have given.

    Raises
    ------
    Problems
        All that is wrong, each with its place and what would mend it.
    """
    collector = _impossible(dossier, known, observations)
    if not collector.problems:
        _check_enough(dossier, observations, collector)
    collector.raise_any()


def handbook_faults(dossier: Dossier, fuel_density_kg_m3: float) -> tuple[str, ...]:
    """Return what of a handbook no airplane can do, each with its place and what would mend it."""
    known = known_of(dossier)
    printed = handbook_observations(dossier, known, fuel_density_kg_m3)
    return tuple(map(str, _impossible(dossier, known, printed).problems))


def _impossible(dossier: Dossier, known: Known, observations: Sequence[Observation]) -> Collector:
    collector = Collector()
    for check in (_check_power, _check_efficiency, _check_consumption, _check_order, _check_altitudes):
        _shorten(collector, check, known, observations)
    if "power" in dossier.tables:
        _check_chart(dossier.tables["power"], known, collector)
    return collector


def _shorten(
    collector: Collector,
    check: Callable[[Known, Sequence[Observation], Collector], None],
    known: Known,
    observations: Sequence[Observation],
) -> None:
    """Report the first few faults of one sort and count the others: a wrong unit spoils every row."""
    own = Collector()
    check(known, observations, own)
    collector.extend(own.problems[:_SHOWN])
    if len(own.problems) > _SHOWN:
        last = own.problems[_SHOWN]
        more = f"{len(own.problems) - _SHOWN} more values like those before"
        collector.add(last.place, more, last.expected)


def _check_enough(dossier: Dossier, observations: Sequence[Observation], collector: Collector) -> None:
    telling = [o for o in observations if o.kind in _DRAG_KINDS]
    place = telling[0].place if telling else Place(dossier.document.name)
    if len(telling) < LEAST_VALUES:
        collector.add(
            place, f"{len(telling)} values that tell of drag and power",
            f"expected at least {LEAST_VALUES}: level speeds at two powers and a climb or glide, "
            "for two points cannot tell drag from power",
        )  # fmt: skip
        return
    speeds = np.array([equivalent(o) for o in telling])
    speeds = speeds[np.isfinite(speeds)]
    if speeds.size == len(telling) and speeds.max() < LEAST_SPREAD * speeds.min():
        low, high = (format_number(v / kt, 0) for v in (speeds.min(), speeds.max()))
        collector.add(
            place, f"all values at one speed, {low} to {high} kt equivalent",
            "expected speeds a fifth apart or more, such as a slow level condition, a climb or a glide: "
            "drag at one speed does not tell drag area from span",
        )  # fmt: skip


def _check_power(known: Known, observations: Sequence[Observation], collector: Collector) -> None:
    """Hold a share of rated power to what thin air leaves of it."""
    for o in observations:
        if o.kind != "speed at power":
            continue
        most = _most_power_ratio(known, o.pressure_altitude_m)
        if o.power_ratio <= most:
            continue
        feet = format_number(o.pressure_altitude_m / ft, 0)
        tenth = o.pressure_altitude_m * ft
        hint = ""
        if o.power_ratio <= _most_power_ratio(known, tenth):
            hint = f" (feet written as metres? {format_number(tenth, 0)} m would do)"
        found = f"{100 * o.power_ratio:.0f} % power at {feet} ft, where the engine gives {100 * most:.0f} %"
        collector.add(o.place, found, f"expected a power that the engine can give there{hint}")


def _most_power_ratio(known: Known, altitude_m: float) -> float:
    base_m = (known.critical_altitude_m or 8000.0) if known.turbocharged else 0.0
    ratio = float(density_at_altitude(min(altitude_m, 19_000.0)) / density_at_altitude(base_m))
    return _TOLERANCE * ((1 + GAGG_FARRAR_LOSS) * min(ratio, 1.0) - GAGG_FARRAR_LOSS)


def _check_efficiency(known: Known, observations: Sequence[Observation], collector: Collector) -> None:
    """Set the thrust power of the cleanest and of the dirtiest airplane against the shaft power."""
    for o in observations:
        power_w = o.power_ratio * known.rated_power_w
        if o.kind == "speed at fuel flow":
            power_w = o.fuel_flow_kg_s / (0.43 * lb / hp / hour)
        if o.kind not in {"speed at power", "speed at fuel flow"}:
            continue
        least, most = (_thrust_power(known, o, cd) / power_w for cd in DRAG_COEFFICIENTS)
        speed = f"{format_number(o.value / kt, 0)} kt on {format_number(power_w / hp, 0)} hp"
        mend = "expected a speed, power, altitude and unit that go together: are two columns exchanged?"
        if least > EFFICIENCIES[1]:
            clean = "even for the cleanest airplane of this size"
            found = f"{speed} needs a propeller efficiency of {least:.2f} or more, {clean}"
            collector.add(o.place, found, mend)
        elif most < EFFICIENCIES[0]:
            found = (
                f"{speed} means a propeller efficiency of {most:.2f} or less, even for the dirtiest airplane"
            )
            collector.add(o.place, found, mend)


def _thrust_power(known: Known, o: Observation, zero_lift_drag_coefficient: float) -> float:
    sigma = float(density_ratio(o.pressure_altitude_m, o.temperature_k))
    q = 0.5 * 1.225 * sigma * o.value**2
    weight = o.mass_kg * STANDARD_GRAVITY_M_S2
    induced = (weight / known.span_m) ** 2 / (np.pi * q)
    return float((q * zero_lift_drag_coefficient * known.wing_area_m2 + induced) * o.value)


def _check_consumption(known: Known, observations: Sequence[Observation], collector: Collector) -> None:
    low, high = CONSUMPTIONS
    for o in observations:
        if o.kind != "fuel flow":
            continue
        specific = o.value / (o.power_ratio * known.rated_power_w)
        if not low <= specific <= high:
            unit = lb / hp / hour
            collector.add(
                o.place, f"{o.text} at {100 * o.power_ratio:.0f} %: {specific / unit:.2f} lb/hp/h",
                f"expected {low / unit:.2f} to {high / unit:.2f} lb/hp/h: are two columns exchanged, "
                "or is it the unit?",
            )  # fmt: skip


def _check_order(_: Known, observations: Sequence[Observation], collector: Collector) -> None:
    """Demand that more power at one condition goes faster and burns more."""
    for kind, words in (("speed at power", "faster"), ("fuel flow", "more fuel")):
        groups: dict[tuple[float, ...], list[Observation]] = {}
        for o in observations:
            if o.kind == kind:
                key = (o.pressure_altitude_m, round(o.temperature_k, 3), o.mass_kg)
                groups.setdefault(key, []).append(o)
        for members in groups.values():
            ordered = sorted(members, key=lambda o: o.power_ratio)
            falling = [p for p in itertools.pairwise(ordered) if not _grows(*p, 0.0)]
            for low, high in falling:
                found = f"{_at_power(high)}, {_at_power(low)}"
                collector.add(high.place, found, f"expected more power to give {words}: a misprint?")
            first, last = ordered[0], ordered[-1]
            if not falling and not _grows(first, last, _LEAST_GROWTH):
                collector.add(
                    last.place, f"{_at_power(first)}, {_at_power(last)}",
                    f"expected so much more power to give much {words}: is one value written in every row?",
                )  # fmt: skip


def _grows(low: Observation, high: Observation, exponent: float) -> bool:
    """Whether a value grows with a power of shaft power, or may but for rounding."""
    least = low.value * (high.power_ratio / low.power_ratio) ** exponent
    return bool(high.value >= least - low.half_digit - high.half_digit)


def _at_power(o: Observation) -> str:
    return f"{o.text} at {100 * o.power_ratio:.0f} %"


def _check_altitudes(_: Known, observations: Sequence[Observation], collector: Collector) -> None:
    """Hold the growth of speed with altitude to what thin air can make of it."""
    groups: dict[tuple[float, float, float], list[Observation]] = {}
    for o in observations:
        if o.kind == "speed at power":
            deviation = o.temperature_k - float(temperature_at_altitude(o.pressure_altitude_m))
            groups.setdefault((o.power_ratio, round(deviation, 1), o.mass_kg), []).append(o)
    for members in groups.values():
        low = min(members, key=lambda o: o.pressure_altitude_m)
        high = max(members, key=lambda o: o.pressure_altitude_m)
        rise_m = high.pressure_altitude_m - low.pressure_altitude_m
        doubt = 2 * (low.half_digit + high.half_digit) / low.value
        gain = np.log(high.value / low.value)
        if rise_m > 0 and gain > 1.25 * _THIN_AIR_GAIN_PER_M * rise_m + doubt:
            found = (
                f"{low.text} to {high.text} over {format_number(rise_m / ft, 0)} ft at one power: "
                f"{gain / (_THIN_AIR_GAIN_PER_M * rise_m):.1f} times what thin air can add"
            )
            collector.add(high.place, found, "expected altitudes in their unit: metres written as feet?")


def _check_chart(table: Table, known: Known, collector: Collector) -> None:
    """Hold an engine chart to rated power, and its rise with altitude to what back pressure gives."""
    column = table.results.get("power") or table.results.get("percent power")
    axis = table.axis("pressure altitude")
    if column is None or axis is None or axis.si.size < 2:
        return
    watts = column.si if column.dimension == "power" else column.si * known.rated_power_w
    grid = np.moveaxis(watts.reshape(table.shape), table.axis_names.index("pressure altitude"), 0)
    lines = np.moveaxis(table.lines.reshape(table.shape), table.axis_names.index("pressure altitude"), 0)
    per_m = _CHART_GAIN_PER_M if table.axis("manifold pressure") else 0.0
    if known.turbocharged:
        per_m = _CHART_GAIN_PER_M
    rounding = 2 * float(np.nanmax(column.half_digit_si / column.si))
    own = Collector()
    for i in range(1, axis.si.size):
        allowed = 1 + per_m * float(axis.si[i] - axis.si[i - 1]) + rounding
        _compare_levels(table.file, column.name, grid[i - 1 : i + 1], lines[i], allowed, own)
    for line in lines[np.nan_to_num(grid) > 1.02 * known.rated_power_w]:
        own.add(
            Place(table.file, int(line), column.name), "more than rated power", "expected at most rated power"
        )
    _check_manifold(table, known, watts, own)
    collector.extend(own.problems[:_SHOWN])


def _check_manifold(table: Table, known: Known, watts: Array, collector: Collector) -> None:
    """Refuse a manifold that holds more than the air around it without a turbocharger."""
    if known.turbocharged or table.axis("manifold pressure") is None:
        return
    mesh = np.meshgrid(*(axis.si for axis in table.axes), indexing="ij")
    altitude_m, manifold_pa = (
        mesh[table.axis_names.index(name)].ravel() for name in ("pressure altitude", "manifold pressure")
    )
    ambient_pa = np.asarray(pressure_at_altitude(altitude_m))
    for i in np.flatnonzero(np.isfinite(watts) & (manifold_pa > _RAM * ambient_pa)):
        found = (
            f"{manifold_pa[i] / inhg:.1f} inHg at {format_number(float(altitude_m[i]) / ft, 0)} ft, "
            f"where the air has {ambient_pa[i] / inhg:.1f}"
        )
        collector.add(
            Place(table.file, int(table.lines[i]), "manifold pressure"), found,
            "expected no more than the air has: is the altitude column upside down?",
        )  # fmt: skip


def _compare_levels(
    file: str, name: str, levels: Array, lines: Array, allowed: float, collector: Collector
) -> None:
    below, above = levels
    with np.errstate(invalid="ignore"):
        wrong = above > below * allowed
    for low, high, line in zip(below[wrong], above[wrong], lines[wrong], strict=True):
        found = f"{high / hp:.0f} hp where {low / hp:.0f} hp stands one altitude lower"
        collector.add(
            Place(file, int(line), name),
            found,
            "expected power to fall as air thins: is the altitude column upside down?",
        )
