"""GPX 1.1 tracks (the open GPS exchange format, with the speed and course that some recorders add)."""

from datetime import date
from xml.etree import ElementTree

import numpy as np
import polars as pl

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.units import degree
from flyoff.flights.channels import CHANNELS
from flyoff.flights.clock import Clock, read_times
from flyoff.flights.log import FEWEST_ROWS, Lines, Log, counted, step_of, wrapped


def read_gpx_log(data: bytes, name: str) -> Log:
    """Return a GPX 1.1 track: latitude, longitude, altitude, and speed and course where given.

    Raises
    ------
    Problems
        If it is not GPX, or has fewer than two timed points.
    """

    def fail(found: str, expected: str, line: int = 0) -> Problems:
        return Problems([Problem(Place(name, line), found, expected)])

    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise fail("a document type declaration", "expected a plain GPX file")
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise fail(f"not XML: {error}", "expected a GPX file", error.position[0]) from None
    points = [element for element in root.iter() if element.tag.rpartition("}")[2] == "trkpt"]
    lines = _gpx_lines(data, len(points))
    cells = [_gpx_cells(point) for point in points]
    times = pl.Series([cell.get("time") for cell in cells], dtype=pl.String)
    time_s = read_times(times, Clock("iso", 0.0, date(1970, 1, 1)))
    channels, resolution = {}, {}
    scales = {
        "latitude": ("lat", degree),
        "longitude": ("lon", degree),
        "gps_altitude": ("ele", 1.0),
        "ground_speed": ("speed", 1.0),
        "ground_track": ("course", degree),
    }
    for channel, (key, factor) in scales.items():
        values = pl.Series([cell.get(key) for cell in cells], dtype=pl.String).cast(pl.Float64, strict=False)
        numbers = values.fill_null(np.nan).to_numpy().astype(float)
        if np.isfinite(numbers).any():
            channels[channel] = wrapped(CHANNELS[channel], numbers * factor)
            resolution[channel] = step_of(numbers) * factor
    timed = np.isfinite(time_s)
    if int(timed.sum()) < FEWEST_ROWS:
        raise fail(
            f"{counted(int(timed.sum()), 'track point')} with a time", f"expected at least {FEWEST_ROWS}"
        )
    return Log(name, time_s, lines, channels, resolution).where(timed)


def _gpx_cells(point: ElementTree.Element) -> dict[str, str]:
    cells = {"lat": point.get("lat", ""), "lon": point.get("lon", "")}
    for element in point.iter():
        cells.setdefault(element.tag.rpartition("}")[2], (element.text or "").strip())
    return cells


def _gpx_lines(data: bytes, count: int) -> Lines:
    """Return the line of each track point, by its opening tag."""
    lines, at, line = [], 0, 1
    for _ in range(count):
        found = data.find(b"<trkpt", at)
        if found < 0:
            break
        line += data.count(b"\n", at, found)
        lines.append(line)
        at = found + 1
    return np.array(lines + [line] * (count - len(lines)), np.int64)
