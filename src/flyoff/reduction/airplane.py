"""What takes a flight to standard conditions: the flight file's word on the airplane, else the dossier's."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import hour, hp, lb
from flyoff.dossier.read import Dossier
from flyoff.dossier.tables import Table
from flyoff.flights.read import Flight
from flyoff.reduction.statistics import Estimate

SPAN_EFFICIENCY = Estimate(0.75, 0.07)
"""Span efficiency where no glides show it; common practice, no source."""
SPARK_CONSUMPTION = Estimate(0.45 * lb / hp / hour, 0.05 / 3**0.5 * lb / hp / hour)
"""0.4 to 0.5 lb/hp/h, rectangular (T. R. Yechout, Introduction to Aircraft Flight Mechanics, ch. 2)."""
GIVEN_CONSUMPTION_U = 0.03
"""Relative, of a consumption given without one; common practice, no source."""
MASS_U = 0.005
"""Relative, of a weight by the loading and the fuel burned; common practice, no source."""


@dataclass(frozen=True)
class Correction:
    """One step to standard conditions: what it was, what it became (SI), the unit to show it in."""

    name: str
    start: float
    end: float
    unit: str
    source: str


@dataclass(frozen=True)
class Airplane:
    """Geometry, engine and standard weight, SI; None where nobody says."""

    standard_mass_kg: float | None = None
    wing_area_m2: float | None = None
    span_m: float | None = None
    rated_power_w: float | None = None
    rated_speed_hz: float | None = None
    consumption_kg_j: Estimate | None = None
    consumption_basis: str = ""
    is_throttled: bool = True
    fuel_density_kg_m3: float | None = None
    mixture: str = ""
    forward_limit_m: float | None = None
    tail_arm_m: float | None = None
    altitudes_m: Array = field(default_factory=lambda: np.zeros(0))
    tables: Mapping[str, Table] = field(default_factory=dict)


def airplane_of(flight: Flight, dossier: Dossier | None = None) -> Airplane:
    """Return what is known of a flight's airplane.

    `is_throttled` tells spark ignition without a turbocharger.
    """
    own = flight.card.airplane
    plane = dossier.airplane if dossier else None
    weights, airframe = (plane.weights, plane.airframe) if plane else (None, None)
    engine = plane.engine if plane else None
    tables = dossier.tables if dossier else {}
    cruise = tables.get("cruise")
    altitude = cruise.axis("pressure altitude") if cruise else None
    consumption, basis = _consumption(own.specific_consumption, dossier)
    density = flight.card.loading.fuel_density
    return Airplane(
        _si(
            own.standard_weight,
            cruise.record.weight if cruise else None,
            weights.takeoff if weights else None,
        ),
        _si(own.wing_area, airframe.wing_area if airframe else None),
        _si(own.span, airframe.span if airframe else None),
        _si(own.rated_power, engine.rated_power if engine else None),
        _si(own.rated_speed, engine.rated_speed if engine else None),
        consumption,
        basis,
        engine is None or (engine.aspiration == "normal" and engine.ignition == "spark"),
        None if density is None else density.si,
        own.mixture or "",
        _si(own.forward_limit),
        _si(own.tail_arm),
        np.zeros(0) if altitude is None else altitude.si,
        tables,
    )


def _si(*given: Quantity | None) -> float | None:
    return next((quantity.si for quantity in given if quantity is not None), None)


def _consumption(own: Quantity | None, dossier: Dossier | None) -> tuple[Estimate | None, str]:
    engine = dossier.airplane.engine if dossier else None
    for given, basis in (
        (own, "flight file"),
        (engine.specific_consumption if engine else None, "dossier"),
    ):
        if given is not None:
            u = given.si * GIVEN_CONSUMPTION_U if given.u95_si is None else given.u95_si / COVERAGE_95
            return Estimate(given.si, u), basis
    if engine is not None and engine.ignition != "spark":
        return None, ""
    return SPARK_CONSUMPTION, "assumed, 0.4 to 0.5 lb/hp/h"
