"""From a flight file to a flight: its card, and its logs read and repaired."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from flyoff.core.problems import Collector, Problems
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, parse_toml, read_toml
from flyoff.flights.card import FlightFile
from flyoff.flights.clock import DAY_S, Clock, read_times
from flyoff.flights.csvlog import read_csv_log
from flyoff.flights.derive import with_velocity
from flyoff.flights.gpx import read_gpx_log
from flyoff.flights.log import Log
from flyoff.flights.repairs import repair
from flyoff.flights.table import read_log_bytes


@dataclass(frozen=True)
class Flight:
    """A day as flown: what was written down, and its logs, repaired."""

    name: str
    date: date
    card: FlightFile
    logs: tuple[Log, ...]

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
    if not card.logs and not card.points:
        collector.add(Place(document.name), "nothing was flown", "expected [[logs]] or [[points]]")
    logs = []
    for index, spec in enumerate(card.logs):
        place = document.place("logs", index)
        try:
            data = read_log_bytes(folder / spec.file, spec.file)
            if spec.format == "gpx":
                log = read_gpx_log(data, spec.file)
            else:
                log = read_csv_log(data, spec.file, spec, place, day)
            logs.append(with_velocity(repair(log)))
        except Problems as error:
            collector.extend(error.problems)
    collector.raise_any()
    return Flight(document.name, day, card, tuple(logs))


def _date(card: FlightFile, document: Document, collector: Collector) -> date:
    try:
        return date.fromisoformat(card.date)
    except ValueError:
        collector.add(document.place("date"), f"'{card.date}' is no date", "expected YYYY-MM-DD")
        return date(1970, 1, 1)


def _check_times(card: FlightFile, document: Document, day: date, collector: Collector) -> None:
    for table, entries in (("points", card.points), ("conditions", card.conditions)):
        for index, entry in enumerate(entries):
            ends = []
            for key in ("start", "end"):
                text = getattr(entry, key)
                try:
                    ends.append(_time_of(text, day))
                except ValueError:
                    collector.add(
                        document.place(table, index, key), f"'{text}' is no time", "expected HH:MM:SS, in UTC"
                    )
            if len(ends) == 2 and ends[0] == ends[1]:
                collector.add(
                    document.place(table, index), "start and end are the same", "expected a later end"
                )


def _time_of(text: str, day: date) -> float:
    series = pl.Series([str(text).removesuffix("Z")], dtype=pl.String)
    for pattern in ("iso", "%H:%M:%S", "%H:%M"):
        time = float(read_times(series, Clock(pattern, 0.0, day))[0])
        if time == time:
            return time
    raise ValueError(f"'{text}' is no time")
