"""Climbs beside the climb table: rate of climb, and the time that a longer climb took."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import Input, format_number
from flyoff.core.typing import Array
from flyoff.core.units import fpm, ft, kt, minute
from flyoff.model.handbook import Handbook, Value, sample_of
from flyoff.model.statement import BookPoint, Flown, statement_of, table_mass, unfit, weight_words
from flyoff.physics.atmosphere import density_ratio, temperature_deviation
from flyoff.physics.climb import rate_of_climb_at_mass
from flyoff.reduction.airplane import Correction
from flyoff.reduction.best_rate import Speed
from flyoff.reduction.climb import Climb, constant_airspeed_factor
from flyoff.reduction.points import Point
from flyoff.reduction.power import powers_of

SPEED_BAND_M_S = 5 * kt
"""Airspeed off the printed one within which a climb is asked about; common practice, no source."""
LEAST_CLIMB_M = 1000 * ft
FULL_POWER = 0.98
_RATE = "SFTE Reference Handbook, 2013, 12.5.2: inertia and induced drag"
_POWER = "excess power at an assumed propeller efficiency of 0.75, common practice, no source"
_CLIMB_EFFICIENCY = 0.75
_STANDARD = "temperature and power"


@dataclass(frozen=True)
class _Ascent:
    """Climbs at one speed and height as reduced, SI, and the handbook's word on them."""

    speed: Speed
    climbs: tuple[Climb, ...]
    points: tuple[Point, ...]
    temperature_k: float
    table_kg: float

    @property
    def deviation_k(self) -> float:
        return float(temperature_deviation(self.speed.pressure_altitude_m, self.temperature_k))

    @property
    def measured(self) -> float:
        return sum(climb.measured.value for climb in self.climbs) / len(self.climbs)

    @property
    def read_at_k(self) -> float:
        """Temperature less standard that the table is read at: 0 where the rate was brought to standard."""
        standard = all(any(c.name == _STANDARD for c in climb.corrections) for climb in self.climbs)
        return 0.0 if standard else self.deviation_k

    @property
    def words(self) -> str:
        off = self.deviation_k
        return (
            f"{format_number(self.speed.pressure_altitude_m / ft, -1)} ft, "
            f"ISA {'−' if off < 0 else '+'}{abs(off):.0f} °C, "
            f"{format_number(self.speed.calibrated_airspeed_m_s / kt, 0)} kt calibrated"
        )

    @property
    def mass_kg(self) -> float | None:
        masses = [point.mass_kg for point in self.points if point.mass_kg is not None]
        return sum(masses) / len(masses) if masses else None


def climb_points(flown: Flown, handbook: Handbook) -> Iterator[BookPoint | str]:
    """Yield each climb beside the climb table, or why it cannot be."""
    climbs = flown.reduction.standard.climbs
    for climb in climbs.climbs if climbs else ():
        why = unfit(flown.reduction.points[climb.point])
        if why:
            yield f"{flown.name}, condition {climb.point}: {why}"
    for speed in climbs.speeds if climbs else ():
        if any(unfit(flown.reduction.points[i]) for i in speed.members):
            continue
        ascent = _ascent(flown, handbook, speed)
        if ascent is None:
            continue
        off = _off_speed(handbook, ascent)
        if off:
            yield f"{flown.name}, condition {speed.members[0]}: {off}"
            continue
        rate, steps, remarks = _at_book(flown, handbook, ascent)
        yield _rate(flown, handbook, ascent, rate, steps, remarks)
        for climb, point in zip(ascent.climbs, ascent.points, strict=True):
            timed = _timed(flown, handbook, ascent, rate, (climb, point), remarks)
            if timed is not None:
                yield timed


def _ascent(flown: Flown, handbook: Handbook, speed: Speed) -> _Ascent | None:
    climbs = flown.reduction.standard.climbs
    own = tuple(flown.reduction.points[i] for i in speed.members)
    air = [p.air.temperature.value for p in own if p.air.temperature]
    if climbs is None or not air:
        return None
    found = {climb.point: climb for climb in climbs.climbs}
    masses = [p.mass_kg for p in own if p.mass_kg is not None]
    table_kg = table_mass(handbook, "climb", float(np.mean(masses)) if masses else math.nan)
    members = tuple(found[i] for i in speed.members)
    return _Ascent(speed, members, own, float(np.mean(air)), table_kg)


def _off_speed(handbook: Handbook, ascent: _Ascent) -> str:
    """Return in words by how much a climb missed the handbook's speed; empty within the band or unknown."""
    asked = printed_speed(
        handbook, "climb", ascent.speed.pressure_altitude_m, ascent.read_at_k, ascent.table_kg
    )
    shown = ascent.speed.calibrated_airspeed_m_s
    if asked is None or abs(asked - shown) <= SPEED_BAND_M_S:
        return ""
    return (
        f"climbed at {format_number(shown / kt, 0)} kt calibrated, "
        f"the handbook's speed is {format_number(asked / kt, 0)} kt"
    )


def printed_speed(
    handbook: Handbook, kind: str, altitude_m: float, deviation_k: float, mass_kg: float
) -> float | None:
    """Return the calibrated airspeed that a climb or glide table, or else the list of speeds, asks for."""
    value = handbook.printed(kind, "calibrated airspeed", altitude_m, deviation_k, mass_kg)
    speeds = handbook.dossier.airplane.speeds
    if value.si is not None:
        return value.si
    listed = None if speeds is None else {"climb": speeds.best_rate, "glide": speeds.best_glide}.get(kind)
    return listed.si if listed is not None and speeds is not None and speeds.kind == "calibrated" else None


def _at_book(
    flown: Flown, handbook: Handbook, ascent: _Ascent
) -> tuple[Array, tuple[Correction, ...], tuple[str, ...]]:
    """Return the rate at the table's weight and full power, the steps to it, and what could not be done."""
    speed, climbs = ascent.speed, flown.reduction.standard.climbs
    name = f"{flown.reduction.flight.name}#climb {'-'.join(map(str, speed.members))}"
    rate = flown.draws.about(name, speed.rate.value, COVERAGE_95 * speed.rate.u)
    steps = list(_steps(ascent))
    remarks = [climb.missing for climb in ascent.climbs if climb.missing]
    airplane = flown.reduction.standard.airplane
    start_kg = None if climbs is None or any("weight" in r for r in remarks) else climbs.standard_mass_kg
    if start_kg is not None and airplane.span_m is not None and ascent.mass_kg is not None:
        rate = _at_mass(flown, ascent, rate, start_kg)
        words = (
            f"weight, {weight_words(handbook, ascent.mass_kg)} to {weight_words(handbook, ascent.table_kg)}"
        )
        steps.append(Correction(words, steps[-1].end, float(rate[0]), "ft/min", _RATE))
    lacking = _lacking_power_w(flown, handbook, ascent)
    if lacking:
        more = _CLIMB_EFFICIENCY * lacking / (ascent.table_kg * STANDARD_GRAVITY_M_S2)
        steps.append(Correction("power, to rated", float(rate[0]), float(rate[0]) + more, "ft/min", _POWER))
        rate = rate + more
    return rate, tuple(steps), tuple(dict.fromkeys(remarks))


def _steps(ascent: _Ascent) -> Iterator[Correction]:
    """Yield the steps that the reduction took, each the mean over the climbs, all but that of the weight."""
    at = ascent.measured
    for words, names in (
        ("steady airspeed", ("acceleration", "constant airspeed")),
        ("wind gradient", ("wind gradient",)),
        (_STANDARD, (_STANDARD,)),
    ):
        kept = [c for climb in ascent.climbs for c in climb.corrections if c.name in names]
        if kept:
            change = sum(c.end - c.start for c in kept) / len(ascent.climbs)
            yield Correction(words, at, at + change, "ft/min", kept[0].source)
            at += change


def _at_mass(flown: Flown, ascent: _Ascent, rate: Array, start_kg: float) -> Array:
    airplane = flown.reduction.standard.airplane
    altitude_m, point = ascent.speed.pressure_altitude_m, ascent.points[0]
    density = SEA_LEVEL_DENSITY_KG_M3 * float(density_ratio(altitude_m, ascent.temperature_k))
    true = point.air.true_airspeed
    assert true is not None  # a climb at standard conditions has one
    assert airplane.span_m is not None  # _at_book has asked
    factor = 1 + (constant_airspeed_factor(point) or 0.0)
    energy = rate_of_climb_at_mass(
        rate_of_climb_m_s=rate * factor,
        mass_kg=start_kg,
        standard_mass_kg=ascent.table_kg,
        true_airspeed_m_s=true.value,
        density_kg_m3=density,
        effective_span_m=flown.effective_span_m(airplane.span_m),
    )
    return np.asarray(energy) / factor


def _lacking_power_w(flown: Flown, handbook: Handbook, ascent: _Ascent) -> float:
    """Return the power a turbocharged engine was short of rated, below its critical altitude."""
    engine = handbook.dossier.airplane.engine
    critical = engine.critical_altitude
    if critical is None or ascent.speed.pressure_altitude_m > critical.si:
        return 0.0
    shown = [powers_of(p, flown.reduction.standard.airplane).by_levers for p in ascent.points]
    known = [reading.power_w.value for reading in shown if reading is not None]
    if not known or np.mean(known) > FULL_POWER * engine.rated_power.si:
        return 0.0
    return engine.rated_power.si - float(np.mean(known))


def _rate(
    flown: Flown,
    handbook: Handbook,
    ascent: _Ascent,
    rate: Array,
    steps: tuple[Correction, ...],
    remarks: tuple[str, ...],
) -> BookPoint:
    altitude_m, number = ascent.speed.pressure_altitude_m, ascent.speed.members[0]

    def printed(deviation_k: float) -> Value:
        return handbook.printed("climb", "rate of climb", altitude_m, deviation_k, ascent.table_kg)

    value = printed(ascent.read_at_k)
    table = handbook.dossier.tables.get("climb")
    own = table.record.isa_deviation.si if table and table.record.isa_deviation else 0.0
    if table is not None and not table.axis("temperature") and not table.axis("ISA deviation"):
        cold = printed(own).si
        if cold is not None and value.si is not None and ascent.read_at_k != own:
            source = "the table entered at the density altitude, common practice, no source"
            words = "temperature, of the printed rate"
            steps = (*steps, Correction(words, cold, value.si, "ft/min", source))
    seen = flown.seen(number, f"{format_number(ascent.measured / fpm, 0)} ft/min measured")
    if not ascent.speed.is_paired and not any(step.name == "wind gradient" for step in steps):
        remarks = (*remarks, "one heading only: the wind's change with height is in it")
    u = math.hypot(*(climb.measured.u for climb in ascent.climbs)) / len(ascent.climbs)
    name = f"{flown.reduction.flight.name}#climb {'-'.join(map(str, ascent.speed.members))}/measured"
    as_flown = flown.draws.about(name, ascent.measured, COVERAGE_95 * u)
    own_flags = tuple(dict.fromkeys(flag for point in ascent.points for flag in point.flags))
    return BookPoint(
        statement_of("climb_rate"), flown.name, "-".join(map(str, ascent.speed.members)), number,
        ascent.words, altitude_m, as_flown, rate, sample_of(value), steps, seen,
        value.inputs, value.missing, (*value.remarks, *remarks, *own_flags),
    )  # fmt: skip


def _timed(
    flown: Flown,
    handbook: Handbook,
    ascent: _Ascent,
    rate: Array,
    climbed: tuple[Climb, Point],
    remarks: tuple[str, ...],
) -> BookPoint | None:
    """Return the time that a climb took, at the table's weight, beside the one printed for its heights."""
    climb, point = climbed
    through, middle = point.readings.height_rate, point.pressure_altitude
    if through is None or middle is None:
        return None
    taken_s = point.condition.end_s - point.condition.start_s
    height_m = through.value * taken_s
    if height_m < LEAST_CLIMB_M:
        return None
    low_m, high_m = middle.value - height_m / 2, middle.value + height_m / 2
    own = handbook.climb(low_m, high_m, ascent.read_at_k, ascent.table_kg).time
    # the table's rate over the one measured turns the time taken into the table's
    time = taken_s * climb.measured.value / np.maximum(rate, 0.05 * rate[0])
    taken = np.full(rate.shape, taken_s)
    words = f"{format_number(low_m / ft, -2)} to {format_number(high_m / ft, -2)} ft"
    step = Correction("as the rate: weight, airspeed, temperature", taken_s, float(time[0]), "min", _RATE)
    seen: Input = flown.seen(climb.point, f"{taken_s / minute:.2f} min, {words}")
    return BookPoint(
        statement_of("climb_time"), flown.name, str(climb.point), climb.point, words, middle.value, taken,
        time, sample_of(own), (step,), seen, own.inputs, own.missing, (*own.remarks, *remarks),
    )  # fmt: skip
