"""One recorder file as a repaired log, whatever its format and size."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from flyoff.core.files import MEBIBYTE
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.flights.card import LogFile
from flyoff.flights.clock import DAY_S
from flyoff.flights.csvlog import CsvPlan, check_medians, csv_plan, log_of_rows, read_csv_log
from flyoff.flights.decimate import said_of_means, second_means
from flyoff.flights.derive import with_velocity
from flyoff.flights.gpx import read_gpx_log
from flyoff.flights.igc import read_igc_log
from flyoff.flights.log import Log, Repair, Where
from flyoff.flights.repairs import clock_repaired, repair
from flyoff.flights.table import LARGEST_LOG, LARGEST_WHOLE, check_log_size, decode, read_log_bytes, read_rows

PART = 24 * MEBIBYTE
"""[bytes] What is read of a large file at a time."""
MOST_ROWS = 2_000_000
"""Second means that a log may have: 23 days. No flight is longer, and memory is not endless."""
_MOST_LISTED = 20


def read_log(path: Path, spec: LogFile, where: Where, day: date) -> Log:
    """Return a recorder file's log, repaired; `where` places the keys of its entry in the flight file.

    Raises
    ------
    Problems
        All faults of the file and of its mapping.
    """
    name = spec.file
    if spec.format == "gpx":
        check_log_size(path, name, LARGEST_WHOLE)
        return with_velocity(repair(read_gpx_log(read_log_bytes(path, name), name)))
    if spec.format == "igc":
        check_log_size(path, name, LARGEST_WHOLE)
        data = read_log_bytes(path, name)
        return with_velocity(repair(read_igc_log(data, name, day, spec.columns, where)))
    if path.is_file() and path.stat().st_size > LARGEST_WHOLE:
        return with_velocity(_read_in_parts(path, spec, where, day))
    return with_velocity(repair(read_csv_log(read_log_bytes(path, name), name, spec, where, day)))


def _read_in_parts(path: Path, spec: LogFile, where: Where, day: date) -> Log:
    """Return a large log as second means, each part repaired before it is averaged."""
    name = spec.file
    check_log_size(path, name, LARGEST_LOG)
    if spec.encoding == "utf-16":
        raise Problems(
            [Problem(Place(name), "a large file in UTF-16", "expected UTF-8 for logs over 64 MiB")]
        )
    head = decode(_whole_lines(read_log_bytes(path, name, PART)), spec.encoding, name)
    plan = csv_plan(head, name, spec, where, day)
    parts: list[Log] = []
    held: Log | None = None  # the rows of a second that the next part may go on with
    rows = 0
    for part in _parts(path, plan):
        log = _continued(part, held)
        rows += len(log)
        if not len(log):
            continue
        log = repair(log)
        log = log if held is None else _joined(name, [replace(held, repairs=()), log])
        done = log.time_s < np.floor(log.time_s[-1])
        held = log.where(~done)
        if done.any():
            parts.append(second_means(log.where(done), float(np.floor(log.time_s[0]))))
        if sum(map(len, parts)) > MOST_ROWS:
            found = f"more than {MOST_ROWS:,} seconds of readings up to line {int(log.lines[-1]):,}"
            raise Problems([Problem(Place(name), found, "expected one flight: cut the log to its day")])
    if held is not None:
        parts.append(second_means(replace(held, repairs=())))
    if not parts:
        raise Problems([Problem(Place(name), "no rows with a time", "expected a recorder log")])
    whole = _joined(name, parts)
    check_medians(whole, plan)
    return replace(whole, repairs=(said_of_means(whole, rows), *whole.repairs))


def _whole_lines(data: bytes) -> bytes:
    return data[: data.rfind(b"\n") + 1] or data


def _parts(path: Path, plan: CsvPlan) -> Iterator[Log]:
    """Give a file's rows a part at a time; a line cut at a part's end goes to the next."""
    spec, left, before = plan.spec, b"", 0
    with path.open("rb") as stream:
        while True:
            block = stream.read(PART)
            if b"\0" in block:
                raise Problems(
                    [Problem(Place(plan.name), "a NUL byte: this is not text", "expected a text log")]
                )
            data = left + block
            cut = data.rfind(b"\n") + 1 if block else len(data)
            left, data = data[cut:], data[:cut]
            if not data and not block:
                return
            if len(left) > PART:
                raise Problems([Problem(Place(plan.name, before + 1), "no line ends", "expected a table")])
            text = decode(data, spec.encoding, plan.name)
            lines = text.count(b"\n") + (not text.endswith(b"\n") and bool(text))
            skipped = max(plan.lines_before - before, 0)
            rows = text.split(b"\n", skipped)[-1] if skipped else text
            table = read_rows(rows, plan.header, plan.name, spec.separator, before + skipped)
            yield log_of_rows(table, plan, fewest=0 if before else 2)
            before += lines


def _continued(log: Log, last: Log | None) -> Log:
    """Return a part whose clock goes on from the part before: past midnight, and never backwards."""
    log = clock_repaired(log)
    if last is None or not len(log):
        return log
    end = float(last.time_s[-1])
    if log.time_s[0] < end - DAY_S / 2:
        log = replace(log, time_s=log.time_s + DAY_S * np.ceil((end - DAY_S / 2 - log.time_s[0]) / DAY_S))
    after = log.time_s > end
    if after.all():
        return log
    lines = log.lines[~after]
    why = "left out: the clock runs backwards here"
    said = Repair("clock backwards", "clock", end, end, (int(lines[0]), int(lines[-1])), len(lines), why)
    return replace(log.where(after), repairs=(*log.repairs, said))


def _joined(name: str, parts: list[Log]) -> Log:
    channels = {
        channel: np.concatenate([part.channels[channel] for part in parts]) for channel in parts[0].channels
    }
    steps = {key: min(part.resolution[key] for part in parts) for key in parts[0].resolution}
    time_s = np.concatenate([part.time_s for part in parts])
    lines = np.concatenate([part.lines for part in parts])
    return Log(name, time_s, lines, channels, steps, _gathered([r for part in parts for r in part.repairs]))


def _gathered(repairs: list[Repair]) -> tuple[Repair, ...]:
    """Return repairs, those of one kind told as one where they are many."""
    counts = Counter((r.kind, r.channel, r.why) for r in repairs)
    told: list[Repair] = []
    for key, count in counts.items():
        same = [r for r in repairs if (r.kind, r.channel, r.why) == key]
        if count > _MOST_LISTED:
            lines = (min(r.lines[0] for r in same), max(r.lines[1] for r in same))
            start, end = min(r.start_s for r in same), max(r.end_s for r in same)
            same = [Repair(*key[:2], start, end, lines, sum(r.count for r in same), key[2])]
        told += same
    return tuple(sorted(told, key=lambda r: (r.start_s, r.kind, r.channel)))
