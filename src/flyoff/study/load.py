"""A loading asked for on the command line: a study's airplanes, or aircraft files alone."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flyoff.charts.house import read_house
from flyoff.comparison.cruise import cruise_sample
from flyoff.comparison.loading_answer import Answer, answer
from flyoff.comparison.standard_people import STANDARD, standard_weight
from flyoff.comparison.through_flight import Ready
from flyoff.core.draws import Draws
from flyoff.core.figure import format_number
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.quantity import Quantity, QuantityError, parse_quantity
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import read_toml
from flyoff.core.wording import AS_WRITTEN, Wording
from flyoff.dossier.airplane import Airplane, FuelKind
from flyoff.dossier.loading import Person
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.study.folder import Folder
from flyoff.study.records import StudyRecord
from flyoff.study.run import case_of

DENSITIES: dict[FuelKind, tuple[str, str]] = {
    "avgas": ("6.0 lb/US gal", "FAA-H-8083-25, standard weight"),
    "mogas": ("6.0 lb/US gal", "taken as avgas; common practice, no source"),
    "jet-a1": ("0.80 kg/L", "common practice, no source"),
    "diesel": ("0.84 kg/L", "common practice, no source"),
}
"""What a litre of fuel is taken to weigh where no terms say."""
_ONE = ("standard person, FAA-H-8083-1B",)
_PEOPLE_MAX = 40
_PERSON = re.compile(r"^(?:(?P<name>[^:]+):\s*)?(?P<weight>.+?)(?:\s+in\s+(?P<station>.+))?$")


@dataclass(frozen=True)
class Asked:
    """What the command line says, as written; what is left out comes from the terms."""

    people: tuple[str, ...] = ()
    bags: str | None = None
    fuel: str | None = None
    reserve: str | None = None
    density: str | None = None


@dataclass(frozen=True)
class Loaded:
    """One airplane's answer, and what was assumed for it."""

    key: str
    airplane: Airplane
    answer: Answer
    assumed: tuple[str, ...]
    wording: Wording = AS_WRITTEN


@dataclass(frozen=True)
class _Given:
    """An airplane to be loaded before anything is put aboard, and the terms that hold for it."""

    dossier: Dossier
    empty: tuple[float, float]
    people: tuple[Person, ...]
    bags_kg: float
    density: Quantity
    taxi_kg: float
    reserve_kg: float
    assumed: tuple[str, ...]


def load_all(paths: Sequence[Path], asked: Asked) -> tuple[tuple[Loaded, ...], tuple[Problem, ...]]:
    """Return the loading of every airplane, and what is wrong with those that have none.

    Raises
    ------
    Problems
        If nothing at all can be answered.
    """
    loaded: list[Loaded] = []
    collector = Collector()
    for path in paths:
        for give in _airplanes(path, asked, collector):
            try:
                house = read_house(path if path.is_dir() else path.resolve().parent.parent)
                loaded.append(replace(_loaded(give(), asked), wording=house.wording))
            except Problems as problems:
                collector.extend(problems.problems)
    if not loaded:
        collector.raise_any()
    return tuple(loaded), Problems(collector.problems).problems


def _airplanes(path: Path, asked: Asked, collector: Collector) -> list[Callable[[], _Given]]:
    """Return what gives each airplane of a study folder, or the one of an aircraft file."""
    if path.is_dir():
        try:
            return _study(path, asked)
        except Problems as problems:
            collector.extend(problems.problems)
            return []
    return [lambda: _alone(path, asked)]


def _study(path: Path, asked: Asked) -> list[Callable[[], _Given]]:
    collector = Collector()
    document = read_toml(path / "study.toml", "study.toml")
    source = document.data.get("source")
    record = validate(StudyRecord, Context(document, source if isinstance(source, str) else None), collector)
    collector.raise_any()
    assert record is not None
    sources = read_sources(path / "sources.toml", "sources.toml", Collector())

    def give(name: str) -> Callable[[], _Given]:
        def given() -> _Given:
            dossier = _dossier(path / "aircraft" / f"{name}.toml", f"aircraft/{name}.toml")
            return _on_terms(Folder(path, record, sources, (dossier,)), dossier, asked)

        return given

    return [give(name) for name in record.aircraft]


def _dossier(path: Path, name: str) -> Dossier:
    collector = Collector()
    beside = path.resolve().parent.parent / "sources.toml"
    sources = read_sources(beside, "sources.toml", collector) if beside.is_file() else {}
    dossier = read_dossier(path, name, sources, collector)
    collector.raise_any()
    assert dossier is not None  # the collector has spoken otherwise
    return dossier


def _on_terms(folder: Folder, dossier: Dossier, asked: Asked) -> _Given:
    """Return a study's airplane, equipped and set aside for as the terms demand."""
    terms, engine = folder.record.terms, dossier.airplane.engine
    if terms.fuel(engine.fuel) is None:
        expected = f"expected an entry for {engine.fuel}, which {dossier.airplane.name} burns"
        raise Problems([Problem(Place("study.toml", field="terms.fuels"), f"no {engine.fuel}", expected)])
    case = replace(case_of(folder, dossier, Draws(2), {}), kind="handbook")
    cruise = cruise_sample(case, terms.altitude.si, case.masses_kg(case.loading.mass_kg)[1])
    flow = cruise.fuel_flow_kg_s
    said = ["equipped as the terms demand"]
    reserve_kg = 0.0
    if asked.reserve is None and flow is None:
        said.append(f"no reserve is counted, for the cruise fuel flow is missing: {cruise.missing}")
    elif flow is not None:
        reserve_kg = terms.reserve.si * float(flow[0])
        said.append(f"reserve: {terms.reserve} at the handbook's cruise fuel flow")
    people = tuple(Person(o.name, o.weight.si) for o in terms.occupants)
    density = case.fuel.density
    return _given(
        dossier, (float(case.empty_kg[0]), case.fit.empty_moment_kg_m),
        people, terms.bags.si, density, reserve_kg, said, asked, terms.taxi_fuel,
    )  # fmt: skip


def _alone(path: Path, asked: Asked) -> _Given:
    """Return the airplane of an aircraft file, as weighed."""
    dossier = _dossier(path, str(path))
    weights = dossier.airplane.weights
    text, source = DENSITIES[dossier.airplane.engine.fuel]
    said = ["equipped as weighed"]
    if asked.density is None:
        said.append(f"fuel: taken as {text} ({source})")
    if asked.reserve is None:
        said.append("no reserve is counted: give one with --reserve")
    if not asked.people:
        said.append("aboard: one person of 170 lb (FAA-H-8083-1B, standard weights)")
    standard = standard_weight(_ONE[0])
    assert standard is not None
    return _given(
        dossier, (weights.empty.si, weights.empty.si * weights.empty_arm.si),
        (Person("pilot", standard.si),), 0.0, parse_quantity(text, "density"), 0.0, said, asked,
    )  # fmt: skip


def _given(
    dossier: Dossier,
    empty: tuple[float, float],
    people: tuple[Person, ...],
    bags_kg: float,
    density: Quantity,
    reserve_kg: float,
    said: list[str],
    asked: Asked,
    laid_down: Quantity | None = None,
) -> _Given:
    """Return what is given, the command line's words in place of the terms'."""
    collector = Collector()
    if asked.density is not None:
        density = _quantity(asked.density, "density", "--density", collector) or density
        if not 500 <= density.si <= 1200:
            collector.add(Place("--density"), f"'{asked.density}'", "expected 0.5 to 1.2 kg/L")
    if asked.people:
        people = _people(asked.people, people, dossier.airplane, collector)
    if asked.bags is not None:
        bags = _quantity(asked.bags, "mass", "--bags", collector)
        bags_kg = bags.si if bags else bags_kg
    if asked.reserve is not None:
        reserve = _quantity(asked.reserve, "volume", "--reserve", collector)
        reserve_kg = reserve.si * density.si if reserve else reserve_kg
        said = [word for word in said if not word.startswith("reserve")]
    collector.raise_any()
    taxi = laid_down or dossier.airplane.allowances.taxi_fuel
    if taxi is None:
        said.append("the handbook gives no taxi fuel: none is counted")
    taxi_kg = taxi.si * density.si if taxi else 0.0
    return _Given(dossier, empty, people, bags_kg, density, taxi_kg, reserve_kg, tuple(said))


def _quantity(text: str, dimension: str, option: str, collector: Collector) -> Quantity | None:
    """Return a quantity of the command line that is not negative, or None with its fault collected."""
    try:
        quantity = parse_quantity(text, dimension)
    except QuantityError as error:
        collector.add(Place(option), error.found, error.expected)
        return None
    if quantity.si < 0:
        collector.add(Place(option), f"'{text}' is negative", "expected 0 or more")
        return None
    return quantity


def _people(
    told: Sequence[str], usual: Sequence[Person], airplane: Airplane, collector: Collector
) -> tuple[Person, ...]:
    """Return the people of the command line: weights, or a number of the usual ones."""
    place = Place("--people")
    if len(told) == 1 and re.fullmatch(r"[+-−]?\d+", told[0].strip()):
        count = int(told[0].replace("−", "-"))
        if not 1 <= count <= _PEOPLE_MAX:
            collector.add(place, f"{count} people", "expected at least the one who flies, and at most 40")
            return tuple(usual)
        mean = sum(person.mass_kg for person in usual) / len(usual)
        more = (Person(f"person {n + 1}", mean) for n in range(len(usual), count))
        return (*usual[:count], *more)
    if len(told) > _PEOPLE_MAX:
        collector.add(place, f"{len(told)} people", "expected at most 40")
        return tuple(usual)
    found = (_person(n, text, airplane, place, collector) for n, text in enumerate(told, 1))
    return tuple(person for person in found if person is not None)


def _person(number: int, text: str, airplane: Airplane, place: Place, collector: Collector) -> Person | None:
    match = _PERSON.match(text.strip())
    words = match["weight"] if match else text
    station = (match["station"] if match else None) or ""
    rows = [row.name for row in airplane.stations if row.seats]
    if station and station not in rows:
        expected = f"expected a row of seats of {airplane.name}: {', '.join(rows)}{near_miss(station, rows)}"
        collector.add(place, f"unknown station '{station}'", expected)
    standard = standard_weight(words)
    if standard is None and words.lower().startswith("standard"):
        collector.add(place, f"unknown standard weight '{words}'", f"expected one of: {'; '.join(STANDARD)}")
        return None
    quantity = standard or _quantity(words, "mass", place.file, collector)
    if quantity is None:
        return None
    if not 0 < quantity.si <= 300:
        collector.add(place, f"a person of {words}", "expected more than 0 kg and at most 300 kg")
        return None
    name = ((match["name"] if match else None) or f"person {number}").strip()
    return Person(name, quantity.si, station)


def _loaded(given: _Given, asked: Asked) -> Loaded:
    airplane, density = given.dossier.airplane, given.density.si
    ready = Ready(airplane, *given.empty, density, given.taxi_kg, given.reserve_kg)
    collector = Collector()
    fuel_kg: float | None = None
    if asked.fuel == "full":
        fuel_kg = ready.capacity_kg
    elif asked.fuel is not None:
        fuel = _quantity(asked.fuel, "volume", "--fuel", collector)
        collector.raise_any()
        assert fuel is not None
        fuel_kg = fuel.si * density
        if fuel_kg > ready.capacity_kg + 1e-6:
            unit = airplane.tanks[0].usable.unit
            most = format_number(unit.from_si(ready.capacity_kg / density), 1)
            expected = f"expected at most the {most} {unit.label} that the tanks of {airplane.name} hold"
            raise Problems([Problem(Place("--fuel"), f"'{asked.fuel}'", expected)])
    assumed = list(given.assumed)
    if len(given.people) > airplane.seats:
        assumed.append(f"{len(given.people)} people for {airplane.seats} seats")
    return Loaded(
        given.dossier.key, airplane, answer(ready, given.people, given.bags_kg, fuel_kg), tuple(assumed)
    )
