"""What each airplane lifts: useful load, payload, fuel with the occupants, balance."""

import numpy as np

from flyoff.comparison.case import WEIGHT_AND_BALANCE, Case, Method
from flyoff.comparison.results import BalanceTrack
from flyoff.core.figure import Figure, format_number
from flyoff.core.typing import Array
from flyoff.core.units import inch
from flyoff.dossier.airplane import Envelope
from flyoff.dossier.loading import MASS_TOLERANCE_KG, Loading, load
from flyoff.physics import balance

WEIGHT = ("lb", "mass")
VOLUME = ("US gal", "volume")


def lifting_figures(case: Case) -> list[Figure]:
    """Return the figures of weight."""
    return [_useful_load(case), _payload_full_tanks(case), _fuel_with_people(case), _fuel_seats_filled(case)]


def _useful_load(case: Case) -> Figure:
    takeoff = case.airplane.weights.takeoff
    return case.figure(
        "useful_load",
        "Useful load",
        WEIGHT,
        takeoff.si - case.empty_kg,
        Method("maximum takeoff weight less the empty weight, equipped as the terms say", WEIGHT_AND_BALANCE),
        (*case.limit_inputs()[:1], *case.fit.inputs()),
    )


def _payload_full_tanks(case: Case) -> Figure:
    by_takeoff = case.takeoff_kg - case.empty_kg - case.full_fuel_kg
    return case.figure(
        "payload_full_tanks",
        "Payload with full tanks",
        WEIGHT,
        np.minimum(by_takeoff, case.payload_limit_kg()),
        Method(
            "useful load less full usable fuel, no more than the zero fuel limit allows", WEIGHT_AND_BALANCE
        ),
        (*case.limit_inputs(), *case.fit.inputs(), *case.full_fuel_inputs()),
    )


def _fuel_with_people(case: Case) -> Figure:
    sample = case.fuel_allowed_kg(case.loading.mass_kg) / case.fuel.density.si
    return case.figure(
        "fuel_occupants",
        "Fuel with the occupants",
        VOLUME,
        None if case.loading.shortfall else sample,
        Method("takeoff limit less empty weight, people and bags, no more than the tanks hold"),
        (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs()),
        missing=case.loading.shortfall or case.overweight(case.loading.mass_kg),
    )


def seats_filled(case: Case) -> Loading:
    """Return every seat filled at the terms' mean weight, with the terms' bags."""
    mean = sum(o.weight.si for o in case.terms.occupants) / len(case.terms.occupants)
    return load(case.airplane, [mean] * case.airplane.seats, case.terms.bags.si)


def _fuel_seats_filled(case: Case) -> Figure:
    loading = seats_filled(case)
    return case.figure(
        "fuel_seats_filled",
        "Fuel, all seats filled",
        VOLUME,
        None if loading.shortfall else case.fuel_allowed_kg(loading.mass_kg) / case.fuel.density.si,
        Method("as fuel with the people, every seat filled at the terms' mean weight, the terms' bags"),
        (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs()),
        terms={"occupants": str(case.airplane.seats)},
        missing=loading.shortfall or case.overweight(loading.mass_kg),
    )


def balance_tracks(case: Case) -> list[BalanceTrack]:
    """Return the terms' loading through each envelope as its fuel burns."""
    loading = case.loading
    stays = loading.shortfall or case.overweight(loading.mass_kg)
    fuel_kg = float(np.nan_to_num(case.fuel_allowed_kg(loading.mass_kg)[0]))
    mass_kg, arm_m = _track(case, loading, fuel_kg)
    return [_in_envelope(case, envelope, arm_m, mass_kg, stays) for envelope in case.airplane.envelopes]


def _track(case: Case, loading: Loading, fuel_kg: float) -> tuple[Array, Array]:
    """Return weight and arm from zero fuel to takeoff; tanks share the fuel by size."""
    tanks = case.airplane.tanks
    usable = sum(tank.usable.si for tank in tanks)
    fuel_arm_m = sum(tank.usable.si * tank.arm.si for tank in tanks) / usable
    fuel = np.linspace(0.0, fuel_kg, 13)
    mass_kg = float(case.empty_kg[0]) + loading.mass_kg + fuel
    moment = case.fit.empty_moment_kg_m + loading.moment_kg_m + fuel * fuel_arm_m
    return mass_kg, moment / mass_kg


def _in_envelope(case: Case, envelope: Envelope, arm_m: Array, mass_kg: Array, stays: str) -> BalanceTrack:
    edge_arm_m = np.array([point.arm.si for point in envelope.points])
    edge_mass_kg = np.array([point.weight.si for point in envelope.points])
    top_kg = edge_mass_kg.max()
    within = np.where(mass_kg <= top_kg + MASS_TOLERANCE_KG, np.minimum(mass_kg, top_kg), mass_kg)
    forward, aft = (np.asarray(limit) for limit in balance.arm_limits(within, edge_arm_m, edge_mass_kg))
    margin = np.minimum(arm_m - forward, aft - arm_m)
    inside = bool(np.all(margin >= 0))
    states = ("zero fuel", *[""] * (mass_kg.size - 2), "takeoff")
    remark = stays or _balance_words(inside, margin, arm_m - forward < aft - arm_m, states)
    return BalanceTrack(
        case.key,
        envelope.name,
        edge_arm_m,
        edge_mass_kg,
        arm_m,
        mass_kg,
        states,
        inside and not stays,
        remark,
    )


def _balance_words(inside: bool, margin: Array, near_forward: Array, states: tuple[str, ...]) -> str:
    if np.any(np.isnan(margin)):
        return "outside: the weight is off the envelope"
    worst = int(np.argmin(margin))
    limit = "forward" if near_forward[worst] else "aft"
    where = states[worst] or "part way through the fuel"
    size = format_number(abs(float(margin[worst])) / inch, 1)
    if inside:
        return f"inside throughout; nearest the {limit} limit at {where}, {size} in to spare"
    return f"outside: {size} in beyond the {limit} limit at {where}"
