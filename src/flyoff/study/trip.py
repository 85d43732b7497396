"""A trip asked for on the command line: who in a study can fly it, how long, on how much fuel."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from flyoff.charts.house import read_house
from flyoff.comparison.case import Case
from flyoff.comparison.lifting import ready
from flyoff.comparison.places import Spot, distance_m
from flyoff.comparison.results import TripLeg
from flyoff.comparison.terms import Trip
from flyoff.comparison.trip import trips_figures
from flyoff.core.draws import Draws
from flyoff.core.figure import Figure
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.quantity import Quantity, QuantityError, parse_quantity
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import read_toml
from flyoff.core.wording import AS_WRITTEN, Wording
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.reduction.run import Reduction, reduce_flight
from flyoff.study.folder import Folder, read_folder
from flyoff.study.records import StudyRecord
from flyoff.study.routes import find_place, read_routes
from flyoff.study.run import DRAW_COUNT, case_of

_PEOPLE_MAX = 20
_NAME = "this trip"


@dataclass(frozen=True)
class Asked:
    """What the command line says, as written; what is left out comes from the terms."""

    start: str
    end: str
    people: str | None = None
    bags: str | None = None
    wind: str | None = None
    aloft: str | None = None
    altitude: str | None = None
    there_and_back: bool = False


@dataclass(frozen=True)
class Flight:
    """One airplane on the trip: there, and back where that was asked for; figures by key."""

    key: str
    name: str
    legs: tuple[TripLeg, ...]
    figures: Mapping[str, Figure]


@dataclass(frozen=True)
class Answer:
    """The trip, and every airplane on it."""

    trip: Trip
    start: Spot
    end: Spot
    distance_m: float
    conditions: str
    flights: tuple[Flight, ...]
    wording: Wording = AS_WRITTEN
    """How the study's house words it."""


def fly(path: Path, asked: Asked) -> tuple[Answer, tuple[Problem, ...]]:
    """Return a trip flown by each airplane of a study, and what is wrong with those that are left out.

    Raises
    ------
    Problems
        If the trip or the study cannot be made out, or no airplane can be read.
    """
    collector = Collector()
    record = _record(path)
    trip, start, end = _trip(record, asked)
    dossiers = _dossiers(path, record, collector)
    if not dossiers:
        collector.raise_any()
    folder = Folder(path, record, {}, dossiers)
    reduced = {} if record.terms.evidence == "handbook" else _reduced(path)
    draws = Draws(DRAW_COUNT)
    flights = []
    for dossier in dossiers:
        try:
            flights.append(_flown(case_of(folder, dossier, draws, reduced), trip, start, end))
        except Problems as problems:
            collector.extend(problems.problems)
    wording = read_house(path).wording
    conditions = _conditions(record, trip)
    answer = Answer(trip, start, end, distance_m(start, end), conditions, tuple(flights), wording)
    return answer, Problems(collector.problems).problems


def _record(path: Path) -> StudyRecord:
    """Return the study file, its winds aloft read, its own trips left aside."""
    collector = Collector()
    document = read_toml(path / "study.toml", "study.toml")
    source = document.data.get("source")
    record = validate(StudyRecord, Context(document, source if isinstance(source, str) else None), collector)
    collector.raise_any()
    assert record is not None
    record = record.model_copy(update={"trips": ()})
    terms, _ = read_routes(path, record, document, collector, collector)
    collector.raise_any()
    return record.model_copy(update={"terms": terms})


def _trip(record: StudyRecord, asked: Asked) -> tuple[Trip, Spot, Spot]:
    collector, terms = Collector(), record.terms
    start = find_place(asked.start, record.airfields, Place("FROM"), collector)
    end = find_place(asked.end, record.airfields, Place("TO"), collector)
    if asked.start == asked.end:
        collector.add(Place("TO"), f"a trip from '{asked.start}' to itself", "expected another airport")
    best = asked.altitude is not None and asked.altitude.strip().casefold() == "best"
    if best and not terms.altitudes:
        collector.add(Place("--altitude"), "no altitudes to choose among", "expected [terms] altitudes")
    if asked.aloft is not None and asked.aloft not in terms.aloft:
        expected = f"expected a name under [terms.aloft]{near_miss(asked.aloft, terms.aloft)}"
        collector.add(Place("--aloft"), f"no winds aloft '{asked.aloft}'", expected)
    if asked.aloft is not None and asked.wind is not None:
        collector.add(Place("--wind"), "a head wind beside winds aloft", "expected one of the two")
    bags = _quantity(asked.bags, "mass", "--bags", collector)
    if bags is not None and bags.si < 0:
        collector.add(Place("--bags"), f"'{asked.bags}' is negative", "expected 0 or more")
    changes = {
        "occupants": _people(asked.people, collector),
        "bags": bags,
        "wind": _quantity(asked.wind, "speed", "--wind", collector),
        "altitude": None if best else _quantity(asked.altitude, "length", "--altitude", collector),
        "best_altitude": "time" if best else None,
        "aloft": asked.aloft,
        "there_and_back": asked.there_and_back,
    }
    collector.raise_any()
    assert start is not None
    assert end is not None
    return Trip(name=_NAME, start=asked.start, end=asked.end).model_copy(update=changes), start, end


def _people(text: str | None, collector: Collector) -> int | None:
    if text is None:
        return None
    plain = text.strip().replace("−", "-")
    count = int(plain) if plain.lstrip("+-").isdigit() and len(plain) < 6 else 0
    if not 1 <= count <= _PEOPLE_MAX:
        expected = f"expected a number from 1, who flies, to {_PEOPLE_MAX}"
        collector.add(Place("--people"), f"'{text}' people", expected)
        return None
    return count


def _quantity(text: str | None, dimension: str, option: str, collector: Collector) -> Quantity | None:
    if text is None:
        return None
    try:
        return parse_quantity(text, dimension).at(Place(option), "as asked for")
    except QuantityError as error:
        collector.add(Place(option), error.found, error.expected)
        return None


def _dossiers(path: Path, record: StudyRecord, collector: Collector) -> tuple[Dossier, ...]:
    """Return the airplanes that can be read; the faults of the others in `collector`."""
    sources = read_sources(path / "sources.toml", "sources.toml", collector)
    found = []
    for name in record.aircraft:
        own = Collector()
        try:
            dossier = read_dossier(path / "aircraft" / f"{name}.toml", f"aircraft/{name}.toml", sources, own)
        except Problems as problems:
            collector.extend(problems.problems)
            continue
        collector.extend(own.problems)
        if dossier is None or own.problems:
            continue
        if record.terms.fuel(dossier.airplane.engine.fuel) is None:
            place, fuel = Place("study.toml", field="terms.fuels"), dossier.airplane.engine.fuel
            collector.add(
                place, f"no {fuel}", f"expected an entry for it, which {dossier.airplane.name} burns"
            )
            continue
        found.append(dossier)
    return tuple(found)


def _reduced(path: Path) -> dict[str, Reduction]:
    """Return a study's flights as reduced: the terms demand what was flown."""
    folder = read_folder(path)
    by_key = {dossier.key: dossier for dossier in folder.dossiers}
    return {
        Path(flight.name).stem: reduce_flight(flight, dossier=by_key.get(flight.card.aircraft or ""))
        for flight in folder.flights
    }


def _flown(case: Case, trip: Trip, start: Spot, end: Spot) -> Flight:
    figures, legs = trips_figures(case, ready(case), [(trip, start, end)])
    return Flight(case.key, case.airplane.name, tuple(legs), {figure.key: figure for figure in figures})


def _conditions(record: StudyRecord, trip: Trip) -> str:
    """Return in words how the trip is flown."""
    terms = record.terms
    count = trip.occupants or len(terms.occupants)
    bags = trip.bags or terms.bags
    height = f"at {trip.altitude or terms.altitude}"
    if trip.best_altitude:
        height = f"at the best altitude for {trip.best_altitude}"
    wind = f"winds aloft “{trip.aloft}”" if trip.aloft else f"head wind {trip.wind or terms.wind}"
    kept = f"reserve {terms.reserve}"
    return f"{count} aboard, {bags} of bags; {terms.power} power {height}; {wind}; {kept}"
