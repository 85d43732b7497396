"""Range and endurance with a reserve, and payload against range."""

from collections.abc import Mapping, Sequence

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.lifting import people, seats_filled
from flyoff.comparison.profile import WAY, Reach, profile, reach
from flyoff.comparison.reserves import RULES
from flyoff.comparison.results import PayloadRange, ReserveRange, SeatCell
from flyoff.core.figure import Figure, Input, slug
from flyoff.core.typing import Array
from flyoff.core.units import minute
from flyoff.dossier.loading import Loading

DISTANCE = ("nmi", "length")
TIME = ("h", "time")


def range_figures(case: Case) -> list[Figure]:
    """Return range and endurance with the terms' people, with the seats filled, and on full tanks."""
    filled = {"occupants": str(case.airplane.seats)}
    return [
        *occupants_range(case),
        *_loaded_range(case, ("_seats_filled", ", all seats filled"), seats_filled(case), filled),
        *_full_tanks_range(case),
    ]


def occupants_range(case: Case) -> list[Figure]:
    """Return range and endurance with the terms' people."""
    return _loaded_range(case, ("", " with the occupants"), case.loading, {})


def _loaded_range(
    case: Case, names: tuple[str, str], loading: Loading, terms: dict[str, str]
) -> list[Figure]:
    who = (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs())
    # People without a seat cannot be flown anywhere.
    stay = loading.shortfall or case.overweight(loading.mass_kg)
    result = reach(case, profile(case, loading.mass_kg), case.fuel_allowed_kg(loading.mass_kg))
    return _two(case, names, result, who, terms, stay)


def _full_tanks_range(case: Case) -> list[Figure]:
    light = max(float((case.start_kg - case.empty_kg - case.full_fuel_kg)[0]), 0.0)
    result = reach(case, profile(case, light), case.full_fuel_kg)
    terms = {"fuel": "full tanks, whatever can be lifted beside it"}
    return _two(case, ("_full_tanks", ", full tanks"), result, case.full_fuel_inputs(), terms, "")


def _two(
    case: Case,
    names: tuple[str, str],
    result: Reach,
    inputs: tuple[Input, ...],
    terms: dict[str, str],
    stay: str,
) -> list[Figure]:
    """Return the range and the endurance of one loading."""
    suffix, label = names
    every = (*inputs, *result.inputs)
    method = case.read(WAY.format(climb=case.reading.climb))
    samples = (None, None) if stay else (result.range_m, result.endurance_s)
    return [
        case.figure(
            f"{quantity}{suffix}", f"{word}{label}", unit, sample, method, every,
            basis=case.reading.basis, terms=terms, missing=stay or result.missing, remarks=result.remarks,
            extrapolated=result.extrapolated,
        )
        for (quantity, word, unit), sample in zip(
            (("range", "Range", DISTANCE), ("endurance", "Endurance", TIME)), samples, strict=True
        )
    ]  # fmt: skip


def reserve_figures(case: Case) -> tuple[list[Figure], list[ReserveRange]]:
    """Return range and endurance with the terms' people by each published reserve rule."""
    loading = case.loading
    stay = loading.shortfall or case.overweight(loading.mass_kg)
    way = profile(case, loading.mass_kg)
    fuel = case.fuel_allowed_kg(loading.mass_kg)
    who = (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs())
    figures: list[Figure] = []
    rows = []
    for rule in RULES:
        result = reach(case, way, fuel, rule.minutes * minute)
        said: tuple[str, ...] = ()
        if rule.alternate and not way.flown.alternate_m:
            said = ("the rule asks for an alternate where one is required: the terms give none",)
        method = Method(f"{WAY.format(climb=case.reading.climb)}; the rule: fuel {rule.words}", rule.citation)
        samples = (None, None) if stay else (result.range_m, result.endurance_s)
        keys = []
        for (quantity, word, unit), sample in zip(
            (("range", "Range", DISTANCE), ("endurance", "Endurance", TIME)), samples, strict=True
        ):
            figure = case.figure(
                f"{quantity}?reserve={slug(rule.name)}", f"{word}, reserve {rule.name}", unit, sample, method,
                (*who, *result.inputs), basis=case.reading.basis,
                terms={"reserve": f"{rule.minutes} min, {rule.name}"},
                missing=stay or result.missing, remarks=(*said, *result.remarks),
                extrapolated=result.extrapolated,
            )  # fmt: skip
            figures.append(figure)
            keys.append(figure.key)
        rows.append(ReserveRange(case.key, rule.name, rule.minutes, rule.citation, *keys))
    return figures, rows


def payload_range(case: Case, loaded: Sequence[tuple[float, float]] = ()) -> PayloadRange | None:
    """Return the corners of payload against range, or None where range is missing.

    `loaded` are payloads [kg] and ranges [m] of real loadings, balance kept.
    """
    way = profile(case, case.loading.mass_kg)
    if way.missing or way.rates is None:
        return None
    lifted = case.start_kg - float(case.empty_kg[0])
    most = float(case.payload_limit_kg()[0])
    least_fuel = float((way.aside_kg + way.kept_kg(case.terms.reserve.si))[0])
    most_fuel = min(float(case.full_fuel_kg[0]), lifted)
    if most_fuel <= least_fuel:
        return None
    fuels = [(least_fuel, "climb, descent and reserve only"), (most_fuel, "tanks full")]
    if least_fuel < lifted - most < most_fuel:
        fuels.insert(1, (lifted - most, "takeoff weight reached"))
    corners = [((0.0, 0.0, 0.0), min(most, lifted - least_fuel), "most payload")]
    for fuel_kg, name in fuels:
        reached = reach(case, way, case.draws.exact(fuel_kg)).range_m
        corners.append((_band(reached), min(most, lifted - fuel_kg), name))
    corners.append((corners[-1][0], 0.0, "no payload"))
    ranges, payloads, names = zip(*corners, strict=True)
    nominal, low, high = np.array(ranges).T
    balanced = np.array(loaded, dtype=np.float64).reshape(-1, 2)
    return PayloadRange(case.key, nominal, np.array(payloads), names, low, high, balanced)


def loaded(
    case: Case, cells: Sequence[SeatCell], figures: Mapping[str, Figure]
) -> tuple[tuple[float, float], ...]:
    """Return payload [kg] and range [m] of the seat table's loadings that fit."""
    found = []
    for cell in (c for c in cells if c.aircraft == case.key):
        range_m = figures[cell.range].si
        if range_m is not None:
            weight = sum(person.mass_kg for person in people(case, cell.occupants))
            found.append((weight + cell.bags_kg, range_m))
    return tuple(found)


def _band(reached: Array | None) -> tuple[float, float, float]:
    """Return a range and the ends of its 95 % interval; without any flown fuel the draws may have none."""
    if reached is None:
        return (float("nan"),) * 3
    known = reached[np.isfinite(reached)]
    low, high = np.quantile(known, [0.025, 0.975]) if known.size else (np.nan, np.nan)
    return float(reached[0]), float(low), float(high)
