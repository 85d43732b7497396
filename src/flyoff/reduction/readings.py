"""The readings of one steady condition: their means, and where in the log they stand."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.typing import Array
from flyoff.core.units import degree, kt
from flyoff.flights.channels import CHANNELS
from flyoff.flights.geodetic import radii_m
from flyoff.flights.grid import Grid
from flyoff.flights.log import Log
from flyoff.flights.steady import Condition
from flyoff.physics.atmosphere import density_at_altitude
from flyoff.reduction.statistics import Estimate, ends_u_of, mean_of, reading_mean_of, rise_of

POSITION_U_M = 3.0
"""[m] Standard uncertainty between positions a minute or two apart; common practice, no source."""
FINE_SPEED_M_S = 0.2 * kt
FINE_COURSE_RAD = 0.2 * degree
"""Steps of speed and course that steady readings average well below the other uncertainties."""
SHIFT_M_S = 3 * kt
SHIFT_SIGMAS = 4.0
"""A change of the wind within a condition that is too large for a leg, and how sure it must be."""
LEAST_HALF_S = 10
"""Seconds of readings that half a condition must have for its wind to be compared with the other's."""
_ENDS_S = 5


@dataclass(frozen=True)
class Readings:
    """Means of each channel over a condition, and the mean ground velocity.

    `ground_m_s` is north and east, shape (2,), with `ground_covariance`;
    None where the satellite receiver tells nothing. `height_rate` is that of just this stretch, and
    `ends_u_m_s` by how much other ends would have changed it. `wind_shift_m_s` is by how much the wind
    changed within the condition, 0 where not significantly, and `wind_change_m_s` by how much along the
    course from the first half to the second, None where not known. `temperature_rate_k_s` is the
    probe's. `airspeed_stray_m_s` is the standard deviation of the indicated airspeed's mean about what
    a longer stretch in this air would show. `lines` are the first and last of the log's file.
    """

    condition: Condition
    log: str
    lines: tuple[int, int]
    means: Mapping[str, Estimate]
    height_rate: Estimate | None
    ground_m_s: Array | None
    ground_covariance: Array | None
    ground_dof: float
    wind_shift_m_s: float = 0.0
    wind_change_m_s: float | None = None
    temperature_rate_k_s: float = 0.0
    mixture: str = ""
    airspeed_stray_m_s: float = 0.0
    ends_u_m_s: float = 0.0

    def mean(self, channel: str) -> Estimate | None:
        """Return a channel's mean, or None."""
        return self.means.get(channel)


def read_condition(log: Log, grid: Grid, condition: Condition, steps: Mapping[str, float]) -> Readings:
    """Return the readings of one condition; `steps` are resolutions by channel, in SI."""
    inside = (grid.time_s >= condition.start_s - 0.5) & (grid.time_s <= condition.end_s + 0.5)
    means = {}
    for name, values in grid.channels.items():
        if name in {"latitude", "longitude"}:
            continue
        estimate = reading_mean_of(values[inside], steps.get(name, 0.0))
        if estimate is not None:
            turn = 2 * math.pi
            means[name] = estimate if not CHANNELS[name].circular else _in_turn(estimate, turn)
    height = grid.get("pressure_altitude", "gps_altitude")
    name = "pressure_altitude" if "pressure_altitude" in means else "gps_altitude"
    rate = None if height is None else rise_of(height[inside], steps.get(name, 0.0))
    ends_u = 0.0 if height is None else ends_u_of(height[inside])
    rows = np.flatnonzero((log.time_s >= condition.start_s) & (log.time_s <= condition.end_s))
    lines = (int(log.lines[rows[0]]), int(log.lines[rows[-1]])) if len(rows) else (0, 0)
    ground, covariance, dof = _ground_velocity(grid, inside, steps)
    shift = _wind_shift(_components(grid, inside))
    change = _wind_change(grid, inside, ground, means)
    warming = grid.get("outside_air_temperature")
    warms = None if warming is None else rise_of(warming[inside], steps.get("outside_air_temperature", 0.0))
    return Readings(
        condition, log.name, lines, means, rate, ground, covariance, dof, shift, change,
        0.0 if warms is None else warms.value, condition.mixture, _stray(grid, inside), ends_u,
    )  # fmt: skip


def _stray(grid: Grid, inside: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> float:
    airspeed = grid.get("indicated_airspeed", "true_airspeed")
    level = None if airspeed is None else mean_of(airspeed[inside])
    return 0.0 if level is None else level.u


def _in_turn(estimate: Estimate, turn: float) -> Estimate:
    return Estimate(estimate.value % turn, estimate.u, estimate.dof)


def _ground_velocity(
    grid: Grid, inside: np.ndarray[tuple[int], np.dtype[np.bool_]], steps: Mapping[str, float]
) -> tuple[Array | None, Array | None, float]:
    """Return the mean ground velocity, its covariance and degrees of freedom.

    A receiver measures its velocity by itself, apart from its position, so
    recorded speed and course come first. Where one of them is rounded too
    coarsely, the way made good between the ends gives it instead.
    """
    components = _components(grid, inside)
    track = _made_good(grid, inside)
    if components is None:
        return (None, None, 0.0) if track is None else (track[0], np.eye(2) * track[1] ** 2, math.inf)
    north, east = components
    estimates = reading_mean_of(north), reading_mean_of(east)
    if estimates[0] is None or estimates[1] is None:
        return (None, None, 0.0) if track is None else (track[0], np.eye(2) * track[1] ** 2, math.inf)
    u = np.array([estimates[0].u, estimates[1].u])
    known = ~np.isnan(north) & ~np.isnan(east)
    correlation = _correlation(north[known], east[known])
    covariance = np.outer(u, u) * np.array([[1, correlation], [correlation, 1]])
    dof = estimates[0].dof + estimates[1].dof
    value = np.array([estimates[0].value, estimates[1].value])
    if track is None:
        return value, covariance + _rounding(value, steps), dof
    speed = track[0] if steps.get("ground_speed", 0.0) > FINE_SPEED_M_S else value
    course = track[0] if steps.get("ground_track", 0.0) > FINE_COURSE_RAD else value
    mixed = course / max(float(np.hypot(*course)), 1e-9) * float(np.hypot(*speed))
    return mixed, covariance + np.eye(2) * track[1] ** 2, dof


def _components(grid: Grid, inside: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[Array, Array] | None:
    speed, course = grid.get("ground_speed"), grid.get("ground_track")
    if speed is None or course is None:
        return None
    return speed[inside] * np.cos(course[inside]), speed[inside] * np.sin(course[inside])


def _wind_shift(components: tuple[Array, Array] | None) -> float:
    """Return how much the ground velocity changed from the first half to the second, 0 if within its noise.

    Heading and airspeed being kept, what changed is the wind.
    """
    if components is None:
        return 0.0
    total, significance = 0.0, 0.0
    for values in components:
        half = len(values) // 2
        first, second = mean_of(values[:half]), mean_of(values[half:])
        if first is None or second is None:
            return 0.0
        change = second.value - first.value
        total += change**2
        significance = max(significance, abs(change) / max(math.hypot(first.u, second.u), 1e-9))
    shift = math.sqrt(total)
    return shift if significance > SHIFT_SIGMAS and shift > SHIFT_M_S else 0.0


def _wind_change(
    grid: Grid,
    inside: np.ndarray[tuple[int], np.dtype[np.bool_]],
    ground: Array | None,
    means: Mapping[str, Estimate],
) -> float | None:
    """Return how much the ground speed along the course changed that the airspeed does not account for."""
    components, airspeed = _components(grid, inside), grid.get("indicated_airspeed")
    if components is None or ground is None or airspeed is None:
        return None
    altitude = means.get("pressure_altitude")
    sigma = 1.0 if altitude is None else float(density_at_altitude(altitude.value)) / SEA_LEVEL_DENSITY_KG_M3
    along = ground / max(float(np.hypot(*ground)), 1e-9)
    wind = components[0] * along[0] + components[1] * along[1] - airspeed[inside] / math.sqrt(sigma)
    half = len(wind) // 2
    first, second = wind[:half][~np.isnan(wind[:half])], wind[half:][~np.isnan(wind[half:])]
    if min(len(first), len(second)) < LEAST_HALF_S:
        return None
    return float(second.mean() - first.mean())


def _correlation(a: Array, b: Array) -> float:
    if len(a) < 3 or a.std() == 0 or b.std() == 0:
        return 0.0
    return float(np.clip(np.corrcoef(a, b)[0, 1], -0.99, 0.99))


def _rounding(value: Array, steps: Mapping[str, float]) -> Array:
    """Return the covariance of rounding speed and course, which a steady course does not average out."""
    speed = max(float(np.hypot(*value)), 1e-9)
    along = value / speed
    across = np.array([-along[1], along[0]])
    u_along = steps.get("ground_speed", 0.0) / math.sqrt(12)
    u_across = steps.get("ground_track", 0.0) / math.sqrt(12) * speed
    result: Array = u_along**2 * np.outer(along, along) + u_across**2 * np.outer(across, across)
    return result


def _made_good(grid: Grid, inside: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[Array, float] | None:
    """Return the velocity from the first to the last positions, and its standard uncertainty."""
    latitude, longitude = grid.get("latitude"), grid.get("longitude")
    if latitude is None or longitude is None:
        return None
    known = np.flatnonzero(inside & ~np.isnan(latitude) & ~np.isnan(longitude))
    if len(known) < 4 * _ENDS_S or (known[-1] - known[0]) < 0.8 * int(inside.sum()):
        return None
    first, last = known[:_ENDS_S], known[-_ENDS_S:]
    seconds = float(grid.time_s[last].mean() - grid.time_s[first].mean())
    middle = float(latitude[known].mean())
    meridian, parallel = radii_m(middle)
    north = (latitude[last].mean() - latitude[first].mean()) * meridian
    east = (longitude[last].mean() - longitude[first].mean()) * parallel
    return np.array([north, east]) / seconds, POSITION_U_M / seconds
