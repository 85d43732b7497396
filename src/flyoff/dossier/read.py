"""A dossier read from its files, with everything that cannot be so named at once."""

import itertools
import os
from dataclasses import dataclass, field
from pathlib import Path

from flyoff.core.figure import slug
from flyoff.core.problems import Collector, Problems, near_miss
from flyoff.core.record import Context, Record, Text, validate
from flyoff.core.sources import Place, Source
from flyoff.core.tomlfile import Document, read_toml
from flyoff.dossier.airplane import Airplane, Envelope, Name
from flyoff.dossier.loading import MASS_TOLERANCE_KG
from flyoff.dossier.tables import Table, read_table


@dataclass(frozen=True)
class Dossier:
    """An airplane with its handbook tables."""

    key: str
    airplane: Airplane
    document: Document
    tables: dict[str, Table] = field(default_factory=dict)
    """By kind; a further cruise table by `cruise_key`."""

    def place(self, *path: str | int) -> Place:
        """Return where in the aircraft file a key path stands."""
        return self.document.place(*path)


class SourceRecord(Record):
    """One entry of sources.toml."""

    title: Name
    year: int | None = None
    publisher: Text = ""
    kind: Text = ""
    note: Text = ""


def read_sources(path: Path, name: str, collector: Collector) -> dict[str, Source]:
    """Return the sources of a study by their keys; faults go to `collector`."""
    try:
        document = read_toml(path, name)
    except Problems as problems:
        collector.extend(problems.problems)
        return {}
    sources: dict[str, Source] = {}
    for key, entry in document.data.items():
        if not isinstance(entry, dict):
            collector.add(document.place(key), "not a table", f"expected [{key}] with a title")
            continue
        part = Document(name, entry, {p[1:]: line for p, line in document.lines.items() if p[0] == key})
        told = Collector()
        record = validate(SourceRecord, Context(part), told)
        for problem in told.problems:
            place = Place(name, problem.place.line, f"{key}.{problem.place.field}")
            collector.add(place, problem.found, problem.expected)
        if record is not None:
            sources[key] = Source(key, **record.model_dump())
    return sources


def check_sources(used: dict[str, Place], sources: dict[str, Source], collector: Collector) -> None:
    """Say which source keys have no entry in sources.toml; without any, that file has been told of."""
    if not sources:
        return
    for key, place in used.items():
        if key not in sources:
            expected = f"expected a key of sources.toml{near_miss(key, sources)}"
            collector.add(Place(place.file, place.line, "source"), f"unknown source '{key}'", expected)


def read_dossier(path: Path, name: str, sources: dict[str, Source], collector: Collector) -> Dossier | None:
    """Return the dossier of an aircraft file, or None with its faults in `collector`."""
    before = len(collector.problems)
    try:
        document = read_toml(path, name)
    except Problems as problems:
        collector.extend(problems.problems)
        return None
    default = document.data.get("source")
    context = Context(document, default if isinstance(default, str) else None)
    if context.source:
        context.sources_used[context.source] = document.place("source")
    airplane = validate(Airplane, context, collector)
    if airplane is None:
        check_sources(context.sources_used, sources, collector)
        return None
    for index, record in enumerate(airplane.tables):
        if record.source:
            context.sources_used.setdefault(record.source, document.place("tables", index, "source"))
    check_sources(context.sources_used, sources, collector)
    _check_weights(airplane, document, collector)
    _check_fuel_order(airplane, document, collector)
    _check_speeds(airplane, document, collector)
    _check_options(airplane, document, collector)
    _check_envelopes(airplane, document, collector)
    _check_reach(airplane, document, collector)
    _check_names(airplane, document, collector)
    tables = _read_tables(airplane, path, document, collector)
    return Dossier(path.stem, airplane, document, tables) if len(collector.problems) == before else None


def cruise_key(mixture: str) -> str:
    """Return the name of a further cruise table, for another mixture than the first one's."""
    return f"cruise, {mixture}"


def _read_tables(
    airplane: Airplane, path: Path, document: Document, collector: Collector
) -> dict[str, Table]:
    tables: dict[str, Table] = {}
    for index, record in enumerate(airplane.tables):
        place = document.place("tables", index, "kind")
        key: str = record.kind
        if key in tables and key == "cruise" and record.mixture:
            key = cruise_key(record.mixture)
        if key in tables or (key != record.kind and tables["cruise"].record.mixture == record.mixture):
            expected = "expected one table of each kind, of cruise one for each mixture"
            collector.add(place, f"a second {record.kind} table", expected)
            continue
        target = Path(os.path.realpath(path.parent / record.file))
        if not target.is_relative_to(os.path.realpath(path.parent)):
            where = document.place("tables", index, "file")
            collector.add(where, f"'{record.file}' is outside the study", "expected a file beside this one")
            continue
        name = str(Path(document.name).parent / record.file)
        try:
            table = read_table(target, name, record, collector)
        except Problems as problems:
            collector.extend(problems.problems)
            continue
        if table is not None:
            tables[key] = table
    return tables


def _check_weights(airplane: Airplane, document: Document, collector: Collector) -> None:
    weights = airplane.weights
    for limit in ("takeoff", "ramp", "landing", "zero_fuel"):
        quantity = getattr(weights, limit)
        if quantity is not None and quantity.si <= weights.empty.si:
            collector.add(
                document.place("weights", limit),
                f"{quantity} is not above the empty weight",
                f"expected more than {weights.empty}, on line {weights.empty.place.line}",
            )
    if weights.ramp is not None and weights.ramp.si < weights.takeoff.si:
        expected = f"expected at least the takeoff weight, {weights.takeoff}"
        collector.add(document.place("weights", "ramp"), f"{weights.ramp} is below takeoff", expected)
    for limit in ("landing", "zero_fuel"):
        quantity = getattr(weights, limit)
        if quantity is not None and quantity.si > weights.takeoff.si:
            expected = f"expected at most the takeoff weight, {weights.takeoff}"
            collector.add(document.place("weights", limit), f"{quantity} is above takeoff", expected)
    if airplane.engine.aspiration == "turbocharged" and airplane.engine.critical_altitude is None:
        expected = "expected the critical altitude of a turbocharged engine"
        collector.add(document.place("engine", "critical_altitude"), "missing", expected)
    for index, tank in enumerate(airplane.tanks):
        if tank.fuel != airplane.engine.fuel:
            expected = f"expected {airplane.engine.fuel}, as the engine burns"
            collector.add(document.place("tanks", index, "fuel"), f"'{tank.fuel}'", expected)


def _check_fuel_order(airplane: Airplane, document: Document, collector: Collector) -> None:
    names = [tank.name for tank in airplane.tanks]
    for index, name in enumerate(airplane.fuel_order):
        place = document.place("fuel_order", index)
        if name not in names:
            collector.add(place, f"unknown tank '{name}'", f"expected a tank{near_miss(name, names)}")
        elif name in airplane.fuel_order[:index]:
            collector.add(place, f"'{name}' again", "expected each tank once")
    gone = [name for name in names if name not in airplane.fuel_order]
    if airplane.fuel_order and gone:
        place = document.place("fuel_order")
        collector.add(place, f"'{gone[0]}' is missing", "expected every tank, in the order of use")


def _check_speeds(airplane: Airplane, document: Document, collector: Collector) -> None:
    never, normal = airplane.speeds.never_exceed, airplane.speeds.normal_operating
    if never is not None and normal is not None and never.si <= normal.si:
        expected = f"expected more than the normal operating speed, {normal}"
        collector.add(document.place("speeds", "never_exceed"), str(never), expected)


def _check_options(airplane: Airplane, document: Document, collector: Collector) -> None:
    names = [option.name for option in airplane.options]
    for index, option in enumerate(airplane.options):
        for relation in ("excludes", "needs"):
            for number, other in enumerate(getattr(option, relation)):
                place = document.place("options", index, relation, number)
                if other == option.name:
                    collector.add(place, f"'{option.name}' {relation} itself", "expected another option")
                elif other not in names:
                    expected = f"expected an option of this airplane{near_miss(other, names)}"
                    collector.add(place, f"unknown option '{other}'", expected)
        for other in set(option.needs) & set(option.excludes):
            place = document.place("options", index)
            collector.add(place, f"'{option.name}' needs and excludes '{other}'", "expected one of the two")
        if option.price is not None and option.price_year is None:
            place = document.place("options", index, "price")
            collector.add(place, "a price without a year", "expected price_year beside it")
    for number, included in enumerate(airplane.weights.includes):
        if included in airplane.weights.includes[:number]:
            place = document.place("weights", "includes", number)
            collector.add(place, f"'{included}' included twice", "expected each option once")
        for other in airplane.weights.includes:
            if included in names and other in airplane.option(included).excludes:
                place = document.place("weights", "includes", number)
                expected = "expected options that can be had together"
                collector.add(place, f"'{included}' excludes '{other}', which is included too", expected)
        if included not in names:
            place = document.place("weights", "includes", number)
            expected = f"expected an option of this airplane{near_miss(included, names)}"
            collector.add(place, f"unknown option '{included}'", expected)


def _check_names(airplane: Airplane, document: Document, collector: Collector) -> None:
    for group in ("tanks", "stations", "envelopes", "options"):
        seen: dict[str, int] = {}
        for index, item in enumerate(getattr(airplane, group)):
            key = slug(item.name)
            if not key:
                place = document.place(group, index, "name")
                collector.add(place, f"'{item.name}' names nothing", "expected letters or digits in a name")
            if key in seen:
                place = document.place(group, index, "name")
                expected = f"expected a name of its own (see line {seen[key]})"
                collector.add(place, f"'{item.name}' given twice", expected)
            seen.setdefault(key, document.place(group, index, "name").line)
    if airplane.seats == 0:
        collector.add(document.place("stations"), "no seats", "expected seats in at least one station")


def _check_envelopes(airplane: Airplane, document: Document, collector: Collector) -> None:
    for index, envelope in enumerate(airplane.envelopes):
        place = document.place("envelopes", index, "points")
        corners = [(point.arm.si, point.weight.si) for point in envelope.points]
        if len(set(corners)) < len(corners):
            collector.add(place, f"'{envelope.name}' has a corner twice", "expected each corner once")
        elif _crosses_itself(corners):
            expected = "expected the corners in order round the edge"
            collector.add(place, f"the edge of '{envelope.name}' crosses itself", expected)
        elif _area(corners) == 0:
            collector.add(
                place, f"'{envelope.name}' encloses nothing", "expected corners that enclose an area"
            )
        else:
            _check_envelope_top(envelope, airplane, place, collector)


def _check_reach(airplane: Airplane, document: Document, collector: Collector) -> None:
    """Check that an envelope holds the takeoff weight."""
    tops = [max(point.weight.si for point in envelope.points) for envelope in airplane.envelopes]
    takeoff = airplane.weights.takeoff
    if max(tops) < takeoff.si - MASS_TOLERANCE_KG:
        expected = f"expected one that reaches the takeoff weight, {takeoff}"
        collector.add(document.place("envelopes"), "no envelope is high enough", expected)


def _check_envelope_top(envelope: Envelope, airplane: Airplane, place: Place, collector: Collector) -> None:
    top = max(envelope.points, key=lambda point: point.weight.si).weight
    if top.si <= airplane.weights.empty.si:
        expected = f"expected corners above the empty weight, {airplane.weights.empty}"
        collector.add(place, f"'{envelope.name}' ends at {top}", expected)


def _area(corners: list[tuple[float, float]]) -> float:
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _crosses_itself(corners: list[tuple[float, float]]) -> bool:
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for (i, (a, b)), (j, (c, d)) in itertools.combinations(enumerate(edges), 2):
        if j - i in (1, len(edges) - 1):
            continue
        if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
            return True
    return False
