"""From what a recorder writes as its time to seconds since 1970-01-01 UTC."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from flyoff.core.typing import Array

DAY_S = 86400.0
COUNTED = {"unix s": 1.0, "unix ms": 1e-3, "elapsed s": 1.0, "elapsed ms": 1e-3}
"""Clocks that count, with their tick in seconds; the others are date patterns."""

_OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})")
_ISO = (
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M:%S%.f%#z",
    "%Y-%m-%d %H:%M:%S%.f %#z",
    "%Y-%m-%dT%H:%M",
)


@dataclass(frozen=True)
class Clock:
    """How a time is written: ``iso``, a counted clock, or a strftime pattern; and its zone."""

    format: str
    zone_offset_s: float
    date: date


def zone_offset_s(text: str) -> float:
    """Return a zone such as ``UTC`` or ``+02:00`` as seconds east of Greenwich.

    Raises
    ------
    ValueError
        If it is neither.
    """
    if text in {"UTC", "Z", "GMT"}:
        return 0.0
    match = _OFFSET.fullmatch(text.replace("−", "-"))
    if not match or int(match[2]) > 14 or int(match[3]) > 59:
        raise ValueError(f"unknown zone '{text}'")
    sign = -1 if match[1] == "-" else 1
    return float(sign * (int(match[2]) * 3600 + int(match[3]) * 60))


def read_times(texts: pl.Series, clock: Clock) -> Array:
    """Return times as seconds since 1970 UTC, shape (n,); NaN where unreadable."""
    if clock.format in COUNTED:
        numbers = texts.cast(pl.Float64, strict=False).to_numpy().astype(float)
        ticks = np.where(np.isfinite(numbers), numbers, np.nan) * COUNTED[clock.format]
        if clock.format.startswith("unix"):
            return ticks
        return ticks + _midnight_s(clock.date) - clock.zone_offset_s
    if clock.format == "iso":
        return _iso(texts, clock)
    pattern = clock.format.replace("%S", "%S%.f") if "%.f" not in clock.format else clock.format
    if "%d" in pattern or "%j" in pattern:
        return _datetimes(texts, pattern) - (0.0 if "%z" in pattern else clock.zone_offset_s)
    dated = pl.Series([f"{clock.date.isoformat()} "] * len(texts), dtype=pl.String) + texts
    return unwrap_midnight(_datetimes(dated, f"%Y-%m-%d {pattern}") - clock.zone_offset_s)


def unwrap_midnight(time_s: Array) -> Array:
    """Return times of day made continuous over midnight."""
    known = np.flatnonzero(~np.isnan(time_s))
    out = time_s.copy()
    if len(known) > 1:
        falls = np.diff(time_s[known]) < -DAY_S / 2
        out[known[1:]] += DAY_S * np.cumsum(falls)
    return out


def _iso(texts: pl.Series, clock: Clock) -> Array:
    best = np.full(len(texts), np.nan)
    zoned = texts.str.ends_with("Z").fill_null(value=False).to_numpy()
    plain = texts.str.strip_suffix("Z")
    for pattern in _ISO:
        missing = np.isnan(best)
        if not missing.any():
            break
        found = _datetimes(plain, pattern)
        if "z" not in pattern:
            found = found - np.where(zoned, 0.0, clock.zone_offset_s)
        best = np.where(missing, found, best)
    return best


def _datetimes(texts: pl.Series, pattern: str) -> Array:
    pattern = pattern.replace("%#z", "%z")
    try:
        parsed = texts.str.to_datetime(pattern, strict=False, time_unit="us")
    except pl.exceptions.PolarsError:
        return np.full(len(texts), np.nan)
    micros = parsed.dt.epoch("us").cast(pl.Float64)
    return micros.to_numpy().astype(float) * 1e-6


def _midnight_s(day: date) -> float:
    return (day - date(1970, 1, 1)) / timedelta(seconds=1)
