"""The reduction of a log, of an archive of flights and of a large log, against only reading the same files.

What only reads is a general data-frame library. The archive stands for 2,000 flights: `ARCHIVE` of them
are timed, on two cores, and the ratio is that of the whole.
"""

import multiprocessing
import resource
import tempfile
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import polars as pl
from run import Ratio, best_of

from flyoff.flights.read import read_flight
from flyoff.reduction.run import reduce_flight

DEMO = Path(__file__).resolve().parents[1] / "src/flyoff/demo/files/flights"
HOURS = 3
ARCHIVE = 16
CORES = 2
SPAWN = multiprocessing.get_context("spawn")  # a forked worker would share the library's threads
LARGE_ROWS = 1_000_000
LARGE_HERTZ = 50


def _long_log(folder: Path, seconds: int = HOURS * 3600) -> Path:
    """Write the demo's flight over and over, its clock running on, until the time is full."""
    rows = (DEMO / "2026-06-02.csv").read_text(encoding="utf-8").splitlines()
    head, body = rows[:4], rows[4:]
    start = datetime(2026, 6, 2, 6, tzinfo=UTC)
    lines = []
    for second in range(seconds):
        clock = start + timedelta(seconds=second)
        rest = body[second % len(body)].split(";", 2)[2]
        lines.append(f"{clock:%d-%m-%Y;%H:%M:%S};{rest}")
    (folder / "2026-06-02.csv").write_text("\n".join([*head, *lines]) + "\n", encoding="utf-8")
    (folder / "flight.toml").write_text(_card(), encoding="utf-8")
    return folder / "flight.toml"


def _card() -> str:
    """Return the demo's flight file without the fuel at its start, which no flight of many hours has."""
    lines = (DEMO / "2026-06-02.toml").read_text(encoding="utf-8").splitlines()
    return "\n".join(line for line in lines if not line.startswith("fuel_at_start")) + "\n"


def _large_log(folder: Path) -> Path:
    """Write the demo's flight with fifty rows for each second."""
    rows = (DEMO / "2026-06-02.csv").read_text(encoding="utf-8").splitlines()
    head, body = rows[:4], rows[4:]
    start = datetime(2026, 6, 2, 6, tzinfo=UTC)
    with (folder / "2026-06-02.csv").open("w", encoding="utf-8") as stream:
        stream.write("\n".join(head) + "\n")
        for second in range(LARGE_ROWS // LARGE_HERTZ):
            clock = f"{start + timedelta(seconds=second):%d-%m-%Y;%H:%M:%S}"
            rest = body[second % len(body)].split(";", 2)[2]
            stream.writelines(f"{clock}.{i * 1000 // LARGE_HERTZ:03d};{rest}\n" for i in range(LARGE_HERTZ))
    (folder / "flight.toml").write_text(_card(), encoding="utf-8")
    return folder / "flight.toml"


def _reduce(flight: Path) -> int:
    return len(reduce_flight(read_flight(flight)).points)


def _read(log: Path) -> pl.DataFrame:
    return pl.read_csv(log, separator=";", skip_rows=3, decimal_comma=True, infer_schema=False)


def _archive(folder: Path) -> list[Path]:
    """Write flights of the demo's length, each in a folder of its own."""
    length = len((DEMO / "2026-06-02.csv").read_text(encoding="utf-8").splitlines()) - 4
    flights = []
    for number in range(ARCHIVE):
        own = folder / f"{number:04d}"
        own.mkdir()
        flights.append(_long_log(own, length))
    return flights


def measure() -> list[Ratio]:
    found = []
    with tempfile.TemporaryDirectory() as name:
        flight = _long_log(Path(name))
        whole = best_of(lambda: _reduce(flight))
        only_read = best_of(lambda: _read(flight.with_name("2026-06-02.csv")))
        title = f"reading and reducing a {HOURS}-hour log"
        found.append(Ratio(title, whole, "polars reading it as text", only_read))
    with tempfile.TemporaryDirectory() as name, ProcessPoolExecutor(CORES, SPAWN) as pool:
        flights = _archive(Path(name))
        list(pool.map(_reduce, flights[:CORES]))  # the workers have imported what they need
        whole = best_of(lambda: list(pool.map(_reduce, flights, chunksize=4)), times=1)
        only_read = best_of(lambda: [_read(f.with_name("2026-06-02.csv")) for f in flights])
        title = f"reducing an archive on {CORES} cores ({ARCHIVE} flights of the 2,000 timed)"
        found.append(Ratio(title, whole, "polars reading the same files as text", only_read))
    with tempfile.TemporaryDirectory() as name:
        flight = _large_log(Path(name))
        whole = best_of(lambda: _reduce(flight), times=1)
        only_read = best_of(lambda: _read(flight.with_name("2026-06-02.csv")))
        title = f"reading and reducing {LARGE_ROWS:,} rows at {LARGE_HERTZ} Hz"
        found.append(Ratio(title, whole, "polars reading it as text", only_read))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"most memory held, this benchmark's reading as text included: {peak:,.0f} MiB")
    return found
