"""The outlines of land about a place, on a map that is true in distance and direction from it."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO

import numpy as np

from flyoff.core.typing import Array

_STEP_DEG = 0.02
_RADIUS_M = 6371.0e3
"""Mean radius of the Earth, rounded: a map's pixels are coarser."""


@dataclass(frozen=True)
class Outline:
    """A line around land, or around water in it: points [m] east and north of the middle, (n, 2)."""

    points_m: Array
    hole: bool


@cache
def _world() -> tuple[tuple[Array, bool], ...]:
    data = (files("flyoff.charts") / "land" / "land.npz").read_bytes()
    with np.load(BytesIO(data), allow_pickle=False) as packed:
        ends = np.cumsum(packed["size"])[:-1]
        steps = np.column_stack([packed["longitude"], packed["latitude"]]).astype(np.float64)
        parts = np.split(steps, ends)
        holes = packed["hole"]
    degrees = (np.cumsum(part, axis=0) * _STEP_DEG for part in parts)
    return tuple((np.radians(part), bool(hole)) for part, hole in zip(degrees, holes, strict=True))


def projected(latitude_rad: Array, longitude_rad: Array, middle_rad: tuple[float, float]) -> Array:
    """Return places on the azimuthal equidistant map about a middle [m], shape (n, 2); a sphere will do.

    References
    ----------
    .. [1] J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), 25 (from
       memory).
    """
    north, turn = middle_rad[0], np.asarray(longitude_rad) - middle_rad[1]
    cosine = np.sin(north) * np.sin(latitude_rad) + np.cos(north) * np.cos(latitude_rad) * np.cos(turn)
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    scale = _RADIUS_M * angle / np.where(np.sin(angle) > 1e-12, np.sin(angle), 1.0)
    scale = np.where(np.sin(angle) > 1e-12, scale, _RADIUS_M)
    east = scale * np.cos(latitude_rad) * np.sin(turn)
    up = np.cos(north) * np.sin(latitude_rad) - np.sin(north) * np.cos(latitude_rad) * np.cos(turn)
    return np.column_stack([east, scale * up])


def outlines_about(
    middle_rad: tuple[float, float], half_width_m: float, half_height_m: float, grain_m: float
) -> Iterator[Outline]:
    """Yield the outlines within a rectangle about a middle, cut at its edge, no finer than `grain_m`."""
    for points, hole in _world():
        flat = projected(points[:, 1], points[:, 0], middle_rad)
        if not np.any(np.all(np.abs(flat) <= (half_width_m, half_height_m), axis=1)) and not _surrounds(flat):
            continue
        cut = clipped(_coarser(flat, grain_m), half_width_m, half_height_m)
        if len(cut) >= 3:
            yield Outline(cut, hole)


def _surrounds(points: Array) -> bool:
    """Tell whether a line goes around the middle of the map."""
    angles = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
    return bool(abs(angles[-1] - angles[0]) > np.pi)


def _coarser(points: Array, grain_m: float) -> Array:
    """Return a line on a grid, points that fall together dropped."""
    grid = np.round(points / grain_m)
    apart = np.concatenate([[True], np.any(np.diff(grid, axis=0) != 0, axis=1)])
    return np.asarray(grid[apart] * grain_m)


def clipped(points: Array, half_width: float, half_height: float) -> Array:
    """Return a polygon cut at a rectangle about the origin, by Sutherland and Hodgman's rule."""
    for axis, limit, sign in (
        (0, half_width, 1),
        (0, half_width, -1),
        (1, half_height, 1),
        (1, half_height, -1),
    ):
        if not len(points):
            break
        over = sign * points[:, axis] - limit
        if np.all(over <= 0):
            continue
        after, beyond = np.roll(points, -1, axis=0), np.roll(over, -1)
        made = []
        for here, there, out, next_out in zip(points, after, over, beyond, strict=True):
            if out <= 0:
                made.append(here)
            if (out <= 0) != (next_out <= 0):
                made.append(here + out / (out - next_out) * (there - here))
        points = np.array(made).reshape(-1, 2)
    return points
