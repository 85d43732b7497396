"""The simulated flights and what really happened in them, and small logs made on the spot."""

import json
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from flyoff.flights.log import Log
from flyoff.flights.propose import propose
from flyoff.flights.read import Flight, parse_flight
from flyoff.reduction.run import Reduction, reduce_flight
from flyoff.study.reduce import reduced

FOLDER = Path(__file__).parents[1] / "data" / "flights"
REAL = Path(__file__).parents[3] / "shared" / "flights" / "real"
NAMES = ("sample.csv", "sample.metric.csv", "carded.csv", "carded.metric.csv")

_KINDS = {"leg": "level", "gps_run": "level", "idle descent": "descent", "glide": "descent"}
_NAMES = {
    "tas_kt": ("tas", "tas_kt"),
    "cas_kt": ("cas", "cas_kt"),
    "outside_air_temp_c": ("oat", "oat_c"),
    "density_altitude_ft": ("da", "density_altitude_ft"),
    "fuel_flow_gph": ("ff", "fuel_flow_gph"),
    "rate_of_climb_fpm": ("roc", "climb_rate_fpm"),
    "pressure_altitude_ft": ("pa", "pressure_altitude_ft"),
    "wind_kt": ("wind_kt",),
    "wind_from_deg": ("wind_from_deg",),
}


@dataclass(frozen=True)
class Scripted:
    """One scripted condition: when, what kind, and the truth by our names."""

    kind: str
    start_s: float
    end_s: float
    truth: dict[str, float]

    def overlap_s(self, start_s: float, end_s: float) -> float:
        """Return the seconds shared with another stretch."""
        return max(0.0, min(self.end_s, end_s) - max(self.start_s, start_s))


def seconds(text: str) -> float:
    """Return ISO text as seconds since 1970 UTC."""
    return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


@cache
def flight_of(name: str) -> Flight:
    """Return a simulated flight as its proposed flight file reads it."""
    return parse_flight(propose(FOLDER / name), name, FOLDER)


@cache
def reduction_of(name: str) -> Reduction:
    """Return a simulated flight reduced."""
    return reduce_flight(flight_of(name))


@cache
def demo_reduction() -> Reduction:
    """Return the demo's flight reduced with its dossier: speed and power, climbs and glides, all of it."""
    return reduced(Path(str(files("flyoff.demo") / "files/flights/2026-06-02.toml")))


@cache
def scripted_of(name: str) -> tuple[Scripted, ...]:
    """Return the scripted conditions of a simulated flight, each leg one."""
    data = json.loads((FOLDER / f"{name.split('.')[0]}.truth.json").read_text("utf-8"))
    found = []
    for point in data["points"]:
        for part in point.get("legs", [point]):
            kind = _KINDS.get(point["kind"], point["kind"])
            found.append(Scripted(kind, seconds(part["start"]), seconds(part["end"]), _truth(part)))
    return tuple(found)


def _truth(part: dict[str, Any]) -> dict[str, float]:
    return {ours: part[key] for ours, keys in _NAMES.items() for key in keys if key in part}


def made_log(count: int = 300, step_s: float = 1.0, **channels: Any) -> Log:
    """Return a log of `count` rows from line 2 on, with channels in SI."""
    time_s = 1.0e9 + step_s * np.arange(count)
    lines = np.arange(2, count + 2)
    values = {name: np.broadcast_to(np.asarray(v, float), (count,)).copy() for name, v in channels.items()}
    return Log("made.csv", time_s, lines, values, {})


def write_flight(folder: Path, log: str | bytes, columns: str, clock: str = "", spec: str = "") -> str:
    """Write a log beside a flight file and return the flight file's text."""
    data = log.encode() if isinstance(log, str) else log
    (folder / "log.csv").write_bytes(data)
    clock = clock or 'columns = ["time"]'
    return (
        f'date = "2026-05-14"\n[[logs]]\nfile = "log.csv"\n{spec}\n[logs.clock]\n{clock}\n'
        f"[logs.columns]\n{columns}\n"
    )
