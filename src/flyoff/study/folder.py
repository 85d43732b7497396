"""A study folder read whole: every file of it, and every problem at once."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from flyoff.charts.house import PLAIN, House, read_house
from flyoff.comparison.runway import Field as RunwayField
from flyoff.comparison.standard_people import SOURCES
from flyoff.comparison.terms import Terms
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.quantity import Quantity
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place, Source
from flyoff.core.tomlfile import Document, read_toml
from flyoff.core.units import kt
from flyoff.dossier.read import Dossier, check_sources, read_dossier, read_sources
from flyoff.flights.read import Flight, read_flight
from flyoff.study.records import StudyRecord
from flyoff.study.routes import Route, read_routes
from flyoff.study.runways import read_runways


@dataclass(frozen=True)
class Folder:
    """What a study folder holds, read and checked."""

    path: Path
    record: StudyRecord
    sources: dict[str, Source]
    dossiers: tuple[Dossier, ...]
    flights: tuple[Flight, ...] = ()
    trips: tuple[Route, ...] = field(default=())
    runways: tuple[RunwayField, ...] = ()
    house: House = PLAIN
    """How all that leaves it looks."""
    unflyable: tuple[Problem, ...] = ()
    """What keeps a trip of it from being flown by anybody."""


def read_folder(path: Path) -> Folder:
    """Return a study folder's content.

    Raises
    ------
    Problems
        Everything that is wrong in any of its files.
    """
    if not path.is_dir():
        raise Problems([Problem(Place(str(path)), "no such folder", "expected the folder of a study")])
    document = read_toml(path / "study.toml", "study.toml")
    collector, unflyable = Collector(), Collector()
    sources = read_sources(path / "sources.toml", "sources.toml", collector)
    default = document.data.get("source")
    context = Context(document, default if isinstance(default, str) else None)
    if context.source:
        context.sources_used[context.source] = document.place("source")
    record = validate(StudyRecord, context, collector)
    check_sources(context.sources_used, sources, collector)
    names = record.aircraft if record else _names(document, "aircraft")
    dossiers = [
        read_dossier(path / "aircraft" / f"{name}.toml", f"aircraft/{name}.toml", sources, collector)
        for name in names
        if _is_there(path, "aircraft", name, document, collector)
    ]
    flights = [
        _flight(path, name, collector)
        for name in (record.flights if record else _names(document, "flights"))
        if _is_there(path, "flights", name, document, collector)
    ]
    read = tuple(dossier for dossier in dossiers if dossier is not None)
    trips: tuple[Route, ...] = ()
    runways = read_runways(record, document, collector) if record else ()
    if record:
        terms, trips = read_routes(path, record, document, collector, unflyable)
        record = record.model_copy(update={"terms": terms})
        _check_across(record, read, flights, document, collector)
    house = _house(path, collector)
    if collector.problems:
        collector.extend(unflyable.problems)
    collector.raise_any()
    assert record is not None
    sources |= {o.weight.source: SOURCES[o.weight.source] for o in record.terms.occupants
                if o.weight.source in SOURCES}  # fmt: skip
    flown = tuple(flight for flight in flights if flight is not None)
    return Folder(path, record, sources, read, flown, trips, runways, house, tuple(unflyable.problems))


def _house(path: Path, collector: Collector) -> House:
    try:
        return read_house(path)
    except Problems as problems:
        collector.extend(problems.problems)
        return PLAIN


def _names(document: Document, key: str) -> tuple[str, ...]:
    listed = document.data.get(key, ())
    return tuple(str(name) for name in listed) if isinstance(listed, tuple) else ()


def _is_there(path: Path, kind: str, name: str, document: Document, collector: Collector) -> bool:
    """Say whether ``kind/name.toml`` is in the folder, with the nearest name where it is not."""
    if (path / kind / f"{name}.toml").is_file() and Path(name).name == name:
        return True
    present = sorted(file.stem for file in (path / kind).glob("*.toml") if file.is_file())
    listed = ", ".join(present) or "none yet"
    expected = f"expected a file of {kind}/ ({listed}){near_miss(name, present)}"
    index = _names(document, kind).index(name)
    collector.add(document.place(kind, index), f"no file {kind}/{name}.toml", expected)
    return False


def _flight(path: Path, name: str, collector: Collector) -> Flight | None:
    try:
        return read_flight(path / "flights" / f"{name}.toml", f"flights/{name}.toml")
    except Problems as problems:
        collector.extend(problems.problems)
        return None


def check_bounds(terms: Terms, collector: Collector) -> None:
    """Refuse terms that no light airplane flies under."""
    for name, low, high in (
        ("power", 0.2, 1.0),
        ("altitude", -610.0, 15000.0),
        ("isa_deviation", -60.0, 50.0),
        ("wind", -150 * kt, 200 * kt),
    ):
        quantity = getattr(terms, name)
        if not low <= quantity.si <= high:
            expected = (
                f"expected between {quantity.unit.from_si(low):,.6g} and {quantity.unit.from_si(high):,.6g}"
            )
            collector.add(quantity.place, str(quantity), f"{expected} {quantity.unit.label}")


def _check_exact(terms: Terms, collector: Collector) -> None:
    """Refuse a doubt of what the study itself lays down."""
    quantities = [getattr(terms, name) for name in type(terms).model_fields]
    quantities += [occupant.weight for occupant in terms.occupants] + [fuel.density for fuel in terms.fuels]
    for quantity in quantities:
        if isinstance(quantity, Quantity) and quantity.u95_si is not None:
            collector.add(
                quantity.place, "a term with u95", "expected terms without doubt: they are laid down"
            )


def _check_evidence(
    record: StudyRecord, flights: list[Flight | None], document: Document, collector: Collector
) -> None:
    """Refuse to demand flight where nothing of the study was flown: every figure would be missing."""
    kind = record.terms.evidence
    if kind == "handbook" or any(f is None or f.card.aircraft in record.aircraft for f in flights):
        return
    expected = 'expected flights of the study\'s aircraft, or evidence = "handbook"'
    collector.add(document.place("terms", "evidence"), f"'{kind}', and none of them was flown", expected)


def _check_money(record: StudyRecord, document: Document, collector: Collector) -> None:
    seen: set[str] = set()
    for index, exchange in enumerate(record.money.exchange):
        place = document.place("money", "exchange", index, "worth")
        if exchange.worth.unit.label != record.money.currency:
            expected = f"expected it in {record.money.currency}, the study's currency"
            collector.add(place, f"one {exchange.currency} in {exchange.worth.unit.label}", expected)
        if exchange.currency in seen or exchange.currency == record.money.currency:
            collector.add(place, f"{exchange.currency} again", "expected each other currency once")
        seen.add(exchange.currency)
    people = [occupant.name for occupant in record.terms.occupants]
    for index, name in enumerate(people):
        if name in people[:index]:
            place = document.place("terms", "occupants", index, "name")
            collector.add(place, f"'{name}' again", "expected each occupant a name of their own")
    kinds = [fuel.kind for fuel in record.terms.fuels]
    for index, kind in enumerate(kinds):
        if kind in kinds[:index]:
            collector.add(document.place("terms", "fuels", index), f"{kind} again", "expected each fuel once")


def _check_across(
    record: StudyRecord,
    dossiers: tuple[Dossier, ...],
    flights: list[Flight | None],
    document: Document,
    collector: Collector,
) -> None:
    """Check what two files must agree on."""
    for key in ("aircraft", "flights"):
        listed = getattr(record, key)
        if len(set(listed)) < len(listed):
            collector.add(document.place(key), f"one of {key} listed twice", "expected each once")
    for index, name in enumerate(record.aircraft):
        if not re.fullmatch(r"[a-z0-9_]+", name):
            expected = "expected a file name of small letters, digits and _, for it begins every figure's key"
            collector.add(document.place("aircraft", index), f"'{name}'", expected)
    terms = record.terms
    check_bounds(terms, collector)
    _check_exact(terms, collector)
    _check_evidence(record, flights, document, collector)
    _check_money(record, document, collector)
    offered = {
        word for dossier in dossiers for option in dossier.airplane.options for word in option.provides
    } | {word for dossier in dossiers for word in dossier.airplane.standard_equipment}
    for index, word in enumerate(terms.equipment):
        if word in terms.equipment[:index]:
            place = document.place("terms", "equipment", index)
            collector.add(place, f"'{word}' demanded twice", "expected each piece of equipment once")
        if dossiers and word not in offered:
            expected = f"expected equipment that an aircraft offers{near_miss(word, offered)}"
            collector.add(
                document.place("terms", "equipment", index), f"'{word}' is offered by none", expected
            )
    for dossier in dossiers:
        if terms.fuel(dossier.airplane.engine.fuel) is None:
            expected = (
                f"expected an entry for {dossier.airplane.engine.fuel}, which {dossier.airplane.name} burns"
            )
            collector.add(document.place("terms", "fuels"), f"no {dossier.airplane.engine.fuel}", expected)
    for flight in flights:
        if flight is not None and flight.card.aircraft and flight.card.aircraft not in record.aircraft:
            expected = f"expected an aircraft of the study{near_miss(flight.card.aircraft, record.aircraft)}"
            collector.add(
                Place(flight.name, field="aircraft"), f"unknown aircraft '{flight.card.aircraft}'", expected
            )
