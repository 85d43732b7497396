"""The comparison: every airplane under the same terms, and the differences between them."""

import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from flyoff.comparison.best_speeds import best_speed_figures
from flyoff.comparison.case import Case, counts_taxi_fuel
from flyoff.comparison.cost import cost_figures
from flyoff.comparison.cruise import cruise_figures
from flyoff.comparison.emissions import emission_figures
from flyoff.comparison.evidence import READINGS, Silent
from flyoff.comparison.flown import flown_figures
from flyoff.comparison.headlines import headline_figures
from flyoff.comparison.inspection import Inspected, Inspection, inspect
from flyoff.comparison.inspection_rows import inspection_rows
from flyoff.comparison.journey import Journey, Routes, crossings, journey, with_journeys
from flyoff.comparison.lifting import balance_tracks, lifting_figures, ready
from flyoff.comparison.ownership import ROWS as OWNERSHIP_ROWS
from flyoff.comparison.ownership import ownership_figures
from flyoff.comparison.payload_range import range_figures
from flyoff.comparison.places import Spot
from flyoff.comparison.results import (
    Comparison,
    Entry,
    FlownPoint,
    Headline,
    OptionCost,
    Row,
    SeatCell,
    Swing,
    difference_key,
)
from flyoff.comparison.seat_table import option_lifting, seat_figures
from flyoff.comparison.terms import MoneyTerms, Terms, Trip
from flyoff.comparison.through_flight import Ready, empty_outside
from flyoff.core.figure import AGAINST, Figure, difference, slug
from flyoff.model.checks import handbook_faults
from flyoff.model.doubts import table_doubts
from flyoff.model.statement import Book

ROWS = (
    Row("useful_load", "Useful load", "Lifting", "more"),
    Row("payload_full_tanks", "Payload with full tanks", "Lifting", "more"),
    Row("fuel_occupants", "Fuel with the occupants", "Lifting", "more", of_fuel=True),
    Row("fuel_seats_filled", "Fuel, all seats filled", "Lifting", "more", of_fuel=True),
    Row("endurance_seats_filled", "Endurance, all seats filled", "Lifting", "more"),
    Row("landing_weight_margin", "Landing weight to spare", "Lifting", "more"),
    Row("cruise_speed", "Cruise true airspeed", "Cruise", "more"),
    Row("cruise_fuel_flow", "Cruise fuel flow", "Cruise", "less", of_fuel=True),
    Row("specific_range", "Specific range", "Cruise", "more", of_fuel=True),
    Row("range", "Range with the occupants", "Range", "more"),
    Row("endurance", "Endurance with the occupants", "Range", "more"),
    Row("range_full_tanks", "Range, full tanks", "Range", "more"),
    Row("endurance_full_tanks", "Endurance, full tanks", "Range", "more"),
    Row("price_as_compared", "Price as compared", "Money", "less"),
)
_BURNS = re.compile(r"trip\.[^.]+\.fuel|cruise_fuel_flow")


def compare(
    heading: tuple[str, str, str],
    terms: Terms,
    money: MoneyTerms,
    trips: Sequence[tuple[Trip, Spot, Spot]],
    cases: Sequence[Case],
    books: Mapping[str, Book],
    inspected: Inspected,
) -> Comparison:
    """Return the comparison of some cases; `heading` is title, author and summary.

    `books` holds, by airplane, the flown conditions beside the handbook; `inspected` the runways,
    and what was noted on the flights.
    """
    figures: list[Figure] = []
    gone: list[Journey] = []
    options: list[OptionCost] = []
    headlines: list[Headline] = []
    seats: list[SeatCell] = []
    swings: list[Swing] = []
    inspections: list[Inspection] = []
    beside = {case.key: flown_figures(case, books.get(case.key, Book())) for case in cases}
    for case in cases:
        of = ready(case)
        seated, cells = seat_figures(case, of)
        figures += [*lifting_figures(case, of), *cruise_figures(case), *range_figures(case), *seated]
        seats += cells
        gone.append(journey(case, of, trips, seated, cells))
        figures += gone[-1].figures
        paid, spent, swung = _money(case, of, figures)
        options += spent
        swings += swung
        grounded, inspection = inspect(case, inspected)
        inspections.append(inspection)
        on_each, told = headline_figures(case)
        headlines += told
        figures += [*paid, *on_each, *best_speed_figures(case), *beside[case.key].figures, *grounded]
    crossed, crossing = crossings(gone)
    rows = (
        *rows_asked(terms, trips, owned=any(c.ownership for c in cases)),
        *inspection_rows(inspected.fields),
    )
    by_key = _with_differences([*figures, *crossed], cases, rows)
    whole = Comparison(
        *heading,
        terms,
        money,
        tuple(trip for trip, _, _ in trips),
        tuple(_entry(case, beside[case.key].points) for case in cases),
        rows,
        by_key,
        balances=tuple(track for case in cases for track in balance_tracks(case, ready(case))),
        flown=tuple(point for found in beside.values() for point in found.points),
        book=tuple(verdict for found in beside.values() for verdict in found.verdicts),
        options=tuple(options),
        headlines=tuple(headlines),
        seats=tuple(seats),
        swings=tuple(swings),
        ownership=cases[0].ownership if cases else None,
        remarks=_remarks(cases),
        inspections=tuple(inspections),
    )
    return with_journeys(whole, gone, crossing, trips)


def _with_differences(
    figures: Sequence[Figure], cases: Sequence[Case], rows: Sequence[Row]
) -> dict[str, Figure]:
    """Return figures by key, and with them each row's differences between airplanes."""
    by_key = {figure.key: figure for figure in figures}
    assert len(by_key) == len(figures), "two figures of one key"
    return by_key | {figure.key: figure for figure in _differences(by_key, cases, rows)}


def _money(
    case: Case, of: Ready, figures: Sequence[Figure]
) -> tuple[list[Figure], list[OptionCost], list[Swing]]:
    """Return what an airplane costs and gives off, what each option costs, what moves the cost of an hour.

    `figures` hold the fuel that it burns.
    """
    costs, priced = cost_figures(case)
    lifted, spent = option_lifting(case, of, priced)
    owned, swings = ownership_figures(case)
    return [*costs, *lifted, *owned, *emission_figures(case, _burnt(case, figures))], spent, swings


def _burnt(case: Case, figures: Iterable[Figure]) -> dict[str, Figure]:
    """Return an airplane's figures of fuel burnt, by what burns it."""
    own = (
        (figure.key.partition(".")[2], figure) for figure in figures if figure.key.startswith(f"{case.key}.")
    )
    return {name.removesuffix(".fuel"): figure for name, figure in own if _BURNS.fullmatch(name)}


def rows_asked(terms: Terms, trips: Routes, *, owned: bool) -> tuple[Row, ...]:
    """Return the rows of the comparison table; those of ownership where the study declares what it costs."""
    return (
        *ROWS,
        *(OWNERSHIP_ROWS if owned else ()),
        *_best_rows(terms),
        *_trip_rows(terms, [trip for trip, _, _ in trips]),
    )


def _best_rows(terms: Terms) -> tuple[Row, ...]:
    """Return the rows of what is best over the altitudes of the terms, where they give any."""
    if not terms.altitudes:
        return ()
    return (
        Row("best_speed", "Fastest cruise", "Altitude", "more"),
        Row("best_speed_altitude", "Altitude of that", "Altitude"),
        Row("best_specific_range", "Best specific range", "Altitude", "more", of_fuel=True),
        Row("best_specific_range_altitude", "Altitude of that", "Altitude"),
    )


def _trip_rows(terms: Terms, trips: Iterable[Trip]) -> tuple[Row, ...]:
    waits = terms.ground_time is not None or terms.taxi_time is not None
    parts = [("time", "Flying time"), ("fuel", "Fuel burnt"), ("stops", "Fuel stops")]
    parts += [("elapsed", "Time with stops")] if waits else []
    rows = []
    for trip in trips:
        ways = [trip.name, f"{trip.name}, back"] if trip.there_and_back else [trip.name]
        for name in ways:
            rows += [
                Row(f"trip.{slug(name)}.{part}", label, f"Trip: {name}", "less", part == "fuel", of_trip=True)
                for part, label in parts
            ]
        if trip.there_and_back:
            key = f"trip.{slug(trip.name)}.both_ways"
            rows.append(Row(key, "There and back", f"Trip: {trip.name}", "less", of_trip=True))
    return tuple(rows)


def _differences(figures: Mapping[str, Figure], cases: Sequence[Case], rows: Sequence[Row]) -> list[Figure]:
    """Return each row's difference between each two airplanes, with the terms that are not theirs alike."""
    apart = []
    for (a, b), row in itertools.product(itertools.combinations(cases, 2), rows):
        pair = (figures[f"{case.key}.{row.quantity}"] for case in (a, b))
        figure = difference(difference_key(a.key, b.key, row.quantity), row.label, *pair)
        if row.of_fuel and a.fuel.kind != b.fuel.kind:
            figure = _unequal(figure, "fuel", a.fuel.kind, b.fuel.kind)
        if counts_taxi_fuel(row.quantity) and (a.taxi_fuel is None) != (b.taxi_fuel is None):
            figure = _unequal(figure, "taxi fuel", *(str(c.taxi_fuel or "none printed") for c in (a, b)))
        apart.append(figure)
    return apart


def _unequal(figure: Figure, term: str, one: str, other: str) -> Figure:
    """Return a difference of figures whose terms are not alike."""
    return replace(figure, terms={**figure.terms, term: AGAINST.join((one, other))})


def _entry(case: Case, flown: Sequence[FlownPoint]) -> Entry:
    airplane = case.airplane
    lacking = (f"not on equal terms: {word} is not offered" for word in case.fit.lacking)
    faults = handbook_faults(case.dossier, case.fuel.density.si)
    remarks = (*lacking, *empty_outside(ready(case)), *map(str, table_doubts(case.dossier)), *faults)
    return Entry(
        case.key,
        airplane.name,
        airplane.maker,
        airplane.place,
        airplane.year,
        airplane.summary,
        case.fit.words,
        _evidence(case, len({(point.flight, point.number) for point in flown})),
        remarks,
        case.evidences.remarks,
    )


def _evidence(case: Case, conditions: int) -> str:
    """Return in words what an airplane's figures rest on."""
    flights = " and ".join(sorted(case.evidences.flights))
    if case.kind == "handbook":
        if not flights:
            return "handbook only"
        beside = f", {conditions} conditions are set beside the handbook below" if conditions else ""
        return f"handbook; flown on {flights}{beside}"
    if not flights:
        return "not flown: what it does in the air is missing, for the terms demand flight"
    demanded = case.evidences.measured if case.kind == "measured" else case.evidences.fitted
    if isinstance(demanded, Silent):
        return f"flown on {flights}, but {demanded.reason}"
    alone = "flight alone" if case.kind == "measured" else "handbook and flight, fitted together"
    return f"{alone}; flown on {flights}"


def _remarks(cases: Sequence[Case]) -> tuple[str, ...]:
    seen = ", ".join(case.airplane.name for case in cases if case.evidences.flights)
    read = ", ".join(case.airplane.name for case in cases if not case.evidences.flights)
    if not seen or not read:
        return ()
    kind = cases[0].kind
    unequal = f"Unequal evidence: {seen} was flown, {read} only read about."
    if kind == "handbook":
        return (f"{unequal} Every compared figure rests on the handbooks, so that all are judged alike.",)
    return (
        f"{unequal} The terms demand {READINGS[kind].name}: what an airplane that was not flown does in the "
        "air is missing, not filled in.",
    )
