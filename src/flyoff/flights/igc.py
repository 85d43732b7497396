"""IGC flight recorder files (the open format of the world air sports federation).

A file of short records, one on a line, told apart by their first letter. Read
here: ``H`` for the date, ``I`` and ``J`` for the layout of what follows the
fixed part of ``B`` and ``K`` records, ``B`` for fixes and ``K`` for readings
that come less often. Times are UTC, pressure altitude is above 1013.25 hPa.

Reference: FAI, Technical Specification for IGC-Approved GNSS Flight
Recorders, appendix A (A3 to A7). The format leaves the unit of airspeeds
open; kilometres per hour are assumed unless the flight file says another.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from flyoff.core.problems import Collector, Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Mask
from flyoff.core.units import UnknownUnit, degree, find_unit
from flyoff.flights.card import LogColumn
from flyoff.flights.channels import CHANNELS
from flyoff.flights.clock import DAY_S
from flyoff.flights.log import FEWEST_ROWS, Log, Repair, Where, counted, step_of, wrapped

USUAL_COLUMNS = {
    "true_airspeed": LogColumn(column="TAS", unit="km/h"),
    "indicated_airspeed": LogColumn(column="IAS", unit="km/h"),
    "ground_speed": LogColumn(column="GSP", unit="km/h"),
    "ground_track": LogColumn(column="TRT", unit="°"),
    "true_heading": LogColumn(column="HDT", unit="°"),
    "magnetic_heading": LogColumn(column="HDM", unit="°"),
    "outside_air_temperature": LogColumn(column="OAT", unit="°C"),
    "rpm": LogColumn(column="RPM", unit="rpm"),
    "noise_level": LogColumn(column="ENL", unit="%"),
}
"""The three-letter codes of optional fields that are channels of ours, from memory, and their usual units."""

_FIX = re.compile(
    rb"B(\d{2})(\d{2})(\d{2})(\d{2})(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])([-\d]\d{4})([-\d]\d{4})(.*)"
)
_DATE = re.compile(r"HFDTE(?:DATE)?:?\s*(\d{2})(\d{2})(\d{2})(?:,(\d+))?")
_K_TIME = re.compile(rb"K(\d{2})(\d{2})(\d{2})(.*)")
_B_FIXED, _K_FIXED = 35, 7
_WHOLE_DIGITS = 3
_K_WITHIN_S = 2.0
_CENTURY_SPLIT = 80


@dataclass(frozen=True)
class _Field:
    """Where an optional field stands, as a slice of what follows a record's fixed part."""

    code: str
    start: int
    end: int


@dataclass
class _Rows:
    """Fixes as they are gathered, one list for each."""

    time_s: list[float]
    line: list[int]
    latitude: list[float]
    longitude: list[float]
    valid: list[bool]
    pressure_m: list[float]
    satellite_m: list[float]
    rest: list[bytes]


def read_igc_log(
    data: bytes,
    name: str,
    day: date,
    columns: Mapping[str, LogColumn] | None = None,
    where: Where | None = None,
) -> Log:
    """Return the fixes of an IGC file and its optional fields.

    Parameters
    ----------
    data, name
        The file's bytes, and what to call it.
    day
        The date where the file has no date record.
    columns
        The flight file's word on optional fields, by channel: `column` is the
        three-letter code. Comes before `USUAL_COLUMNS`.
    where
        Places the keys of the flight file's entry.

    Raises
    ------
    Problems
        If it is not an IGC file, or has fewer than two fixes.
    """
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    fields, sparse = _layout(lines, b"I", _B_FIXED), _layout(lines, b"J", _K_FIXED)
    day = igc_date(data) or day
    rows, malformed = _fixes(lines)
    if len(rows.time_s) < FEWEST_ROWS:
        raise Problems(
            [
                Problem(
                    Place(name),
                    counted(len(rows.time_s), "B record"),
                    f"expected at least {FEWEST_ROWS}, one for each fix",
                )
            ]
        )
    time_s = _over_midnight(np.array(rows.time_s)) + _since_1970_s(day) + _decimals(rows.rest, fields)
    channels = _fix_channels(rows, fields)
    resolution = {name: step_of(values) for name, values in channels.items()}
    texts = _texts(rows.rest, fields)
    texts.update(_sparse_texts(lines, sparse, time_s, _since_1970_s(day)))
    assumed = []
    for channel, (values, step, width) in _optional(
        texts, {**USUAL_COLUMNS, **(columns or {})}, where
    ).items():
        channels[channel], resolution[channel] = values, step
        if width > _WHOLE_DIGITS:
            assumed.append(channel)
    log = Log(name, time_s, np.array(rows.line, np.int64), channels, resolution)
    return replace(log, repairs=_said(log, np.array(rows.valid), malformed, assumed))


def igc_date(data: bytes) -> date | None:
    """Return the date that an IGC file's header says, None where it says none."""
    for line in data[:65536].decode("latin-1").splitlines():
        match = _DATE.match(line.strip())
        if match:
            year = int(match[3])
            try:
                return date(year + (1900 if year >= _CENTURY_SPLIT else 2000), int(match[2]), int(match[1]))
            except ValueError:
                return None
    return None


def _layout(lines: list[bytes], letter: bytes, fixed: int) -> tuple[_Field, ...]:
    """Return the optional fields that an I or J record declares: its bytes count from 1, ends included."""
    record = next((line for line in lines if line.startswith(letter)), b"").decode("latin-1").strip()
    found = []
    for match in re.finditer(r"(\d{2})(\d{2})([A-Z0-9]{3})", record[3:]):
        start, end = int(match[1]) - 1 - fixed, int(match[2]) - fixed
        if 0 <= start < end:
            found.append(_Field(match[3], start, end))
    return tuple(found)


def _fixes(lines: list[bytes]) -> tuple[_Rows, list[int]]:
    rows, malformed = _Rows([], [], [], [], [], [], [], []), []
    for number, line in enumerate(lines, 1):
        if not line.startswith(b"B"):
            continue
        match = _FIX.match(line)
        if match is None:
            malformed.append(number)
            continue
        hours, minutes, seconds, lat_deg, lat_min, ns, lon_deg, lon_min, ew, valid, pressure, satellite = (
            match.groups()[:12]
        )
        rows.time_s.append(int(hours) * 3600.0 + int(minutes) * 60 + int(seconds))
        rows.line.append(number)
        rows.latitude.append((int(lat_deg) + int(lat_min) / 60000) * (-1 if ns == b"S" else 1))
        rows.longitude.append((int(lon_deg) + int(lon_min) / 60000) * (-1 if ew == b"W" else 1))
        rows.valid.append(valid == b"A")
        rows.pressure_m.append(float(pressure))
        rows.satellite_m.append(float(satellite))
        rows.rest.append(match[13])
    return rows, malformed


def _texts(rests: list[bytes], fields: tuple[_Field, ...]) -> dict[str, list[str]]:
    return {f.code: [rest[f.start : f.end].decode("latin-1").strip() for rest in rests] for f in fields}


def _sparse_texts(
    lines: list[bytes], fields: tuple[_Field, ...], time_s: Array, midnight_s: float
) -> dict[str, list[str]]:
    """Return the fields of K records, each at the fix nearest in time, blank at the others."""
    matches = [match for line in lines if fields and (match := _K_TIME.match(line))]
    if not matches:
        return {}
    clock = np.array([int(m[1]) * 3600.0 + int(m[2]) * 60 + int(m[3]) for m in matches])
    at = _over_midnight(clock) + midnight_s
    nearest = _nearest(time_s, at)
    texts = {field.code: [""] * len(time_s) for field in fields}
    for match, row, moment in zip(matches, nearest.tolist(), at.tolist(), strict=True):
        if abs(float(time_s[row]) - moment) <= _K_WITHIN_S:
            for field in fields:
                texts[field.code][row] = match[4][field.start : field.end].decode("latin-1").strip()
    return texts


def _nearest(time_s: Array, at: Array) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    after = np.clip(np.searchsorted(time_s, at), 1, len(time_s) - 1)
    return np.where(at - time_s[after - 1] <= time_s[after] - at, after - 1, after).astype(np.int64)


def _number(text: str) -> float:
    digits = text.lstrip("+-")
    if not digits.isdigit():
        return float("nan")
    return -float(digits) if text.startswith("-") else float(digits)


def _decimals(rests: list[bytes], fields: tuple[_Field, ...]) -> Array:
    """Return the decimals of a second, where fixes come faster: the field TDS."""
    return _tail(rests, fields, "TDS")


def _tail(rests: list[bytes], fields: tuple[_Field, ...], code: str) -> Array:
    """Return further decimals of a number in its last unit; 0 where there are none."""
    field = next((f for f in fields if f.code == code), None)
    if field is None:
        return np.zeros(len(rests))
    values = np.array([_number(text) for text in _texts(rests, (field,))[code]])
    scaled: Array = np.nan_to_num(values) / 10.0 ** (field.end - field.start)
    return scaled


def _fix_channels(rows: _Rows, fields: tuple[_Field, ...]) -> dict[str, Array]:
    valid = np.array(rows.valid)
    channels = {}
    for name, values, code in (("latitude", rows.latitude, "LAD"), ("longitude", rows.longitude, "LOD")):
        degrees = np.array(values)
        degrees = degrees + np.copysign(_tail(rows.rest, fields, code) / 60000, degrees)
        channels[name] = np.where(valid, degrees * degree, np.nan)
    channels["gps_altitude"] = np.where(valid, np.array(rows.satellite_m), np.nan)
    pressure = np.array(rows.pressure_m)
    if (pressure != 0).any():  # all zero: the recorder has no pressure sensor (A4.1)
        channels["pressure_altitude"] = pressure
    return channels


def _optional(
    texts: dict[str, list[str]], columns: Mapping[str, LogColumn], where: Where | None
) -> dict[str, tuple[Array, float, int]]:
    """Return each channel of optional fields in SI, its step, and the field's width."""
    collector, found = Collector(), {}
    for channel, spec in columns.items():
        here = where("columns", channel) if where else Place("")
        if channel not in CHANNELS:
            collector.add(here, "unknown channel", f"expected one of {', '.join(CHANNELS)}")
            continue
        if spec.column not in texts:
            if USUAL_COLUMNS.get(channel) != spec:
                known = ", ".join(sorted(texts)) or "none"
                collector.add(here, f"the log has no field '{spec.column}'", f"expected one of: {known}")
            continue
        try:
            unit = find_unit(spec.unit, CHANNELS[channel].dimension)
        except UnknownUnit as error:
            collector.add(here, f"unknown unit '{spec.unit}'", f"expected {error.expected}")
            continue
        cells = texts[spec.column]
        width = max(map(len, cells), default=0)
        scale = 10.0 ** -max(width - _WHOLE_DIGITS, 0)
        if channel in {"noise_level", "rpm"}:
            scale, width = (100 / 999 if channel == "noise_level" else 1.0), _WHOLE_DIGITS
        raw = np.array([_number(cell) for cell in cells]) * scale
        if not np.isnan(raw).all():
            step = step_of(raw) * unit.factor
            found[channel] = (wrapped(CHANNELS[channel], unit.to_si(raw)), step, width)
    collector.raise_any()
    return found


def _said(log: Log, valid: Mask, malformed: list[int], assumed: list[str]) -> tuple[Repair, ...]:
    start, end = float(log.time_s[0]), float(log.time_s[-1])
    span = (int(log.lines[0]), int(log.lines[-1]))
    said = []
    if not valid.all():
        bad = np.flatnonzero(~valid)
        lines = (int(log.lines[bad[0]]), int(log.lines[bad[-1]]))
        why = "position and satellite altitude taken as missing: the recorder calls the fix void (V)"
        said.append(
            Repair(
                "no fix",
                "position",
                float(log.time_s[bad[0]]),
                float(log.time_s[bad[-1]]),
                lines,
                len(bad),
                why,
            )
        )
    for line in malformed:
        at = float(np.interp(line, log.lines, log.time_s))
        said.append(Repair("malformed row", "row", at, at, (line, line), 1, "left out: not a whole B record"))
    for channel in assumed:
        why = "the digits of its field beyond three are taken as decimals, which the format does not say"
        said.append(Repair("assumed scale", channel, start, end, span, len(log), why))
    return tuple(said)


def _over_midnight(clock_s: Array) -> Array:
    falls = np.diff(clock_s, prepend=clock_s[:1]) < -DAY_S / 2
    days: Array = clock_s + DAY_S * np.cumsum(falls)
    return days


def _since_1970_s(day: date) -> float:
    return (day - date(1970, 1, 1)) / timedelta(seconds=1)
