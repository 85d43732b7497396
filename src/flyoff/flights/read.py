"""From a flight file to a flight: its card, and its logs read and repaired."""

from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

import polars as pl

from flyoff.core.problems import Collector, Problems
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, parse_toml, read_toml
from flyoff.flights.card import FlightFile
from flyoff.flights.clock import DAY_S, Clock, read_times
from flyoff.flights.load import read_log
from flyoff.flights.log import Log, Repair, utc
from flyoff.flights.merge import Merge, merge_logs

_NO_YEAR = 1970
UNKNOWN = "unknown"
"""What a flight file says for its date where nobody knows it."""


@dataclass(frozen=True)
class Flight:
    """A day as flown: what was written down, and its logs, repaired.

    `date` is 1970-01-01 where nobody knows it (`date_known`). Logs of one flight
    are one, on one clock; `merges` says how.
    """

    name: str
    date: date
    card: FlightFile
    logs: tuple[Log, ...]
    merges: tuple[Merge, ...] = ()
    date_known: bool = True

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
    if not card.logs and not card.points:
        collector.add(Place(document.name), "nothing was flown", "expected [[logs]] or [[points]]")
    logs = []
    for index, spec in enumerate(card.logs):
        try:
            logs.append(read_log(folder / spec.file, spec, partial(document.place, "logs", index), day))
        except Problems as error:
            collector.extend(error.problems)
    collector.raise_any()
    whole, merges = merge_logs(tuple(logs))
    known = card.date != UNKNOWN
    for log in whole if known else ():
        _check_day(log, day, document.place("date"), collector)
    collector.raise_any()
    if not known and whole:
        day = date.fromisoformat(utc(float(whole[0].time_s[0]))[:10])
    return Flight(document.name, day, card, whole, merges, known or day.year > _NO_YEAR)


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


def _check_day(log: Log, day: date, place: Place, collector: Collector) -> None:
    """Say where a log's clock tells another day: another flight's log, or a clock never set."""
    first, last = (utc(float(log.time_s[end]))[:10] for end in (0, -1))
    away = (date.fromisoformat(first) - day).days, (date.fromisoformat(last) - day).days
    if min(abs(days) for days in away) > 1 and away[0] * away[1] > 0:
        collector.add(
            place,
            f"{day.isoformat()}, but '{log.name}' was recorded from {first} to {last}",
            "expected a log of that day; if the recorder's clock was never set, give its date here",
        )


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
