"""Soundings: wind and temperature by pressure, as weather services and universities publish them.

Two open forms are read: the plain text list with columns PRES HGHT TEMP DRCT
and SKNT (or SPED), each seven characters wide and blank where not measured,
and CSV whose header names pressure, temperature, wind direction and wind speed
with their units, as ``wind speed_m/s`` or ``wind speed [kt]``.
"""

import csv
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from flyoff.comparison.aloft import Level
from flyoff.core.figure import format_number
from flyoff.core.files import read_text
from flyoff.core.problems import Collector, Problem, Problems
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.sources import Place
from flyoff.core.units import UnknownUnit, find_unit, ft
from flyoff.physics.atmosphere import altitude_at_pressure

_WIDTH = 7
_TEXT = {"PRES": "pressure", "TEMP": "temperature", "DRCT": "direction", "SKNT": "speed", "SPED": "speed"}
_UNITS = {"hPa": "hPa", "C": "°C", "deg": "°", "degree": "°", "degrees": "°", "knot": "kt", "knots": "kt",
          "m/s": "m/s", "K": "K", "Pa": "Pa", "mb": "hPa"}  # fmt: skip
_DIMENSIONS = {"pressure": "pressure", "temperature": "temperature", "direction": "angle", "speed": "speed"}
_CSV = {
    "pressure": "pressure",
    "temperature": "temperature",
    "air temperature": "temperature",
    "wind direction": "direction",
    "wind speed": "speed",
}
_HEADER = re.compile(r"^(?P<name>.*?)\s*(?:\[(?P<unit>[^\]]+)\]|_(?P<after>[^_]+))$")
_TOP_M = 20_000 * ft
_APART_M = 200 * ft
_CALM_DEG = 360.0 + 1e-6


@dataclass(frozen=True)
class _Row:
    """One level as printed: text by quantity, its line."""

    line: int
    cells: Mapping[str, str]


def read_sounding(path: Path, name: str) -> tuple[Level, ...]:
    """Return a sounding's levels up to 20,000 ft, no nearer than 200 ft, from the lowest.

    Levels without wind are left out. Altitudes are pressure altitudes.

    Raises
    ------
    Problems
        If it cannot be read, or has no level with pressure, direction and speed.
    """
    lines = read_text(path, name).splitlines()
    rows, units = (
        _text_rows(lines) if any(_is_text_header(line) for line in lines) else _csv_rows(lines, name)
    )
    collector = Collector()
    levels = list(_levels(rows, units, name, collector))
    collector.raise_any()
    if not levels:
        raise Problems([Problem(Place(name), "no level with pressure and wind", "expected at least one")])
    return _thinned(levels)


def _is_text_header(line: str) -> bool:
    return {"PRES", "DRCT"} <= set(line.split())


def _text_rows(lines: Sequence[str]) -> tuple[list[_Row], dict[str, str]]:
    at = next(i for i, line in enumerate(lines) if _is_text_header(line))
    names = [lines[at][i : i + _WIDTH].strip() for i in range(0, len(lines[at]), _WIDTH)]
    below = lines[at + 1] if at + 1 < len(lines) else ""
    told = [below[i : i + _WIDTH].strip() for i in range(0, len(below), _WIDTH)]
    units = {_TEXT[n]: u for n, u in zip(names, told, strict=False) if n in _TEXT}
    rows = []
    for number, line in enumerate(lines[at + 2 :], at + 3):
        if not line.strip() or set(line.strip()) == {"-"}:
            continue
        cells = [line[i : i + _WIDTH].strip() for i in range(0, len(line), _WIDTH)]
        if not _is_number(cells[0]):  # the indices of the station follow its levels
            break
        rows.append(_Row(number, {_TEXT[n]: c for n, c in zip(names, cells, strict=False) if n in _TEXT}))
    return rows, units


def _csv_rows(lines: Sequence[str], name: str) -> tuple[list[_Row], dict[str, str]]:
    at = next((i for i, line in enumerate(lines) if "," in line and not line.startswith("#")), None)
    header = next(csv.reader([lines[at]])) if at is not None else []
    columns: dict[int, str] = {}
    units: dict[str, str] = {}
    for index, text in enumerate(header):
        match = _HEADER.match(text.strip())
        quantity = _CSV.get(match["name"].strip().casefold()) if match else None
        if match and quantity and quantity not in units:
            columns[index], units[quantity] = quantity, match["unit"] or match["after"]
    lacking = [word for word in ("pressure", "direction", "speed") if word not in units]
    if at is None or lacking:
        expected = (
            "expected the text list with PRES, DRCT and SKNT, or CSV with pressure, wind direction and "
        )
        found = f"no column of {' or '.join(lacking) or 'pressure'} with its unit"
        raise Problems(
            [Problem(Place(name, (at or 0) + 1), found, f"{expected}wind speed, each with its unit")]
        )
    rows = []
    for number, cells in enumerate(csv.reader(lines[at + 1 :]), at + 2):
        if cells and not cells[0].startswith("#"):
            rows.append(
                _Row(number, {word: cells[i].strip() for i, word in columns.items() if i < len(cells)})
            )
    return rows, units


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def _levels(
    rows: Sequence[_Row], units: Mapping[str, str], name: str, collector: Collector
) -> Iterator[tuple[float, Level]]:
    for row in rows:
        found: dict[str, Quantity] = {}
        for word, text in row.cells.items():
            quantity = _quantity(text, units.get(word, ""), word, Place(name, row.line, word), collector)
            if quantity is not None:
                found[word] = quantity
        if not {"pressure", "direction", "speed"} <= set(found):
            continue
        if not (5_000 <= found["pressure"].si <= 110_000 and 0 <= found["direction"].number <= _CALM_DEG):
            expected = "expected 50 to 1,100 hPa and a direction from 0 to 360 °"
            collector.add(Place(name, row.line), f"{found['pressure']} and {found['direction']}", expected)
            continue
        if found["speed"].si < 0:
            collector.add(Place(name, row.line, "speed"), str(found["speed"]), "expected 0 or more")
            continue
        altitude_m = float(altitude_at_pressure(found["pressure"].si))
        words = f"{format_number(altitude_m / ft, 0)} ft"
        altitude = parse_quantity(words, "length").at(Place(name, row.line, "pressure"))
        if -500.0 <= altitude_m <= _TOP_M:
            yield altitude_m, Level(
                altitude=altitude, direction=found["direction"], speed=found["speed"],
                temperature=found.get("temperature"),
            )  # fmt: skip


def _quantity(text: str, unit: str, word: str, place: Place, collector: Collector) -> Quantity | None:
    """Return a cell as a quantity; None where it is blank, with a fault where it is no number."""
    if not text or text.casefold() in {"nan", "-", "m", "missing"}:
        return None
    if not _is_number(text):
        collector.add(place, f"'{text}'", "expected a number, or nothing where it was not measured")
        return None
    try:
        find_unit(_UNITS.get(unit, unit), _DIMENSIONS[word])
    except UnknownUnit as error:
        collector.add(place, f"unknown unit '{unit}' of {word}", f"expected {error.expected}")
        return None
    return parse_quantity(f"{float(text):g} {_UNITS.get(unit, unit)}", _DIMENSIONS[word]).at(place)


def _thinned(levels: Sequence[tuple[float, Level]]) -> tuple[Level, ...]:
    kept: list[tuple[float, Level]] = []
    for altitude_m, level in sorted(levels, key=lambda pair: pair[0]):
        if not kept or altitude_m - kept[-1][0] >= _APART_M:
            kept.append((altitude_m, level))
    return tuple(level for _, level in kept)
