"""The mass of the airplane through a flight: the ramp mass less the fuel burned since the log began."""

import numpy as np

from flyoff.core.typing import Array
from flyoff.flights.log import Log
from flyoff.flights.read import Flight


def mass_at(flight: Flight, time_s: float, ramp_mass_kg: float | None) -> float | None:
    """Return the mass at a time; None where the ramp mass or the fuel flow is not known."""
    if ramp_mass_kg is None:
        return None
    density = flight.card.loading.fuel_density
    for log in flight.logs:
        by_mass, by_volume = log.get("fuel_mass_flow"), log.get("fuel_flow")
        if by_mass is None and by_volume is not None and density is not None:
            by_mass = by_volume * density.si
        if by_mass is not None:
            return ramp_mass_kg - _burned(log, by_mass, time_s)
    return None


def _burned(log: Log, flow: Array, until_s: float) -> float:
    """Integrate a flow over the clock, across short gaps with the flow at their ends."""
    known = ~np.isnan(flow) & (log.time_s <= until_s)
    time_s, flow = log.time_s[known], flow[known]
    return float(np.trapezoid(flow, time_s)) if len(time_s) > 1 else 0.0
