"""Carbon dioxide of what each airplane burns: an hour, and each trip and seat of it."""

from collections.abc import Mapping

import numpy as np

from flyoff.comparison.case import Case, Method, counted
from flyoff.core.figure import Figure, Input
from flyoff.core.typing import Array
from flyoff.dossier.airplane import FuelKind

ICAO = "ICAO Annex 16, Volume IV (2018), fuel conversion factors"
IPCC = "2006 IPCC Guidelines for National Greenhouse Gas Inventories, Volume 2, tables 1.2 and 1.4"
CO2_PER_FUEL_KG: Mapping[FuelKind, tuple[float, str]] = {
    "avgas": (3.10, ICAO),
    "jet-a1": (3.16, ICAO),
    "mogas": (3.07, IPCC),
    "diesel": (3.19, IPCC),
}
"""Carbon dioxide of one kilogram burnt, and its source; burning alone, not what making the fuel gave off."""


def emission_figures(case: Case, burnt: Mapping[str, Figure]) -> list[Figure]:
    """Return carbon dioxide from figures of fuel: `burnt` by the name of what burns it.

    A flow of fuel gives a flow of gas, a volume a weight; a trip's is shared among the seats too.
    """
    factor, source = CO2_PER_FUEL_KG[case.fuel.kind]
    density = case.fuel.density
    by_density = Input(f"density of {case.fuel.kind}", str(density), density.place, density.source)
    by_factor = Input(f"CO2 of one kg of {case.fuel.kind}", f"{factor:.2f} kg", source=source)
    figures = []
    for name, fuel in burnt.items():
        inputs = (Input(fuel.label, str(fuel), figure=fuel.key), by_density, by_factor)
        sample = _sample(case, fuel, factor * density.si)
        for key, what, unit, seats in _asked(case, name, fuel):
            figures.append(
                case.figure(
                    key,
                    what,
                    unit,
                    None if sample is None else sample / seats,
                    Method("fuel burnt, times its density, times what one kg gives off", source),
                    inputs if seats == 1 else (*inputs, counted(case, "seats", seats)),
                    basis=fuel.basis,
                    terms=fuel.terms,
                    missing=fuel.missing,
                    extrapolated=fuel.extrapolated,
                )
            )
    return figures


def _asked(case: Case, name: str, fuel: Figure) -> list[tuple[str, str, tuple[str, str], int]]:
    """Return what is asked of some fuel: key, label, unit, and among how many seats it is shared."""
    if fuel.dimension == "volume_flow":
        return [("co2_per_hour", "Carbon dioxide, an hour of cruise", ("kg/h", "mass_flow"), 1)]
    label, unit = f"{fuel.label.rpartition(':')[0]}: carbon dioxide", ("kg", "mass")
    seats = case.airplane.seats
    return [(f"{name}.co2", label, unit, 1), (f"{name}.co2_per_seat", f"{label}, a seat", unit, seats)]


def _sample(case: Case, fuel: Figure, kg_per_m3: float) -> Array | None:
    if fuel.si is None:
        return None
    draws = np.full(case.draws.count, fuel.si) if fuel.draws is None else fuel.draws
    return kg_per_m3 * np.concatenate([[fuel.si], draws])
