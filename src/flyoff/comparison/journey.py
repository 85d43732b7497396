"""All of one airplane's flying: its trips, its ranges by rule, its speeds over altitude and power."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flyoff.comparison.aloft import Level
from flyoff.comparison.case import Case
from flyoff.comparison.crossover import Curve, best_figures, curve_of, power_figures, speed_crossings
from flyoff.comparison.cruise import speed_curve
from flyoff.comparison.payload_range import loaded, payload_range, reserve_figures
from flyoff.comparison.places import Spot, most_used
from flyoff.comparison.range_ring import range_ring
from flyoff.comparison.results import (
    Comparison,
    Crossing,
    PayloadRange,
    PowerCell,
    RangeRing,
    ReserveRange,
    SeatCell,
    SpeedCurve,
    TripLeg,
)
from flyoff.comparison.terms import Trip
from flyoff.comparison.through_flight import Ready
from flyoff.comparison.trip import trips_figures
from flyoff.core.figure import Figure

Routes = Sequence[tuple[Trip, Spot, Spot]]


@dataclass(frozen=True)
class Journey:
    """What comes of an airplane's flying."""

    figures: list[Figure]
    legs: list[TripLeg]
    reserves: list[ReserveRange]
    powers: list[PowerCell]
    curve: Curve | None
    ring: RangeRing | None
    speeds: SpeedCurve | None
    payloads: PayloadRange | None


def journey(
    case: Case, of: Ready, routes: Routes, seated: Sequence[Figure], cells: Sequence[SeatCell]
) -> Journey:
    """Return an airplane's flying under its terms; figures and cells of its seat table are given."""
    figures, legs = trips_figures(case, of, routes)
    by_rule, reserves = reserve_figures(case)
    at_powers, powers = power_figures(case)
    figures += [*by_rule, *at_powers]
    curve = ring = speeds = None
    if case.terms.altitudes:
        curve, speeds = curve_of(case), speed_curve(case)
        figures += best_figures(curve)
    if places := most_used(routes):
        ring = range_ring(case, places[0], ring_levels(case, routes))
    payloads = payload_range(case, loaded(case, cells, {figure.key: figure for figure in seated}))
    return Journey(figures, legs, reserves, powers, curve, ring, speeds, payloads)


def ring_levels(case: Case, routes: Routes) -> Sequence[Level]:
    """Return the wind aloft that a map is drawn in: that of the first trip that names one."""
    named = next((trip.aloft for trip, _, _ in routes if trip.aloft), None)
    return case.terms.aloft[named].levels if named else ()


def crossings(gone: Sequence[Journey]) -> tuple[list[Figure], list[Crossing]]:
    """Return where one airplane overtakes another, pair by pair."""
    return speed_crossings([one.curve for one in gone if one.curve])


def with_journeys(
    whole: Comparison, gone: Sequence[Journey], crossing: Sequence[Crossing], routes: Routes
) -> Comparison:
    """Return a comparison with all airplanes' flying in it."""
    return replace(
        whole,
        speed_curves=tuple(one.speeds for one in gone if one.speeds),
        payload_ranges=tuple(one.payloads for one in gone if one.payloads),
        trip_legs=tuple(leg for one in gone for leg in one.legs),
        reserves=tuple(row for one in gone for row in one.reserves),
        crossings=tuple(crossing),
        powers=tuple(cell for one in gone for cell in one.powers),
        rings=tuple(one.ring for one in gone if one.ring),
        places=most_used(routes),
    )
