"""What an airplane did that is no steady condition: continuous turns and accelerations.

A turn is a run of seconds in which the course turns one way by more than a
degree a second, through more than three quarters of a circle. An acceleration
is a straight run in which the airspeed changes one way by more than 20 kt a
minute. The limits are common practice, no source.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from flyoff.core.typing import Array, Mask
from flyoff.core.units import degree, ft, kt
from flyoff.flights.grid import Grid, rolling_fits
from flyoff.flights.log import runs_of

TURN_RATE_RAD_S = 1.0 * degree
LEAST_TURN_RAD = 270 * degree
TURN_HEIGHT_M = 500 * ft
ACCELERATION_M_S2 = 20 * kt / 60
SHORTEST_S = 10
FLYING_M_S = 30 * kt
_TURN_WINDOW_S = 6
_WINDOW_S = 10


@dataclass(frozen=True)
class Manoeuvre:
    """A turn with its rate [rad/s], or an acceleration with its rate [m/s²]; positive right, and faster."""

    kind: Literal["turn", "acceleration", "deceleration"]
    start_s: float
    end_s: float
    rate: float
    change: float


def find_manoeuvres(grid: Grid) -> list[Manoeuvre]:
    """Return the turns and accelerations of a log, in order of time."""
    return sorted([*_turns(grid), *_accelerations(grid)], key=lambda m: m.start_s)


def _turns(grid: Grid) -> list[Manoeuvre]:
    course = grid.get("ground_track", "true_heading", "magnetic_heading")
    if course is None:
        return []
    rate = rolling_fits(course, _TURN_WINDOW_S).slope
    height = grid.get("pressure_altitude", "gps_altitude")
    found = []
    for sign in (1.0, -1.0):
        with np.errstate(invalid="ignore"):
            turning = _closed(sign * rate > TURN_RATE_RAD_S, 3)
        for start, end in runs_of(turning & _flying(grid)):
            start, end = _level_part(height, start, end)
            change = _change(course[start:end])
            if abs(change) >= LEAST_TURN_RAD:
                found.append(_manoeuvre(grid, "turn", start, end, change / max(end - start - 1, 1), change))
    return found


def _level_part(height: Array | None, start: int, end: int) -> tuple[int, int]:
    """Return the part of a turn before its height has changed too much for one wind."""
    if height is None:
        return start, end
    apart = np.abs(height[start:end] - height[start:end][~np.isnan(height[start:end])][:1].sum())
    with np.errstate(invalid="ignore"):
        beyond = np.flatnonzero(apart > TURN_HEIGHT_M)
    return start, start + int(beyond[0]) if len(beyond) else end


def _accelerations(grid: Grid) -> list[Manoeuvre]:
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if speed is None:
        return []
    slope = rolling_fits(speed, _WINDOW_S).slope
    course = grid.get("ground_track", "true_heading", "magnetic_heading")
    straight: Mask = np.ones(len(slope), bool)
    if course is not None:
        turn = rolling_fits(course, _WINDOW_S).slope
        straight = ~(np.abs(np.nan_to_num(turn)) > TURN_RATE_RAD_S)
    found = []
    for sign in (1.0, -1.0):
        with np.errstate(invalid="ignore"):
            changing = sign * slope > ACCELERATION_M_S2
        for start, end in runs_of(changing & straight & _flying(grid)):
            if end - start >= SHORTEST_S:
                kind: Literal["acceleration", "deceleration"] = "acceleration" if sign > 0 else "deceleration"
                rate = float(np.nanmean(slope[start:end]))
                found.append(_manoeuvre(grid, kind, start, end, rate, rate * (end - start - 1)))
    return found


def _manoeuvre(
    grid: Grid,
    kind: Literal["turn", "acceleration", "deceleration"],
    start: int,
    end: int,
    rate: float,
    change: float,
) -> Manoeuvre:
    return Manoeuvre(kind, float(grid.time_s[start]), float(grid.time_s[end - 1]), rate, change)


def _flying(grid: Grid) -> Mask:
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if speed is None:
        return np.zeros(len(grid.time_s), bool)
    with np.errstate(invalid="ignore"):
        return _closed(speed > FLYING_M_S, 3)


def _closed(mask: Mask, longest: int) -> Mask:
    """Return a mask with its holes of a few seconds filled: a missing second parts no turn."""
    out = mask.copy()
    for start, end in runs_of(~mask):
        if end - start <= longest and start > 0 and end < len(mask):
            out[start:end] = True
    return out


def _change(course: Array) -> float:
    known = course[~np.isnan(course)]
    return float(known[-1] - known[0]) if len(known) > 1 else 0.0
