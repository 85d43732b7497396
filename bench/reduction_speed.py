"""The reduction of a three-hour 1 Hz log, against what a data-frame library needs only to read it."""

import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import polars as pl
from run import Ratio, best_of

from flyoff.flights.read import read_flight
from flyoff.reduction.run import reduce_flight

DEMO = Path(__file__).resolve().parents[1] / "src/flyoff/demo/files/flights"
HOURS = 3


def _long_log(folder: Path) -> Path:
    """Write the demo's flight over and over, its clock running on, until three hours are full."""
    rows = (DEMO / "2026-06-02.csv").read_text(encoding="utf-8").splitlines()
    head, body = rows[:4], rows[4:]
    start = datetime(2026, 6, 2, 6, tzinfo=UTC)
    lines = []
    for second in range(HOURS * 3600):
        clock = start + timedelta(seconds=second)
        rest = body[second % len(body)].split(";", 2)[2]
        lines.append(f"{clock:%d-%m-%Y;%H:%M:%S};{rest}")
    (folder / "2026-06-02.csv").write_text("\n".join([*head, *lines]) + "\n", encoding="utf-8")
    card = (DEMO / "2026-06-02.toml").read_text(encoding="utf-8")
    (folder / "flight.toml").write_text(card, encoding="utf-8")
    return folder / "flight.toml"


def measure() -> list[Ratio]:
    with tempfile.TemporaryDirectory() as name:
        flight = _long_log(Path(name))
        whole = best_of(lambda: reduce_flight(read_flight(flight)))
        log = flight.with_name("2026-06-02.csv")
        only_read = best_of(
            lambda: pl.read_csv(log, separator=";", skip_rows=3, decimal_comma=True, infer_schema=False)
        )
    return [Ratio(f"reading and reducing a {HOURS}-hour log", whole, "polars reading it as text", only_read)]
