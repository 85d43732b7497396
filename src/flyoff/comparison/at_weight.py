"""The weights at which the runway and the climb are asked for: the terms' people, bags and fuel aboard."""

from typing import Literal, TypeAlias

import numpy as np

from flyoff.comparison.case import WEIGHT_AND_BALANCE, Case, Method
from flyoff.core.figure import Figure, Input

Kind: TypeAlias = Literal["takeoff", "landing"]
_METHODS: dict[Kind, Method] = {
    "takeoff": Method(
        "empty weight, the terms' people and bags, and all the fuel that fits beside them within the ramp and"
        " takeoff limits, less taxi fuel",
        WEIGHT_AND_BALANCE,
    ),
    "landing": Method("as at takeoff, no more than the landing limit", WEIGHT_AND_BALANCE),
}


def nominal_kg(case: Case, kind: Kind = "takeoff") -> float:
    """Return the weight at takeoff, or the heaviest that may land after it."""
    takeoff_kg = case.masses_kg(case.loading.mass_kg)[0]
    limit = case.airplane.weights.landing
    return min(takeoff_kg, limit.si) if kind == "landing" and limit is not None else takeoff_kg


def weight_figure(case: Case, kind: Kind = "takeoff") -> Figure:
    """Return that weight as a figure; missing where the people and bags cannot be loaded."""
    payload_kg, weights = case.loading.mass_kg, case.airplane.weights
    missing = case.loading.shortfall or case.overweight(payload_kg)
    sample = case.empty_kg + payload_kg + case.takeoff_fuel_kg(payload_kg)
    inputs = (
        *case.limit_inputs(),
        *case.fit.inputs(),
        *case.people_inputs(),
        *case.full_fuel_inputs(),
        *case.taxi_inputs(),
    )
    if kind == "landing" and weights.landing is not None:
        sample = np.minimum(sample, weights.landing.si)
        landing = Input(
            "maximum landing weight", str(weights.landing), weights.landing.place, weights.landing.source
        )
        inputs = (landing, *inputs)
    return case.figure(
        f"{kind}_weight",
        f"Weight at {kind}",
        ("lb", "mass"),
        None if missing else sample,
        _METHODS[kind],
        inputs,
        missing=missing,
    )
