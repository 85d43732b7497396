"""What trips and winds of a study refer to, found and checked: airports, alternates, soundings, rules."""

from collections.abc import Mapping
from pathlib import Path

from flyoff.comparison.aloft import WindSpread
from flyoff.comparison.places import Airfield, Spot, distance_m, find_spot, known_codes, nowhere
from flyoff.comparison.reserves import rule_fault
from flyoff.comparison.sounding import read_sounding
from flyoff.comparison.terms import Terms, Trip
from flyoff.core.figure import slug
from flyoff.core.problems import Collector, Problems, near_code, near_miss
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document
from flyoff.core.units import kt, nmi
from flyoff.study.records import StudyRecord

Route = tuple[Trip, Spot, Spot]
_FASTEST_WIND = 250 * kt


def read_routes(
    path: Path, record: StudyRecord, document: Document, collector: Collector, unflyable: Collector
) -> tuple[Terms, tuple[Route, ...]]:
    """Return the terms with their soundings read, and each trip with its ends; faults in `collector`.

    What only keeps one trip from being flown goes to `unflyable`: the rest of the study stands.
    """
    terms = _with_soundings(path, record.terms, document, collector)
    fault = rule_fault(terms.reserve_rule, terms.reserve)
    if fault is not None:
        collector.add(document.place("terms", "reserve_rule"), *fault)
    _check_spread(terms.wind_spread, document.place("terms", "wind_spread"), collector)
    routes = _trips(record, document, collector, unflyable)
    for index, trip in enumerate(record.trips):
        _check_flying(trip, record, document, index, collector)
    return terms, tuple(
        _with_alternate(index, route, record, document, (collector, unflyable))
        for index, route in enumerate(routes)
    )


def _with_soundings(path: Path, terms: Terms, document: Document, collector: Collector) -> Terms:
    read = {}
    for name, profile in terms.aloft.items():
        place = document.place("terms", "aloft", name)
        if bool(profile.levels) == bool(profile.file):
            collector.add(
                place, "levels and a file" if profile.file else "neither", "expected levels or a file"
            )
            continue
        if profile.file:
            if Path(profile.file).name != profile.file:
                collector.add(place, f"'{profile.file}'", "expected a file beside study.toml")
                continue
            try:
                profile = profile.model_copy(
                    update={"levels": read_sounding(path / profile.file, profile.file)}
                )
            except Problems as problems:
                collector.extend(problems.problems)
                continue
        altitudes = [level.altitude.si for level in profile.levels]
        if len(set(altitudes)) < len(altitudes):
            collector.add(place, "one altitude twice", "expected each altitude once")
        for level in profile.levels:
            if level.speed.si > _FASTEST_WIND:
                collector.add(level.speed.place, str(level.speed), "expected at most 250 kt")
        read[name] = profile
    return terms.model_copy(update={"aloft": read})


def _check_spread(spread: WindSpread | None, place: Place, collector: Collector) -> None:
    if spread is None:
        return
    normal = spread.mean is not None and spread.deviation is not None
    some = spread.mean is not None or spread.deviation is not None
    if normal == bool(spread.table) or some != normal:
        collector.add(place, "neither or both", "expected mean and deviation, or a table of head winds")


def _trips(
    record: StudyRecord, document: Document, collector: Collector, unflyable: Collector
) -> list[Route]:
    found: list[Route] = []
    seen: dict[str, int] = {}
    for index, trip in enumerate(record.trips):
        place = document.place("trips", index, "name")
        for key in (slug(trip.name), *([slug(f"{trip.name}, back")] if trip.there_and_back else [])):
            if key in seen:
                expected = f"expected a name of its own, punctuation aside (see line {seen[key]})"
                collector.add(place, f"trip '{trip.name}' given twice", expected)
            if not key:
                collector.add(place, f"'{trip.name}' names nothing", "expected letters or digits in a name")
            seen.setdefault(key, place.line)
        start, end = (
            find_place(code, record.airfields, document.place("trips", index, name), unflyable)
            or nowhere(code)
            for name, code in (("start", trip.start), ("end", trip.end))
        )
        if trip.start == trip.end:
            place = document.place("trips", index, "end")
            unflyable.add(place, f"a trip from '{trip.start}' to itself", "expected another airport")
        found.append((trip, start, end))
    return found


def find_place(
    code: str, airfields: Mapping[str, Airfield], place: Place, collector: Collector
) -> Spot | None:
    """Return the place of that code, or None with a problem that names the nearest."""
    spot = find_spot(code, airfields)
    if spot is None:
        hint = near_code(code, known_codes(airfields))
        expected = f"expected the ICAO code of an airport, or a place under [airfields]{hint}"
        collector.add(place, f"unknown airport '{code}'", expected)
    return spot


def _check_flying(
    trip: Trip, record: StudyRecord, document: Document, index: int, collector: Collector
) -> None:
    """Check how a trip is flown, where not as the terms say."""
    if trip.occupants and trip.occupants > len(record.terms.occupants):
        expected = f"expected at most the {len(record.terms.occupants)} people of the terms"
        collector.add(document.place("trips", index, "occupants"), f"{trip.occupants} people", expected)
    if trip.aloft is not None and trip.aloft not in record.terms.aloft:
        expected = f"expected a name under [terms.aloft]{near_miss(trip.aloft, record.terms.aloft)}"
        collector.add(document.place("trips", index, "aloft"), f"no winds aloft '{trip.aloft}'", expected)
    if trip.aloft is not None and trip.wind is not None:
        place = document.place("trips", index, "wind")
        collector.add(place, "a head wind beside winds aloft", "expected one of the two")
    if trip.altitude is not None and trip.best_altitude is not None:
        place = document.place("trips", index, "altitude")
        collector.add(place, "an altitude beside best_altitude", "expected one of the two")
    if trip.best_altitude is not None and not record.terms.altitudes:
        place = document.place("trips", index, "best_altitude")
        collector.add(place, "no altitudes to choose among", "expected [terms] altitudes")
    _check_spread(trip.wind_spread, document.place("trips", index, "wind_spread"), collector)


def _with_alternate(
    index: int, route: Route, record: StudyRecord, document: Document, found: tuple[Collector, Collector]
) -> Route:
    """Return a trip with the distance from its end to its alternate; faults of the study, and of the trip."""
    trip, start, end = route
    collector, unflyable = found
    if trip.alternate is None:
        return trip, start, end
    place = document.place("trips", index, "alternate")
    if trip.alternate_distance is not None:
        collector.add(place, "an alternate beside its distance", "expected one of the two")
    spot = find_place(trip.alternate, record.airfields, place, unflyable)
    if spot is None or not end.known:
        return route
    if trip.alternate == trip.end:
        collector.add(place, f"'{trip.alternate}' is where the trip ends", "expected another airport")
    away = away_from(end, spot, place)
    return trip.model_copy(update={"alternate_distance": away}), start, end


def away_from(end: Spot, alternate: Spot, place: Place) -> Quantity:
    """Return the distance between two places as if written."""
    return parse_quantity(f"{distance_m(end, alternate) / nmi:.1f} nmi", "length").at(place, alternate.source)
