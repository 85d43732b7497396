"""The comparison: every airplane under the same terms, and the differences between them."""

import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from flyoff.comparison.case import Case
from flyoff.comparison.cost import cost_figures
from flyoff.comparison.cruise import cruise_figures, speed_curve
from flyoff.comparison.emissions import emission_figures
from flyoff.comparison.evidence import READINGS, Silent
from flyoff.comparison.flown import flown_figures
from flyoff.comparison.headlines import headline_figures
from flyoff.comparison.lifting import balance_tracks, lifting_figures, ready
from flyoff.comparison.ownership import ROWS as OWNERSHIP_ROWS
from flyoff.comparison.ownership import ownership_figures
from flyoff.comparison.payload_range import payload_range, range_figures
from flyoff.comparison.places import Spot
from flyoff.comparison.results import (
    BalanceTrack,
    Comparison,
    Entry,
    FlownPoint,
    Headline,
    OptionCost,
    Row,
    SeatCell,
    Swing,
    TripLeg,
    difference_key,
)
from flyoff.comparison.seat_table import option_lifting, seat_figures
from flyoff.comparison.terms import MoneyTerms, Terms, Trip
from flyoff.comparison.through_flight import Ready
from flyoff.comparison.trip import trip_figures
from flyoff.core.figure import AGAINST, Figure, difference, slug
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
) -> Comparison:
    """Return the comparison of some cases; `heading` is title, author and summary.

    `books` holds, by airplane, the flown conditions beside the handbook.
    """
    figures: list[Figure] = []
    balances: list[BalanceTrack] = []
    legs: list[TripLeg] = []
    options: list[OptionCost] = []
    headlines: list[Headline] = []
    seats: list[SeatCell] = []
    swings: list[Swing] = []
    beside = {case.key: flown_figures(case, books.get(case.key, Book())) for case in cases}
    for case in cases:
        of = ready(case)
        seated, cells = seat_figures(case, of)
        figures += [*lifting_figures(case, of), *cruise_figures(case), *range_figures(case), *seated]
        seats += cells
        balances += balance_tracks(case, of)
        for trip, start, end in trips:
            more, leg = trip_figures(case, trip, start, end)
            figures += more
            legs.append(leg)
        paid, spent, swung = _money(case, of, figures)
        options += spent
        swings += swung
        on_each, told = headline_figures(case)
        headlines += told
        figures += [*paid, *on_each, *beside[case.key].figures]
    by_key = {figure.key: figure for figure in figures}
    assert len(by_key) == len(figures), "two figures of one key"
    rows = rows_asked([trip for trip, _, _ in trips], owned=any(case.ownership for case in cases))
    for figure in _differences(by_key, {case.key: case.fuel.kind for case in cases}, rows):
        by_key[figure.key] = figure
    return Comparison(
        *heading,
        terms,
        money,
        tuple(trip for trip, _, _ in trips),
        tuple(_entry(case, beside[case.key].points) for case in cases),
        rows,
        by_key,
        tuple(speed_curve(case) for case in cases if case.terms.altitudes),
        tuple(found for case in cases if (found := payload_range(case)) is not None),
        tuple(balances),
        tuple(legs),
        tuple(point for found in beside.values() for point in found.points),
        tuple(verdict for found in beside.values() for verdict in found.verdicts),
        tuple(options),
        tuple(headlines),
        tuple(seats),
        tuple(swings),
        cases[0].ownership if cases else None,
        remarks=_remarks(cases),
    )


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


def rows_asked(trips: Iterable[Trip], *, owned: bool) -> tuple[Row, ...]:
    """Return the rows of the comparison table; those of ownership where the study declares what it costs."""
    return (*ROWS, *(OWNERSHIP_ROWS if owned else ()), *_trip_rows(trips))


def _trip_rows(trips: Iterable[Trip]) -> tuple[Row, ...]:
    return tuple(
        Row(
            f"trip.{slug(trip.name)}.{part}",
            label,
            f"Trip: {trip.name}",
            "less",
            part == "fuel",
            of_trip=True,
        )
        for trip in trips
        for part, label in (("time", "Flying time"), ("fuel", "Fuel burnt"), ("stops", "Fuel stops"))
    )


def _differences(
    figures: Mapping[str, Figure], fuels: Mapping[str, str], rows: Sequence[Row]
) -> list[Figure]:
    """Return each row's difference between each two airplanes; `fuels` says what each burns."""
    apart = []
    for (a, b), row in itertools.product(itertools.combinations(fuels, 2), rows):
        pair = (figures[f"{key}.{row.quantity}"] for key in (a, b))
        figure = difference(difference_key(a, b, row.quantity), row.label, *pair)
        if row.of_fuel and fuels[a] != fuels[b]:
            figure = replace(figure, terms={**figure.terms, "fuel": AGAINST.join((fuels[a], fuels[b]))})
        apart.append(figure)
    return apart


def _entry(case: Case, flown: Sequence[FlownPoint]) -> Entry:
    airplane = case.airplane
    lacking = (f"not on equal terms: {word} is not offered" for word in case.fit.lacking)
    remarks = (*lacking, *map(str, table_doubts(case.dossier)))
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
