"""What a flown airplane does at its best, by the model fitted to handbook and flight together.

No handbook prints most of it. The airplane is as it was flown: options that the terms add weigh, but
slow nothing here. Not for flight planning or operational use: the approved flight manual governs.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from flyoff.comparison.at_weight import nominal_kg
from flyoff.comparison.case import Case, Method
from flyoff.comparison.cruise import DISTANCE_PER_FUEL, FLOW, SPEED, condition_inputs
from flyoff.comparison.evidence import FITTED_SOURCE, READINGS
from flyoff.core.figure import Figure, Input, format_number
from flyoff.model import envelope, performance
from flyoff.model.envelope import Best
from flyoff.model.fit import Fit
from flyoff.model.handbook import Value, sample_of
from flyoff.model.performance import Air, standard_air
from flyoff.physics.airspeed import equivalent_airspeed_at_true

_RATE, _LENGTH, _RATIO = ("ft/min", "speed"), ("ft", "length"), ("", "count")
_STALL_MARGIN = 1.2
_SLOWEST = f"no slower than {_STALL_MARGIN:g} times the listed stall (common practice, no source)"
_CARSON = "B. H. Carson, Fuel Efficiency of Small Aircraft, AIAA-80-1847 (from memory)"
BEST = {
    "best_climb_rate": ("Best rate of climb, sea level", _RATE),
    "best_climb_rate_speed": ("Equivalent airspeed of that", SPEED),
    "best_climb_angle_speed": ("Equivalent airspeed of the steepest climb", SPEED),
    "service_ceiling": ("Service ceiling", _LENGTH),
    "absolute_ceiling": ("Absolute ceiling", _LENGTH),
    "full_throttle_speed": ("True airspeed, full throttle", SPEED),
    "peak_speed": ("Fastest cruise at the terms' power", SPEED),
    "peak_altitude": ("Altitude of that", _LENGTH),
    "least_fuel_flow": ("Least fuel flow of level flight", FLOW),
    "endurance_speed": ("Equivalent airspeed of that", SPEED),
    "most_specific_range": ("Most distance per fuel", DISTANCE_PER_FUEL),
    "range_speed": ("Equivalent airspeed of that", SPEED),
    "trade_speed": ("Equivalent airspeed of the best trade of time and fuel", SPEED),
    "best_glide_ratio": ("Best glide ratio", _RATIO),
    "best_glide_speed": ("Equivalent airspeed of that", SPEED),
}
"""Label and unit of each, in the order to print."""


class _Found(NamedTuple):
    quantity: str
    value: Value
    words: str
    mass_kg: float
    source: str = FITTED_SOURCE


def best_key(aircraft: str, quantity: str) -> str:
    """Return the key of one of these figures."""
    return f"{aircraft}.{quantity}?evidence=fitted"


def best_speed_figures(case: Case) -> list[Figure]:
    """Return each figure of an airplane that was flown and fitted; none of any other."""
    fit = case.evidences.fitted
    if not isinstance(fit, Fit):
        return []
    return [_figure(case, found) for part in (_climbs, _cruise, _saving, _glide) for found in part(case, fit)]


def _climbs(case: Case, fit: Fit) -> Iterator[_Found]:
    """Yield the climbs at sea level and the ceilings, at takeoff weight."""
    kelvin, mass_kg = case.terms.isa_deviation.si, nominal_kg(case)
    low = standard_air(0.0, mass_kg, kelvin)
    stall = case.airplane.speeds.stall_clean
    slowest_m_s = _STALL_MARGIN * stall.si if stall else 0.0
    rate = envelope.best_rate_of_climb(fit.model, low, slowest_m_s)
    value = fit.value_of(lambda _: rate.value, "rate of climb")
    yield _Found("best_climb_rate", value, f"full power at sea level, {_SLOWEST}", mass_kg)
    speed = _equivalent(fit, rate, low)
    yield _Found("best_climb_rate_speed", speed, f"where that rate is highest, {_SLOWEST}", mass_kg)
    steep = envelope.best_angle_of_climb(fit.model, low, slowest_m_s)
    words = f"full power at sea level, where the angle of climb is highest, {_SLOWEST}"
    yield _Found("best_climb_angle_speed", _equivalent(fit, steep, low), words, mass_kg)
    for name, words, ceiling in (
        ("service_ceiling", "100 ft/min of rate of climb left", fit.service_ceiling),
        ("absolute_ceiling", "no rate of climb left", fit.absolute_ceiling),
    ):
        yield _Found(name, ceiling(kelvin, mass_kg), f"pressure altitude with {words}", mass_kg)


def _cruise(case: Case, fit: Fit) -> Iterator[_Found]:
    """Yield the fastest level flight: at full throttle, and over altitude at the terms' power."""
    kelvin, mass_kg, power = case.terms.isa_deviation.si, _half_way_kg(case), case.terms.power.si
    air = standard_air(case.terms.altitude.si, mass_kg, kelvin)
    high = {"pressure_altitude_m": case.terms.altitude.si}
    full = fit.value_of(lambda m: performance.full_throttle_speed(m, air), "speed", high)
    yield _Found("full_throttle_speed", full, "level at full power at the terms' altitude", mass_kg)
    peak = envelope.peak_altitude(fit.model, power, mass_kg, kelvin)
    words = "cruise at the terms' power, or with the throttle open where it gives less, to 8,000 m"
    at = {"pressure_altitude_m": float(np.ravel(peak.pressure_altitude_m)[0])}
    speed = fit.value_of(lambda _: peak.true_airspeed_m_s, "speed", at)
    yield _Found("peak_speed", speed, words, mass_kg)
    altitude = fit.value_of(lambda _: peak.pressure_altitude_m, at=at)
    yield _Found("peak_altitude", altitude, f"where that speed is highest: {words}", mass_kg)


def _saving(case: Case, fit: Fit) -> Iterator[_Found]:
    """Yield level flight at the terms' altitude on least fuel: by the hour, by distance, by both."""
    mass_kg, density = _half_way_kg(case), case.fuel.density.si
    air = standard_air(case.terms.altitude.si, mass_kg, case.terms.isa_deviation.si)
    slow, far, fast = (
        best(fit.model, air)
        for best in (envelope.endurance_speed, envelope.range_speed, envelope.trade_speed)
    )
    slow_at, far_at, fast_at = (_at(fit, air, best) for best in (slow, far, fast))
    words = "level at the terms' altitude, where fuel flow is least"
    yield _Found("least_fuel_flow", fit.fuel_value(slow.value / density, **slow_at), words, mass_kg)
    yield _Found("endurance_speed", _equivalent(fit, slow, air, slow_at), words, mass_kg)
    words = "level at the terms' altitude in still air, where fuel flow over true airspeed is least"
    yield _Found(
        "most_specific_range", _inverse(fit.fuel_value(far.value / density, **far_at)), words, mass_kg
    )
    yield _Found("range_speed", _equivalent(fit, far, air, far_at), words, mass_kg)
    words = "level at the terms' altitude, where fuel flow over the square of true airspeed is least"
    yield _Found("trade_speed", _equivalent(fit, fast, air, fast_at), words, mass_kg, _CARSON)


def _glide(case: Case, fit: Fit) -> Iterator[_Found]:
    """Yield the best glide, the propeller windmilling."""
    mass_kg = _half_way_kg(case)
    glide = fit.best_glide(mass_kg)
    yield _Found("best_glide_ratio", glide.ratio, "the best lift over drag, propeller windmilling", mass_kg)
    yield _Found("best_glide_speed", glide.equivalent_airspeed, "where that ratio is best", mass_kg)


def _half_way_kg(case: Case) -> float:
    return case.masses_kg(case.loading.mass_kg)[1]


def _at(fit: Fit, air: Air, best: Best) -> dict[str, float]:
    """Return where the evidence is asked: the altitude, and the power of level flight at a best speed."""
    power_w = performance.power_needed(fit.nominal, float(best.true_airspeed_m_s[0]), air)
    share = float(np.ravel(power_w)[0]) / fit.known.rated_power_w
    return {"power_ratio": share, "pressure_altitude_m": float(np.ravel(air.pressure_altitude_m)[0])}


def _equivalent(fit: Fit, best: Best, air: Air, at: Mapping[str, float] | None = None) -> Value:
    """Return a best speed as equivalent airspeed."""
    speed = equivalent_airspeed_at_true(best.true_airspeed_m_s, air.density_kg_m3)
    return fit.value_of(lambda _: np.asarray(speed), at=at)


def _inverse(value: Value) -> Value:
    if value.si is None or value.draws is None:
        return value
    return replace(value, si=1 / value.si, draws=1 / value.draws)


def _figure(case: Case, found: _Found) -> Figure:
    label, unit = BEST[found.quantity]
    value = found.value
    weight = Input("weight", f"{format_number(found.mass_kg, 0)} kg")
    return case.figure(
        f"{found.quantity}?evidence=fitted",
        label,
        unit,
        sample_of(value),
        Method(found.words, found.source),
        (weight, *condition_inputs(case), *value.inputs),
        basis=READINGS["fitted"].basis,
        terms={"evidence": READINGS["fitted"].name},
        missing=value.missing,
        remarks=value.remarks,
        extrapolated=value.extrapolated,
    )
