"""Flown conditions set beside the handbook at the same condition."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import Draws
from flyoff.core.figure import Input
from flyoff.core.typing import Array
from flyoff.model.handbook import Handbook, Value, sample_of
from flyoff.physics import atmosphere


@dataclass(frozen=True)
class FlownCondition:
    """A level condition as reduced, SI; each `u95` is the half-width of a 95 % interval."""

    flight: str
    number: int
    pressure_altitude_m: float
    temperature_k: float
    true_airspeed_m_s: float
    u95_true_airspeed_m_s: float
    fuel_flow_m3_s: float
    u95_fuel_flow_m3_s: float
    input: Input
    mass_kg: float | None = None
    remarks: tuple[str, ...] = ()
    extrapolated: bool = False
    draws: Array | None = None
    """Draws of the true airspeed that share the flight's calibration with its other conditions."""


@dataclass(frozen=True)
class BookPoint:
    """A flown condition and the handbook's speed at its altitude, temperature and fuel flow, as samples."""

    condition: FlownCondition
    flown_m_s: Array
    handbook_m_s: Array | None
    inputs: tuple[Input, ...]
    missing: str
    remarks: tuple[str, ...] = ()


def beside_handbook(
    handbook: Handbook, conditions: Sequence[FlownCondition], mass_kg: float, draws: Draws
) -> tuple[BookPoint, ...]:
    """Return each flown condition beside the handbook at the same fuel flow."""
    return tuple(_beside(handbook, condition, mass_kg, draws) for condition in conditions)


def _beside(handbook: Handbook, condition: FlownCondition, mass_kg: float, draws: Draws) -> BookPoint:
    name = f"{condition.flight}#{condition.number}"
    flown_at_kg = condition.mass_kg or mass_kg
    deviation_k = float(
        atmosphere.temperature_deviation(condition.pressure_altitude_m, condition.temperature_k)
    )
    flown = draws.about(f"{name}#speed", condition.true_airspeed_m_s, condition.u95_true_airspeed_m_s)
    if condition.draws is not None:
        flown = np.concatenate([[condition.true_airspeed_m_s], condition.draws])

    def printed(fuel_flow_m3_s: float) -> Value:
        flow_kg_s = fuel_flow_m3_s * handbook.fuel_density_kg_m3
        return handbook.speed_at_fuel_flow(flow_kg_s, condition.pressure_altitude_m, deviation_k, flown_at_kg)

    value = printed(condition.fuel_flow_m3_s)
    sample = sample_of(value)
    if sample is not None:
        # The doubt of the fuel flow moves the speed that the handbook is asked for.
        slope = _slope(printed, condition)
        flow = draws.about(f"{name}#flow", 0.0, condition.u95_fuel_flow_m3_s)
        sample = sample + slope * flow
    return BookPoint(
        condition,
        flown,
        sample,
        (condition.input, *value.inputs),
        value.missing,
        (*value.remarks, *condition.remarks),
    )


def _slope(printed: Callable[[float], Value], condition: FlownCondition) -> float:
    step = max(condition.u95_fuel_flow_m3_s, 0.005 * condition.fuel_flow_m3_s)
    centre = printed(condition.fuel_flow_m3_s).si
    for change in (step, -step):
        aside = printed(condition.fuel_flow_m3_s + change).si
        if aside is not None and centre is not None:
            return (aside - centre) / change
    return 0.0
