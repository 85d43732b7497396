"""Level conditions beside the cruise table: speed at the fuel flow, speed and fuel flow at the power."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import Input, format_number
from flyoff.core.typing import Array
from flyoff.core.units import ft, hour, kt, us_gal
from flyoff.dossier.airplane import Cruise
from flyoff.model.handbook import Handbook, Value
from flyoff.model.statement import BookPoint, Flown, sample_at, statement_of, table_mass, unfit, weight_words
from flyoff.physics.atmosphere import density_ratio, temperature_deviation
from flyoff.physics.drag import level_speed
from flyoff.reduction.airplane import MASS_U, Correction
from flyoff.reduction.cruise import MOST_MASS_SHARE
from flyoff.reduction.points import Point
from flyoff.reduction.power import PowerReading, powers_of
from flyoff.reduction.statistics import Estimate

PROPELLER_EFFICIENCY = Estimate(0.80, 0.04)
"""Of a cruise propeller; common practice, no source."""
MOST_INDUCED_SHARE = 0.6
"""Of the power; above, level flight is on the back side, where speed at a power says little."""
LEVEL = "level speed at constant power, parabolic polar: SFTE Reference Handbook, 2013, 12.7.1"
DENSITY = "the table's one temperature: entered at the density altitude, common practice, no source"


@dataclass(frozen=True)
class Level:
    """A level condition that has all that a cruise table is asked with, SI; samples where arrays."""

    number: int
    point: Point
    pressure_altitude_m: float
    temperature_k: float
    mass_kg: float
    true_airspeed_m_s: Array
    fuel_flow_m3_s: Array | None
    power: PowerReading | None
    best_power: PowerReading | None

    @property
    def deviation_k(self) -> float:
        """Temperature less standard."""
        return float(temperature_deviation(self.pressure_altitude_m, self.temperature_k))

    @property
    def words(self) -> str:
        """Altitude and temperature."""
        off = self.deviation_k
        return (
            f"{format_number(self.pressure_altitude_m / ft, -1)} ft, "
            f"ISA {'−' if off < 0 else '+'}{abs(off):.0f} °C"
        )


def levels_of(flown: Flown, mass_kg: float) -> list[Level]:
    """Return the level conditions with an airspeed and a temperature; `mass_kg` where none is known."""
    reduction = flown.reduction
    found = []
    for number, point in enumerate(reduction.points):
        altitude, temperature = point.pressure_altitude, point.air.temperature
        speed, drawn = point.air.true_airspeed, flown.drawn[number].true_airspeed_m_s
        if point.condition.kind != "level" or not (altitude and temperature and speed) or drawn is None:
            continue
        powers = powers_of(point, reduction.standard.airplane)
        found.append(
            Level(
                number, point, altitude.value, temperature.value, point.mass_kg or mass_kg,
                np.concatenate([[speed.value], drawn]), _flow(flown, number, point), powers.by_levers,
                powers.best,
            )
        )  # fmt: skip
    return found


def _flow(flown: Flown, number: int, point: Point) -> Array | None:
    """Return the fuel flow as a sample: the doubt of its scale is the same for the whole flight."""
    flow, stated = point.fuel_flow, flown.reduction.flight.card.instruments.fuel_flow_u95
    if flow is None:
        return None
    scale = 0.0 if stated is None else min(stated.si / COVERAGE_95, flow.u / flow.value)
    own = max(flow.u**2 - (scale * flow.value) ** 2, 0.0) ** 0.5
    name = f"{flown.reduction.flight.name}#{number}/fuel flow"
    return flown.draws.about(name, flow.value, COVERAGE_95 * own) * flown.shared(
        "fuel flow scale", 1.0, scale
    )


def as_printed(handbook: Handbook) -> Handbook:
    """Return a handbook taken at its word: what the dossier declares to doubt of it is what flight tests."""
    dossier = handbook.dossier
    return replace(
        handbook, dossier=replace(dossier, airplane=dossier.airplane.model_copy(update={"cruise": Cruise()}))
    )


def cruise_points(flown: Flown, handbook: Handbook, mass_kg: float) -> Iterator[BookPoint | str]:
    """Yield each statement of the cruise table beside each level condition, or why it is left out."""
    book = as_printed(handbook)
    for level in levels_of(flown, mass_kg):
        if unfit(level.point):
            yield f"{flown.name}, condition {level.number}: {unfit(level.point)}"
            continue
        if level.fuel_flow_m3_s is not None:
            yield _speed_at_flow(flown, book, level, level.fuel_flow_m3_s)
        rated = handbook.dossier.airplane.engine.rated_power.si
        if level.power is not None:
            # an indicator's error, or a chart's, is the same for all of a flight
            doubt = level.power.power_w.u / level.power.power_w.value
            scale = flown.shared(f"power by {level.power.way}", 1.0, doubt)
            ratio = level.power.power_w.value / rated * scale
            yield _speed_at_power(flown, book, level, ratio)
            if level.fuel_flow_m3_s is not None:
                yield _flow_at_power(flown, book, level, ratio, level.fuel_flow_m3_s)


def _speed_at_flow(flown: Flown, book: Handbook, level: Level, flow: Array) -> BookPoint:
    table_kg = table_mass(book, "cruise", level.mass_kg)

    def printed(flow_m3_s: float, deviation_k: float = level.deviation_k) -> Value:
        flow_kg_s = flow_m3_s * book.fuel_density_kg_m3
        return book.speed_at_fuel_flow(flow_kg_s, level.pressure_altitude_m, deviation_k, table_kg)

    words = f"{format_number(flow[0] / (us_gal / hour), 1)} US gal/h"
    value, sample = sample_at(printed, flow)
    warmer = _temperature(book, value, printed(float(flow[0]), _table_deviation(book, level)))
    return _speed(flown, level, "cruise_speed", words, (value, sample), book, warmer)


def _speed_at_power(flown: Flown, book: Handbook, level: Level, ratio: Array) -> BookPoint:
    table_kg = table_mass(book, "cruise", level.mass_kg)

    def printed(power_ratio: float, deviation_k: float = level.deviation_k) -> Value:
        return book.cruise(power_ratio, level.pressure_altitude_m, deviation_k, table_kg).true_airspeed

    value, sample = sample_at(printed, ratio)
    warmer = _temperature(book, value, printed(float(ratio[0]), _table_deviation(book, level)))
    words = _power_words(level, ratio)
    return _speed(flown, level, "cruise_speed_at_power", words, (value, sample), book, warmer)


def _flow_at_power(flown: Flown, book: Handbook, level: Level, ratio: Array, flow: Array) -> BookPoint:
    table_kg = table_mass(book, "cruise", level.mass_kg)

    def printed(power_ratio: float) -> Value:
        return book.cruise(power_ratio, level.pressure_altitude_m, level.deviation_k, table_kg).fuel_flow

    value, sample = sample_at(printed, ratio)
    volume = None if sample is None else sample / book.fuel_density_kg_m3
    text = f"{format_number(flow[0] / (us_gal / hour), 2)} US gal/h"
    return _beside(
        flown, level, "fuel_flow_at_power", _power_words(level, ratio), text, (flow, flow), value, volume, ()
    )


def _power_words(level: Level, ratio: Array) -> str:
    way = level.power.way if level.power else ""
    return f"{format_number(100 * float(ratio[0]), 0)} % power by {way}"


def _table_deviation(book: Handbook, level: Level) -> float:
    """Return the temperature less standard that the table holds for; the flown one where it is asked."""
    table = book.dossier.tables.get("cruise")
    if table is None or table.axis("ISA deviation") or table.axis("temperature"):
        return level.deviation_k
    return table.record.isa_deviation.si if table.record.isa_deviation else 0.0


def _temperature(book: Handbook, read: Value, at_its_own: Value) -> tuple[Correction, ...]:
    """Return what temperature changed in the printed speed; nothing where the table is entered with it."""
    table = book.dossier.tables.get("cruise")
    if table is None or table.axis("ISA deviation") or table.axis("temperature"):
        return ()
    if read.si is None or at_its_own.si is None:
        return ()
    return (Correction("temperature, of the printed speed", at_its_own.si, read.si, "kt", DENSITY),)


def _speed(
    flown: Flown,
    level: Level,
    key: str,
    words: str,
    read: tuple[Value, Array | None],
    book: Handbook,
    warmer: tuple[Correction, ...],
) -> BookPoint:
    speed = level.true_airspeed_m_s
    text = f"{format_number(speed[0] / kt, 1)} kt true at {weight_words(book, level.mass_kg)}"
    corrected, steps, remarks = at_mass(flown, level, book)
    return _beside(
        flown, level, key, words, text, (speed, corrected), *read, (*steps, *warmer), remarks
    )  # fmt: skip


def _beside(
    flown: Flown,
    level: Level,
    key: str,
    words: str,
    text: str,
    samples: tuple[Array, Array],
    value: Value,
    printed: Array | None,
    corrections: tuple[Correction, ...],
    remarks: tuple[str, ...] = (),
) -> BookPoint:
    seen: Input = flown.seen(level.number, text)
    return BookPoint(
        statement_of(key), flown.name, str(level.number), level.number, f"{level.words}, {words}",
        level.pressure_altitude_m, *samples, printed, corrections, seen, value.inputs, value.missing,
        (*value.remarks, *remarks, *level.point.flags), level.point.extrapolated,
    )  # fmt: skip


def at_mass(
    flown: Flown, level: Level, book: Handbook
) -> tuple[Array, tuple[Correction, ...], tuple[str, ...]]:
    """Return a level speed at the cruise table's weight, same power and air; and why not, where not."""
    mass_kg = table_mass(book, "cruise", level.mass_kg)
    speed, airplane = level.true_airspeed_m_s, flown.reduction.standard.airplane
    if mass_kg == level.mass_kg:
        return speed, (), ()
    if level.point.mass_kg is None:
        return speed, (), ("not corrected for weight: no loading is known",)
    if airplane.span_m is None or level.best_power is None:
        return speed, (), ("not corrected for weight: no span or no power is known",)
    flown_kg = level.mass_kg * flown.shared("weight", 1.0, MASS_U)
    span_m = flown.effective_span_m(airplane.span_m)
    thrust_w = level.best_power.power_w.value * flown.shared(
        "propeller efficiency", PROPELLER_EFFICIENCY.value, PROPELLER_EFFICIENCY.u
    )
    density = SEA_LEVEL_DENSITY_KG_M3 * float(density_ratio(level.pressure_altitude_m, level.temperature_k))
    weight_n = flown_kg * STANDARD_GRAVITY_M_S2
    induced_w = 2 * np.square(weight_n / span_m) / (np.pi * density * speed)
    if induced_w[0] > MOST_INDUCED_SHARE * thrust_w[0]:
        return speed, (), ("not corrected for weight: too slow for the polar that would do it",)
    area_m2 = (thrust_w - np.minimum(induced_w, MOST_INDUCED_SHARE * thrust_w)) / (density * speed**3 / 2)
    at = np.asarray(
        level_speed(
            thrust_power_w=thrust_w,
            density_kg_m3=density,
            mass_kg=mass_kg,
            drag_area_m2=area_m2,
            effective_span_m=span_m,
        )
    )
    step = Correction(
        f"weight, {weight_words(book, level.mass_kg)} to {weight_words(book, mass_kg)}",
        float(speed[0]),
        float(at[0]),
        "kt",
        LEVEL,
    )
    if not np.isfinite(at[0]):
        return speed, (), ("not corrected for weight: its power would not hold it level at the table's",)
    carried = abs(mass_kg / level.mass_kg - 1)
    far = f"carried over {carried:.0%} of weight, more than the reference's 10 %"
    return at, (step,), (far,) if round(carried, 2) > MOST_MASS_SHARE else ()
