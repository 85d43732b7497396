"""The whole archive: 2,000 flights reduced on two cores, against a data-frame library reading the same files.

python bench/archive.py [FLIGHTS [MINUTES]]

Not among what ``run.py`` runs: it takes many minutes. Each flight is a stretch of the demo's, from another
second on and of MINUTES (the whole flight without), its clock and day its own, in a file of its own. The
library reads the files on the same two cores.
"""

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"  # one core for each process
os.environ["POLARS_MAX_THREADS"] = "1"

import multiprocessing
import resource
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

from reduction_speed import DEMO, _read, _reduce
from run import Ratio

CORES = 2
HEAD = 4
LOG = "2026-06-02.csv"


def write_archive(folder: Path, flights: int, minutes: int | None) -> list[Path]:
    """Write the flights and return their flight files."""
    rows = (DEMO / LOG).read_text(encoding="utf-8").splitlines()
    head, body = rows[:HEAD], [row.split(";", 2)[2] for row in rows[HEAD:]]
    card = (DEMO / "2026-06-02.toml").read_text(encoding="utf-8")
    length = 60 * minutes if minutes else len(body)
    written = []
    for number in range(flights):
        own = folder / f"{number:04d}"
        own.mkdir()
        start = datetime(2026, 1, 1, 6, tzinfo=UTC) + timedelta(days=number % 360)
        first = number * 97 % max(len(body) - length, 1)
        lines = (
            f"{start + timedelta(seconds=second):%d-%m-%Y;%H:%M:%S};{rest}"
            for second, rest in enumerate(body[first : first + length])
        )
        (own / LOG).write_text("\n".join([*head, *lines]) + "\n", encoding="utf-8")
        text = card.replace("2026-06-02", f"{start:%Y-%m-%d}", 1).partition("[[conditions]]")[0]
        (own / "flight.toml").write_text(text, encoding="utf-8")
        written.append(own / "flight.toml")
    return written


def read_log(flight: Path) -> tuple[int, float]:
    """Return how many rows the library reads of a flight's log, and the processor's seconds."""
    start = time.process_time()
    return _read(flight.with_name(LOG)).height, time.process_time() - start


def reduce(flight: Path) -> tuple[int, float]:
    """Return how many steady conditions a flight has, and the processor's seconds."""
    start = time.process_time()
    return _reduce(flight), time.process_time() - start


def main() -> None:
    """Write the archive, time both, and print the ratio."""
    flights, minutes = int((*sys.argv[1:], "2000")[0]), int(sys.argv[2]) if len(sys.argv) > 2 else None
    spawn = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as name, ProcessPoolExecutor(CORES, spawn) as pool:
        files = write_archive(Path(name), flights, minutes)
        for work in (reduce, read_log):  # the workers have imported what they need
            list(pool.map(work, files[: 2 * CORES]))
        start = time.perf_counter()
        rows, read_busy = (sum(found) for found in zip(*pool.map(read_log, files, chunksize=16), strict=True))
        only_read = time.perf_counter() - start
        start = time.perf_counter()
        points, busy = (sum(found) for found in zip(*pool.map(reduce, files, chunksize=16), strict=True))
        whole = time.perf_counter() - start
    print(Ratio(f"reducing {flights:,} flights on {CORES} cores", whole, "polars reading them", only_read))
    print(Ratio("the same by the processors' time, whatever else they do", busy, "polars", read_busy))
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{rows:,} rows, {points:,} steady conditions, at most {most:,.0f} MiB in a process")


if __name__ == "__main__":
    main()
