"""Cruise: true airspeed, fuel flow and distance per fuel at the terms' power, and over altitude."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.results import SpeedCurve
from flyoff.core.figure import Figure, Input, format_number
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.model.handbook import sample_of

SPEED = ("kt", "speed")
FLOW = ("US gal/h", "volume_flow")
DISTANCE_PER_FUEL = ("nmi/US gal", "distance_per_volume")
_OPTIONS = "the speed effects of the options that equal terms add or remove are summed"


@dataclass(frozen=True)
class CruiseSample:
    """Cruise of one airplane as samples: true airspeed [m/s], fuel flow [kg/s]; None where missing."""

    true_airspeed_m_s: Array | None
    fuel_flow_kg_s: Array | None
    speed_inputs: tuple[Input, ...]
    flow_inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool


def cruise_sample(
    case: Case,
    altitude_m: float,
    mass_kg: float,
    *,
    power: Quantity | None = None,
    deviation_k: float | None = None,
    mixture: str = "",
) -> CruiseSample:
    """Return cruise at a pressure altitude and a weight, with the options' effects.

    At the terms' power and temperature, and the evidence's mixture, where no others are given.
    """
    terms = case.terms
    power = power or terms.power
    off_k = terms.isa_deviation.si if deviation_k is None else deviation_k
    leaned = {"mixture": mixture} if mixture else {}
    cruise = case.evidence.cruise(power.si, altitude_m, off_k, mass_kg, **leaned)
    speed, flow = sample_of(cruise.true_airspeed), sample_of(cruise.fuel_flow)
    inputs = cruise.true_airspeed.inputs
    for sign, options in ((1, case.fit.added), (-1, case.fit.removed)):
        for option in (o for o in options if o.speed):
            assert option.speed is not None
            effect = option.speed
            inputs = (
                *inputs,
                Input(f"{'+' if sign > 0 else '−'} {option.name}", str(effect), effect.place, effect.source),
            )
            speed = speed if speed is None else speed + sign * case.sample(effect)
    return CruiseSample(
        speed,
        flow,
        (*inputs, *condition_inputs(case)),
        (*cruise.fuel_flow.inputs, *condition_inputs(case)),
        tuple(dict.fromkeys(cruise.true_airspeed.remarks + cruise.fuel_flow.remarks)),
        cruise.true_airspeed.missing or cruise.fuel_flow.missing,
        cruise.true_airspeed.extrapolated or cruise.fuel_flow.extrapolated,
    )


def condition_inputs(case: Case) -> tuple[Input, ...]:
    """Return the terms that fix the condition of cruise."""
    terms = case.terms
    named = (
        ("cruise power", terms.power),
        ("pressure altitude", terms.altitude),
        ("ISA deviation", terms.isa_deviation),
    )
    return tuple(Input(label, str(q), q.place, q.source) for label, q in named)


def cruise_figures(case: Case) -> list[Figure]:
    """Return cruise at the terms' altitude, then its speed and flow at each altitude to draw."""
    figures = cruise_at(case, case.terms.altitude.si, {})
    for altitude in case.terms.altitudes:
        label = f"{format_number(altitude.si / ft, 0).replace(',', '')}ft"
        figures += [
            replace(figure, key=f"{figure.key}?altitude={label}")
            for figure in cruise_at(case, altitude.si, {"altitude": str(altitude)})
        ]
    return figures


def cruise_at(case: Case, altitude_m: float, terms: Mapping[str, str]) -> list[Figure]:
    """Return speed, fuel flow and distance per fuel at the terms' power and one altitude."""
    cruise = cruise_sample(case, altitude_m, case.masses_kg(case.loading.mass_kg)[1])
    density = case.fuel.density
    by_density = Input(f"density of {case.fuel.kind}", str(density), density.place, density.source)
    speed, flow = cruise.true_airspeed_m_s, cruise.fuel_flow_kg_s
    volume_flow = None if flow is None else flow / density.si
    per_fuel = None if speed is None or volume_flow is None else speed / volume_flow
    every = tuple(dict.fromkeys((*cruise.speed_inputs, *cruise.flow_inputs, by_density)))
    read = case.reading.cruise
    parts = (
        ("cruise_speed", "Cruise true airspeed", SPEED, speed,
         case.read(f"{read}; {_OPTIONS}"), cruise.speed_inputs),
        ("cruise_fuel_flow", "Cruise fuel flow", FLOW, volume_flow,
         case.read(read), (*cruise.flow_inputs, by_density)),
        ("specific_range", "Specific range", DISTANCE_PER_FUEL, per_fuel,
         Method("cruise true airspeed over cruise fuel flow, in still air"), every),
    )  # fmt: skip
    return [
        case.figure(
            *part,
            basis=case.reading.basis,
            terms=terms,
            missing=cruise.missing,
            remarks=cruise.remarks,
            extrapolated=cruise.extrapolated,
        )
        for part in parts
    ]


def speed_curve(case: Case) -> SpeedCurve:
    """Return cruise speed with its 95 % band and fuel flow over the altitudes of the terms."""
    altitudes_m = np.array([altitude.si for altitude in case.terms.altitudes])
    mass_kg = case.masses_kg(case.loading.mass_kg)[1]
    rows: list[tuple[float, ...]] = []
    beyond = []
    for altitude_m in altitudes_m:
        cruise = cruise_sample(case, float(altitude_m), mass_kg)
        speed, flow = cruise.true_airspeed_m_s, cruise.fuel_flow_kg_s
        if speed is None or flow is None:
            rows.append((np.nan,) * 4)
        else:
            low, high = np.quantile(speed[1:], [0.025, 0.975])
            rows.append((float(speed[0]), float(low), float(high), float(flow[0])))
        beyond.append(cruise.extrapolated)
    true, lows, highs, flows = np.array(rows, dtype=np.float64).reshape(-1, 4).T
    return SpeedCurve(case.key, altitudes_m, true, lows, highs, flows, tuple(beyond))
