"""What each airplane lifts: useful load, payload, fuel with the occupants, balance."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import WEIGHT_AND_BALANCE, Case, Method
from flyoff.comparison.cruise import cruise_sample
from flyoff.comparison.fits import Placement, most_fuel
from flyoff.comparison.results import BalanceTrack
from flyoff.comparison.through_flight import (
    Ready,
    Way,
    corners,
    empty_outside,
    fuel_by_weight_kg,
    most_fuel_kg,
    track,
)
from flyoff.core.figure import Figure, Input, format_number
from flyoff.core.typing import Array
from flyoff.core.units import inch
from flyoff.dossier.airplane import Envelope
from flyoff.dossier.loading import MASS_TOLERANCE_KG, Loading, Person, load
from flyoff.physics import balance

WEIGHT = ("lb", "mass")
VOLUME = ("US gal", "volume")
WITHIN_LIMITS = Method(
    "the most fuel at start that ramp, takeoff, landing, zero fuel, station and tank limits and an envelope "
    "from takeoff to empty tanks allow, people seated and bags stowed to that end",
    WEIGHT_AND_BALANCE,
)


def ready(case: Case) -> Ready:
    """Return a case ready to be loaded: empty as compared, with its taxi fuel and reserve set aside."""
    return Ready(
        case.airplane,
        float(case.empty_kg[0]),
        case.fit.empty_moment_kg_m,
        case.fuel.density.si,
        float(case.taxi_kg[0]),
        float(np.nan_to_num(_reserve_kg(case)[0])),
    )


def _reserve_kg(case: Case) -> Array:
    """Return the terms' reserve at the cruise fuel flow, a sample; NaN where that is missing."""
    cruise = cruise_sample(case, case.terms.altitude.si, case.masses_kg(case.loading.mass_kg)[1])
    flow = cruise.fuel_flow_kg_s
    return case.draws.exact(np.nan) if flow is None else case.terms.reserve.si * flow


def people(case: Case, count: int) -> tuple[Person, ...]:
    """Return the first of the terms' people, then others of their mean weight."""
    named = [Person(o.name, o.weight.si) for o in case.terms.occupants[:count]]
    mean_kg = sum(o.weight.si for o in case.terms.occupants) / len(case.terms.occupants)
    return (*named, *(Person(f"person {n + 1}", mean_kg) for n in range(len(named), count)))


@dataclass(frozen=True)
class Fitted:
    """The most fuel at start that some people and bags leave room for, a sample; or why there is none."""

    placement: Placement | None
    fuel_kg: Array | None
    missing: str = ""


def most_fuel_sample(case: Case, of: Ready, aboard: Sequence[Person], bags_kg: float) -> Fitted:
    """Return the most fuel beside some people and bags, seated and stowed so that balance holds."""
    envelopes = case.airplane.envelopes
    found = [(most_fuel(of, envelope, aboard, bags_kg), envelope) for envelope in envelopes]
    fits = [(placement, envelope) for placement, envelope in found if placement is not None]
    if not fits:
        return Fitted(None, None, _why_not(case, of, aboard, bags_kg))
    placement, envelope = max(fits, key=lambda pair: pair[0].fuel_kg)
    fuel_kg = most_fuel_kg(of, placement.loading(of), envelope, case.empty_kg)
    return Fitted(placement, np.minimum(fuel_kg, case.full_fuel_kg))


def _why_not(case: Case, of: Ready, aboard: Sequence[Person], bags_kg: float) -> str:
    """Return in words why some people and bags leave room for no fuel."""
    loading = load(case.airplane, [person.mass_kg for person in aboard], bags_kg)
    if loading.shortfall:
        return loading.shortfall
    if of.capacity_kg < of.taxi_kg + of.reserve_kg:
        return "the tanks hold less than taxi and reserve need"
    over = case.overweight(loading.mass_kg)
    if over or np.isfinite(fuel_by_weight_kg(of, loading, case.empty_kg[:1])[0]):
        return over or "; ".join(("no seating and stowing keeps the balance", *empty_outside(of)))
    return "people and bags leave no weight for the fuel of taxi and reserve"


def lifting_figures(case: Case, of: Ready) -> list[Figure]:
    """Return the figures of weight."""
    return [
        _useful_load(case),
        _payload_full_tanks(case),
        _fuel_with_people(case),
        _fuel_within_limits(case, of),
        _fuel_seats_filled(case),
        _landing_weight_margin(case),
    ]


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
        Method(
            "takeoff limit, and what taxi burns up to the ramp limit, less empty weight, people and bags; "
            "no more than the tanks hold"
        ),
        (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs()),
        missing=case.loading.shortfall or case.overweight(case.loading.mass_kg),
    )


def _fuel_within_limits(case: Case, of: Ready) -> Figure:
    fitted = most_fuel_sample(case, of, people(case, len(case.terms.occupants)), case.terms.bags.si)
    stop = fitted.placement.binding if fitted.placement else ()
    return case.figure(
        "fuel_within_limits",
        "Fuel that fits with the occupants",
        VOLUME,
        None if fitted.fuel_kg is None else fitted.fuel_kg / case.fuel.density.si,
        WITHIN_LIMITS,
        (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs()),
        missing=fitted.missing,
        remarks=(f"stopped by {' and '.join(stop)}",) if stop else (),
    )


def _landing_weight_margin(case: Case) -> Figure:
    weights = case.airplane.weights
    limit = weights.landing or weights.takeoff
    reserve, terms = _reserve_kg(case), case.terms.reserve
    margin = limit.si - case.empty_kg - case.loading.mass_kg - reserve
    own = () if weights.landing else ("no landing weight of its own is published: the takeoff weight holds",)
    missing = "" if np.isfinite(reserve[0]) else "the fuel flow that the reserve is counted by is missing"
    return case.figure(
        "landing_weight_margin",
        "Landing weight to spare",
        WEIGHT,
        None if case.loading.shortfall or missing else margin,
        Method("landing limit less empty weight, people, bags and the reserve's fuel", WEIGHT_AND_BALANCE),
        (
            Input("maximum landing weight", str(limit), limit.place, limit.source),
            *case.fit.inputs(),
            *case.people_inputs(),
            Input("reserve", str(terms), terms.place, terms.source),
        ),
        basis=case.reading.basis,
        missing=case.loading.shortfall or missing,
        remarks=own,
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


def balance_tracks(case: Case, of: Ready) -> list[BalanceTrack]:
    """Return the terms' loading through each envelope as its fuel burns."""
    loading = case.loading
    stays = loading.shortfall or case.overweight(loading.mass_kg)
    fuel_kg = float(np.nan_to_num(case.fuel_allowed_kg(loading.mass_kg)[0]))
    way = track(of, loading, fuel_kg)
    return [_in_envelope(case, envelope, way, stays) for envelope in case.airplane.envelopes]


def _in_envelope(case: Case, envelope: Envelope, way: Way, stays: str) -> BalanceTrack:
    edge_arm_m, edge_mass_kg = corners(envelope)
    # From zero fuel up, as a loading is read.
    arm_m, mass_kg, states = way.arm_m[::-1], way.mass_kg[::-1], way.names[::-1]
    top_kg = edge_mass_kg.max()
    within = np.where(mass_kg <= top_kg + MASS_TOLERANCE_KG, np.minimum(mass_kg, top_kg), mass_kg)
    forward, aft = (np.asarray(limit) for limit in balance.arm_limits(within, edge_arm_m, edge_mass_kg))
    margin = np.minimum(arm_m - forward, aft - arm_m)
    inside = bool(np.all(margin >= 0))
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
