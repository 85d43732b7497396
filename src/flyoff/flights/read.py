"""From a flight file to a flight: its card, and its logs read and repaired."""

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path

import numpy as np
import polars as pl

from flyoff.core.problems import Collector, Problem, Problems
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, parse_toml, read_toml
from flyoff.core.units import Unit, UnknownUnit, find_unit
from flyoff.flights.card import ConditionEdit, FlightFile, LogFile, NoiseReading, NotedPoint
from flyoff.flights.channels import CHANNELS
from flyoff.flights.clock import DAY_S, Clock, read_times
from flyoff.flights.cooper_harper import contradictions
from flyoff.flights.load import read_log
from flyoff.flights.log import Log, Repair, counted, utc
from flyoff.flights.merge import Merge, merge_logs
from flyoff.flights.plausible import reviewed

_NO_YEAR = 1970
_LONGEST_GAP_S = DAY_S / 2
_WESTMOST_S, _EASTMOST_S = 11 * 3600.0, 13 * 3600.0
"""How far local clocks are behind and ahead of UTC but for a few islands: a date may be either's."""
_MOST_RECOVERY = 1.2
_EXPECTED_TIME = "expected HH:MM:SS, in UTC"
UNKNOWN = "unknown"
"""What a flight file says for its date where nobody knows it."""


@dataclass(frozen=True)
class Flight:
    """A day as flown: what was written down, and its logs, repaired.

    `date` is 1970-01-01 where nobody knows it (`date_known`). Logs of one flight
    are one, on one clock; `merges` says how. `unit_places` is where the flight file
    says the unit of a log's channel.
    """

    name: str
    date: date
    card: FlightFile
    logs: tuple[Log, ...]
    merges: tuple[Merge, ...] = ()
    date_known: bool = True
    unit_places: Mapping[tuple[str, str], Place] = field(default_factory=dict)

    @property
    def repairs(self) -> tuple[tuple[str, Repair], ...]:
        """Every repair with the name of the log it was done to."""
        own = [(log.name, repair) for log in self.logs for repair in log.repairs]
        return (*own, *((merge.log, repair) for merge in self.merges for repair in merge.repairs))

    def time_s(self, text: str) -> float:
        """Return a time of this day as seconds since 1970 UTC.

        A time of day before the log's beginning is the next day's.

        Raises
        ------
        ValueError
            If the text is no time.
        """
        time_s = _time_of(text, self.date)
        if self.logs and len(text) <= len("00:00:00Z") and time_s < self.logs[0].time_s[0] - DAY_S / 2:
            time_s += DAY_S
        return time_s


def read_flight(path: Path, name: str | None = None) -> Flight:
    """Return the flight that a file describes; its logs stand beside it.

    Raises
    ------
    Problems
        All faults of the flight file, its mappings and its logs.
    """
    return _flight(read_toml(path, name or path.name), path.parent)


def parse_flight(text: str, name: str, folder: Path) -> Flight:
    """Return the flight that TOML text describes; its logs stand in `folder`.

    Raises
    ------
    Problems
        All faults of the text, its mappings and its logs.
    """
    return _flight(parse_toml(text, name), folder)


def _flight(document: Document, folder: Path) -> Flight:
    collector = Collector()
    card = validate(FlightFile, Context(document, document.data.get("source")), collector)
    collector.raise_any()
    assert card is not None  # the collector has spoken otherwise
    day = _date(card, document, collector)
    _check_times(card, document, day, collector)
    _check_instruments(card, document, collector)
    _check_handling(card, document, collector)
    if not card.logs and not card.points:
        collector.add(Place(document.name), "nothing was flown", "expected [[logs]] or [[points]]")
    logs = _logs(card, document, folder, day, collector)
    collector.raise_any()
    whole, merges = merge_logs(logs)
    known = card.date != UNKNOWN
    for log in whole if known else ():
        _check_day(log, day, document, card, collector)
    collector.raise_any()
    places = _unit_places(whole, merges, card, document)
    whole = _reviewed(whole, card, places, collector)
    if not known and whole:
        day = date.fromisoformat(utc(float(whole[0].time_s[0]))[:10])
    flight = Flight(document.name, day, card, whole, merges, known or day.year > _NO_YEAR, places)
    _check_order(flight, document, collector)
    collector.raise_any()
    return flight


def _logs(
    card: FlightFile, document: Document, folder: Path, day: date, collector: Collector
) -> tuple[Log, ...]:
    logs = []
    for index, spec in enumerate(card.logs):
        where = partial(document.place, "logs", index)
        try:
            path = _inside(folder, spec, where("file"))
            log = read_log(path, spec, where, day)
            _check_clock(log)
            logs.append(log)
        except Problems as error:
            collector.extend(_beside(problem, spec.file, document.name) for problem in error.problems)
    return tuple(logs)


def _beside(problem: Problem, log: str, flight: str) -> Problem:
    """Return a problem of a log with the log named as its flight file is, folder and all."""
    folder, slash, _ = flight.rpartition("/")
    if problem.place.file != log:
        return problem
    return replace(problem, place=replace(problem.place, file=f"{folder}{slash}{log}"))


def _inside(folder: Path, spec: LogFile, place: Place) -> Path:
    """Return where a log stands, which must be in the flight's folder or below, links followed."""
    try:
        target = Path(os.path.realpath(folder / spec.file, strict=True))
    except FileNotFoundError:
        target = Path(os.path.realpath(folder / spec.file))
    except (OSError, ValueError) as error:
        found = f"'{spec.file}' leads nowhere ({getattr(error, 'strerror', None) or error})"
        raise Problems([Problem(place, found, "expected a recorder log")]) from None
    if not target.is_relative_to(os.path.realpath(folder)):
        found = f"'{spec.file}' is outside the flight's folder"
        raise Problems([Problem(place, found, "expected a file beside the flight file, or below it")])
    return target


def _check_clock(log: Log) -> None:
    """Say where a log is no flight: mostly backwards, or with half a day between its rows."""
    back = [repair for repair in log.repairs if repair.kind == "clock backwards"]
    lost = sum(repair.count for repair in back)
    last = max([int(log.lines[-1]), *(repair.lines[1] for repair in back)])
    rows = last - int(log.lines[0]) + 1
    if lost > rows / 2:
        found = f"the clock runs backwards in {lost:,} of {counted(rows, 'row')}"
        raise Problems([Problem(Place(log.name, last), found, "expected rows in order of time")])
    gap = int(np.argmax(np.diff(log.time_s))) if len(log) > 1 else 0
    if len(log) > 1 and log.time_s[gap + 1] - log.time_s[gap] > _LONGEST_GAP_S:
        found = f"no rows from {utc(float(log.time_s[gap]))} to {utc(float(log.time_s[gap + 1]))}"
        expected = "expected one flight: cut the log to its day, or see to its clock"
        raise Problems([Problem(Place(log.name, int(log.lines[gap + 1])), found, expected)])


def _unit_places(
    logs: tuple[Log, ...], merges: tuple[Merge, ...], card: FlightFile, document: Document
) -> dict[tuple[str, str], Place]:
    """Return where the unit of each log's channel is said: at the log that a channel was merged from."""
    files = [spec.file for spec in card.logs]
    places = {}
    for log in logs:
        taken = {c: m.log for m in merges if m.onto == log.name and not m.refused for c in m.channels}
        for channel in log.channels:
            index = files.index(taken.get(channel, log.name))
            places[log.name, channel] = document.place("logs", index, "columns", channel, "unit")
    return places


def _reviewed(
    logs: tuple[Log, ...],
    card: FlightFile,
    places: Mapping[tuple[str, str], Place],
    collector: Collector,
) -> tuple[Log, ...]:
    """Return logs whose channels have been held against each other."""
    told = []
    for log in logs:
        units: dict[str, Unit] = {}
        for channel in log.channels:
            index = int(places[log.name, channel].field.split(".")[1])
            with suppress(KeyError, UnknownUnit):
                units[channel] = find_unit(
                    card.logs[index].columns[channel].unit, CHANNELS[channel].dimension
                )

        def place_of(channel: str, name: str = log.name) -> Place:
            return places[name, channel]

        try:
            told.append(reviewed(log, place_of, units))
        except Problems as error:
            collector.extend(error.problems)
    return tuple(told)


def _date(card: FlightFile, document: Document, collector: Collector) -> date:
    if card.date == UNKNOWN:
        return date(_NO_YEAR, 1, 1)
    try:
        return date.fromisoformat(card.date)
    except ValueError:
        collector.add(
            document.place("date"), f"'{card.date}' is no date", f"expected YYYY-MM-DD, or '{UNKNOWN}'"
        )
        return date(1970, 1, 1)


def _check_day(log: Log, day: date, document: Document, card: FlightFile, collector: Collector) -> None:
    """Say where a log's clock tells another day: another flight's log, or a clock never set."""
    start_s, end_s = float(log.time_s[0]), float(log.time_s[-1])
    if utc(start_s - _WESTMOST_S)[:10] <= day.isoformat() <= utc(end_s + _EASTMOST_S)[:10]:
        return
    first, last = utc(start_s)[:10], utc(end_s)[:10]
    found = f"{day.isoformat()}, but '{log.name}' was recorded from {first} to {last}"
    if f"{first[:4]}-{first[8:]}-{first[5:7]}" == day.isoformat():
        index = [spec.file for spec in card.logs].index(log.name)
        place = document.place("logs", index, "clock", "format")
        collector.add(place, f"date = {found}", "expected day and month the other way round")
        return
    expected = "expected a log of that day; if the recorder's clock was never set, give its date here"
    collector.add(document.place("date"), found, expected)


def _check_instruments(card: FlightFile, document: Document, collector: Collector) -> None:
    recovery = card.instruments.oat_recovery
    if recovery is not None and not 0 <= recovery.si <= _MOST_RECOVERY:
        expected = f"expected 0 % to {100 * _MOST_RECOVERY:.0f} %; most probes lie between 60 % and 100 %"
        collector.add(document.place("instruments", "oat_recovery"), f"{recovery}", expected)


def _check_handling(card: FlightFile, document: Document, collector: Collector) -> None:
    """Say which ratings the decisions written with them contradict."""
    for index, note in enumerate(card.handling):
        decisions = {name: getattr(note, name) for name in ("controllable", "adequate", "satisfactory")}
        for name, expected in contradictions(note.rating, **decisions):
            answer = "true" if decisions[name] else "false"
            place = document.place("handling", index, name)
            collector.add(place, f"{name} = {answer} with a rating of {note.rating}", expected)


def _check_order(flight: Flight, document: Document, collector: Collector) -> None:
    """Say which points and conditions end before they start."""
    tables: dict[str, tuple[NotedPoint | ConditionEdit | NoiseReading, ...]] = {
        "points": flight.card.points,
        "conditions": flight.card.conditions,
        "noise": flight.card.noise,
    }
    for table, entries in tables.items():
        for index, entry in enumerate(entries):
            if flight.time_s(entry.end) < flight.time_s(entry.start):
                collector.add(
                    document.place(table, index, "end"),
                    f"'{entry.end}' is before the start, '{entry.start}'",
                    "expected a later time; past midnight, with its date",
                )


def _check_times(card: FlightFile, document: Document, day: date, collector: Collector) -> None:
    spans = (("points", card.points), ("conditions", card.conditions), ("noise", card.noise))
    for table, entries in spans:
        for index, entry in enumerate(entries):
            ends = []
            for key in ("start", "end"):
                text = getattr(entry, key)
                try:
                    ends.append(_time_of(text, day))
                except ValueError:
                    collector.add(document.place(table, index, key), f"'{text}' is no time", _EXPECTED_TIME)
            if len(ends) == 2 and ends[0] == ends[1]:
                collector.add(
                    document.place(table, index), "start and end are the same", "expected a later end"
                )
    noted = [("notes", [note.at for note in card.notes]), ("handling", [note.at for note in card.handling])]
    for table, times in noted:
        for index, text in enumerate(times):
            try:
                _time_of(text or "00:00", day)
            except ValueError as error:
                collector.add(document.place(table, index, "at"), str(error), _EXPECTED_TIME)


def _time_of(text: str, day: date) -> float:
    series = pl.Series([str(text).removesuffix("Z")], dtype=pl.String)
    for pattern in ("iso", "%H:%M:%S", "%H:%M"):
        time = float(read_times(series, Clock(pattern, 0.0, day))[0])
        if time == time:
            return time
    raise ValueError(f"'{text}' is no time")
