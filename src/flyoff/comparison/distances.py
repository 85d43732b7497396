"""Takeoff and landing distances of one airplane in one place and weather: the handbook's, then factors.

Not for flight planning or operational use: the approved flight manual governs.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from flyoff.comparison.at_weight import Kind
from flyoff.comparison.case import Case
from flyoff.comparison.runway_terms import Surface
from flyoff.core.figure import Input, format_number
from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.dossier.tables import Table
from flyoff.model.handbook import sample_of
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.runway import LANDING_FACTORS, TAKEOFF_FACTORS, DistanceFactor, ground_roll_in_wind

FACTORS: dict[Kind, dict[str, DistanceFactor]] = {"takeoff": TAKEOFF_FACTORS, "landing": LANDING_FACTORS}
SPREAD = 0.5
"""Share of what a factor adds that it is doubted by, 95 %: as far as the published ones lie apart;
common practice, no source."""
_ROTATION_TO_STALL, _APPROACH_TO_STALL = 1.1, 1.3
"""Where the dossier lists no speed: common practice, no source; 14 CFR 23.73 (from memory)."""
_STEPS = {"weight": 0.1, "pressure altitude": 1000 * ft, "temperature": 10.0, "wind": 0.1}
_NAMES = {
    "weight": "mass_plus_10_percent",
    "pressure altitude": "elevation_plus_1000_ft",
    "temperature": "temperature_plus_10_c",
    "wind": "tailwind_10_percent",
}
_PAVED: dict[Kind, str | None] = {"takeoff": None, "landing": "class_b_wet"}
_SMALL = 1e-6


@dataclass(frozen=True)
class Weather:
    """A runway's air and ground, SI; the wind is that which is counted, negative from behind."""

    pressure_altitude_m: float
    temperature_k: float
    head_wind_m_s: float = 0.0
    slope: float = 0.0
    surface: Surface = "paved"
    is_wet: bool = False

    @property
    def deviation_k(self) -> float:
        """The temperature less standard."""
        return self.temperature_k - float(temperature_at_altitude(self.pressure_altitude_m))


@dataclass(frozen=True)
class Distances:
    """Ground roll and distance over 50 ft [m] as samples; None where missing, `missing` says why."""

    roll_m: Array | None
    total_m: Array | None
    inputs: tuple[Input, ...] = ()
    remarks: tuple[str, ...] = ()
    missing: str = ""
    extrapolated: bool = False


@dataclass(frozen=True)
class _Step:
    """A published factor used so many times over, and whether what it adds is all on the ground."""

    factor: DistanceFactor
    times: float
    on_ground: bool = False


def distances(case: Case, kind: Kind, weather: Weather, mass_kg: float) -> Distances:
    """Return the handbook's distances, interpolated, and by published factors what it does not print."""
    table = case.dossier.tables.get(kind)
    if table is None:
        return Distances(None, None, missing=f"the handbook has no {kind} table")
    where, steps, remarks, beyond = _enter(case, table, kind, weather, mass_kg)
    book = case.evidences.handbook
    wanted = f"{kind} distance there"
    total = book.value_at(kind, "total distance", where, wanted)
    roll = book.value_at(kind, "ground roll", where, wanted)
    total_m, roll_m = sample_of(total), sample_of(roll)
    inputs = (*total.inputs, *roll.inputs)
    if total_m is None:
        return Distances(None, None, inputs, missing=total.missing)
    if "wind" not in where and weather.head_wind_m_s:
        counted = _in_wind(case, table, kind, weather, (total_m, roll_m))
        if isinstance(counted, str):
            return Distances(None, None, inputs, missing=counted)
        (total_m, roll_m), by_wind, given = counted
        steps += by_wind
        inputs = (*inputs, *given)
    steps += _ground_steps(kind, weather, table)
    for step in steps:
        more = total_m * (_factor(case, step) - 1)
        if roll_m is not None:
            roll_m = roll_m + (more if step.on_ground else roll_m * (_factor(case, step) - 1))
        total_m = total_m + more
    if table.record.dry_grass is not None and _is_dry_grass(weather):
        grass = table.record.dry_grass
        more = grass.si * (total_m if roll_m is None else roll_m)
        total_m, roll_m = total_m + more, None if roll_m is None else roll_m + more
        label = "dry grass adds of the ground roll, by the table's notes"
        inputs = (*inputs, Input(label, str(grass), grass.place, grass.source))
    inputs = (*inputs, *(_as_input(step) for step in steps))
    return Distances(roll_m, total_m, inputs, (*total.remarks, *remarks), "", beyond)


def _factor(case: Case, step: _Step) -> Array:
    """Return what a step multiplies by, a sample: each published factor has one error, the same for all."""
    added = step.factor.factor - 1
    name = f"{step.factor.source}#{step.factor.condition}"
    one = case.draws.about(name, 1 + added, abs(added) * SPREAD)
    return np.asarray(np.maximum(one, 0.5) ** step.times)


def _as_input(step: _Step) -> Input:
    """Return a factor as an input: once, and how often over."""
    times = "" if abs(step.times - 1) < _SMALL else f", {format_number(step.times, 2)} times over"
    size = format_number(step.factor.factor, 2)
    doubt = format_number(abs(step.factor.factor - 1) * SPREAD, 3)
    return Input(f"factor: {step.factor.condition}", f"{size} ± {doubt}{times}", source=step.factor.source)


def _enter(
    case: Case, table: Table, kind: Kind, weather: Weather, mass_kg: float
) -> tuple[dict[str, float], list[_Step], list[str], bool]:
    """Return where to enter a table, the factors for what lies off it, what was assumed, and if beyond."""
    asked = {
        "pressure altitude": weather.pressure_altitude_m,
        "temperature": weather.temperature_k,
        "ISA deviation": weather.deviation_k,
        "weight": mass_kg,
        "wind": weather.head_wind_m_s,
    }
    where: dict[str, float] = {}
    off: dict[str, float] = {}
    remarks: list[str] = []
    for axis in table.axes:
        value = float(np.clip(asked[axis.name], axis.si[0], axis.si[-1]))
        where[axis.name.replace(" ", "_")] = value
        over = asked[axis.name] - value
        # Colder, lower or more head wind than printed gains nothing; lighter does.
        helps = over > 0 if axis.name == "wind" else over < 0
        if abs(over) <= _SMALL:
            continue
        end = f"{axis.unit.from_si(value):,.6g} {axis.unit.label}"
        if helps and axis.name != "weight":
            remarks.append(f"the {kind} table ends at {axis.name} {end}: nothing is gained beyond it")
            continue
        remarks.append(f"extrapolated from {axis.name} {end} by a published factor")
        name = "temperature" if axis.name == "ISA deviation" else axis.name
        off[name] = -over / _flying_speed_m_s(case, kind) if name == "wind" else over
        if name == "weight":
            off[name] = mass_kg / value - 1
    beyond = bool(off)
    remarks += _without_axes(case, table, weather, mass_kg, off)
    factors = FACTORS[kind]
    return where, [_Step(factors[_NAMES[n]], _times(n, o)) for n, o in off.items()], remarks, beyond


def _times(name: str, off: float) -> float:
    """Return how often over a factor holds: by weight it compounds, 10 % on 10 %."""
    if name == "weight":
        return float(np.log1p(off) / np.log1p(_STEPS[name]))
    return off / _STEPS[name]


def _without_axes(
    case: Case, table: Table, weather: Weather, mass_kg: float, off: dict[str, float]
) -> Iterable[str]:
    """Add to `off` what a table is not entered by, from the one condition that it holds for."""
    record = table.record
    remarks = []
    if table.axis("weight") is None:
        printed_kg = record.weight.si if record.weight else case.takeoff_kg
        if not record.weight:
            remarks.append(f"the {record.kind} table names no weight: taken as the maximum takeoff weight")
        if abs(mass_kg / printed_kg - 1) > _SMALL:
            off["weight"] = mass_kg / printed_kg - 1
            unit = case.airplane.weights.takeoff.unit
            asked = f"{format_number(unit.from_si(mass_kg), 0)} {unit.label}"
            remarks.append(f"the {record.kind} table is for one weight: brought to {asked} by a factor")
    if table.axis("pressure altitude") is None and weather.pressure_altitude_m > 0:
        off["pressure altitude"] = weather.pressure_altitude_m
        remarks.append(f"the {record.kind} table is for sea level: brought to altitude by a factor")
    if table.axis("temperature") is None and table.axis("ISA deviation") is None:
        warmer = weather.deviation_k - (record.isa_deviation.si if record.isa_deviation else 0.0)
        if warmer > _SMALL:
            off["temperature"] = warmer
            remarks.append(
                f"the {record.kind} table is for one temperature: brought to a warmer one by a factor"
            )
    return remarks


def _flying_speed(case: Case, kind: Kind) -> tuple[float, Input] | None:
    """Return the airspeed at lift-off or approach as listed, and what says it; None where nothing does."""
    speeds = case.airplane.speeds
    listed = speeds.rotation if kind == "takeoff" else speeds.approach
    if listed is not None:
        label = "rotation speed" if kind == "takeoff" else "approach speed"
        return listed.si, Input(label, str(listed), listed.place, listed.source)
    stall = (speeds.stall_takeoff or speeds.stall_clean) if kind == "takeoff" else speeds.stall_landing
    if stall is None:
        return None
    times = _ROTATION_TO_STALL if kind == "takeoff" else _APPROACH_TO_STALL
    label = f"flying speed taken as {times:g} times the stall's (common practice, no source)"
    return times * stall.si, Input(label, str(stall), stall.place, stall.source)


def _flying_speed_m_s(case: Case, kind: Kind) -> float:
    """Return the speed at lift-off or approach; NaN where nothing says it."""
    found = _flying_speed(case, kind)
    return found[0] if found else float("nan")


_Both: TypeAlias = tuple[Array, Array | None]


def _in_wind(
    case: Case, table: Table, kind: Kind, weather: Weather, both: _Both
) -> tuple[_Both, list[_Step], tuple[Input, ...]] | str:
    """Return distances in wind, the factors and inputs that says; or why a wind cannot be counted."""
    wind, record = weather.head_wind_m_s, table.record
    printed = record.head_wind_tenth if wind > 0 else record.tail_wind_tenth
    if printed is not None:
        share = max(1 - 0.1 * wind / printed.si, 0.0) if wind > 0 else 1 - 0.1 * wind / printed.si
        words = f"{'head' if wind > 0 else 'tail'} wind for a tenth, by the table's notes"
        given = Input(words, str(printed), printed.place, printed.source)
        return _times_over(both, share, share), [], (given,)
    found = _flying_speed(case, kind)
    if found is None:
        return f"the dossier lists no speed of {kind} or stall to count a wind by"
    speed_m_s, speed = found
    if wind < 0:
        return both, [_Step(FACTORS[kind][_NAMES["wind"]], -wind / speed_m_s / _STEPS["wind"])], (speed,)
    true_m_s = speed_m_s / float(density_ratio(weather.pressure_altitude_m, weather.temperature_k)) ** 0.5
    slowed = float(ground_roll_in_wind(1.0, wind, true_m_s))
    in_air = max(1 - wind / true_m_s, 0.0)
    law = Input(
        "ground roll in a head wind", "(1 − W/V)^1.85", source="SFTE Reference Handbook, 2013, 12.3.1"
    )
    return _times_over(both, slowed, in_air), [], (speed, law)


def _times_over(both: _Both, ground: float, air: float) -> _Both:
    """Return distances with the ground roll and the way through the air each times its own."""
    total_m, roll_m = both
    if roll_m is None:
        return total_m * max(ground, air), None
    return roll_m * ground + (total_m - roll_m) * air, roll_m * ground


def _is_dry_grass(weather: Weather) -> bool:
    return weather.surface == "short grass" and not weather.is_wet


def _ground_steps(kind: Kind, weather: Weather, table: Table) -> list[_Step]:
    """Return the factors of surface and slope; a slope that helps a takeoff is not counted."""
    factors = FACTORS[kind]
    names: list[tuple[str | None, float]] = []
    wet = "wet" if weather.is_wet else "dry"
    if weather.surface == "paved":
        names.append((_PAVED[kind] if weather.is_wet else None, 1.0))
    elif table.record.dry_grass is not None and _is_dry_grass(weather):
        pass
    elif weather.surface == "soft ground":
        names.append(("soft_ground", 1.0))
    else:
        names.append((f"{wet}_{weather.surface.replace(' ', '_')}", 1.0))
    if weather.slope > 0:
        names.append(("uphill_2_percent", weather.slope / 0.02))
    elif weather.slope < 0 and kind == "landing":
        names.append(("downhill_1_percent", -weather.slope / 0.01))
    return [_Step(factors[name], times, on_ground=True) for name, times in names if name]
