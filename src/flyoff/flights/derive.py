"""Ground speed and course from positions, for logs that record positions only."""

from dataclasses import replace

import numpy as np

from flyoff.flights.geodetic import radii_m
from flyoff.flights.log import Log, Repair

_REACH_S = 1.0
_LONGEST_S = 5.0
_MINUTE_S = 60.0
_LEAST_MINUTES = 10


def with_velocity(log: Log) -> Log:
    """Return the log with ground speed and course from its positions, where it has none of its own.

    Central differences over about two seconds; said among the repairs.
    """
    latitude, longitude = log.get("latitude"), log.get("longitude")
    if latitude is None or longitude is None:
        return log
    if log.get("ground_speed") is not None and log.get("ground_track") is not None:
        return log
    before = np.maximum(np.searchsorted(log.time_s, log.time_s - _REACH_S, "right") - 1, 0)
    after = np.minimum(np.searchsorted(log.time_s, log.time_s + _REACH_S, "left"), len(log) - 1)
    seconds = log.time_s[after] - log.time_s[before]
    meridian, parallel = radii_m(float(np.nanmedian(latitude)))
    usable = (seconds > 0) & (seconds <= _LONGEST_S)
    span = np.where(usable, seconds, np.nan)
    north = (latitude[after] - latitude[before]) * meridian / span
    east = (longitude[after] - longitude[before]) * parallel / span
    channels = {
        **log.channels,
        "ground_speed": np.hypot(north, east),
        "ground_track": np.arctan2(east, north) % (2 * np.pi),
    }
    said = Repair(
        "derived",
        "ground_speed and ground_track",
        float(log.time_s[0]),
        float(log.time_s[-1]),
        (int(log.lines[0]), int(log.lines[-1])),
        int(np.isfinite(north).sum()),
        "computed from positions: the log has no ground speed with course",
    )
    return replace(log, channels=channels, repairs=(*log.repairs, said))


def position_scale(log: Log) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return how fast the positions run for the recorded ground velocity: north and east, each with its u.

    The slope through zero of the way between positions a minute apart over the
    velocity integrated over the same minute; u is its standard uncertainty. None
    where the log does not record both, or too little of them.
    """
    needed = [log.get(name) for name in ("latitude", "longitude", "ground_speed", "ground_track")]
    if any(values is None for values in needed) or any(r.kind == "derived" for r in log.repairs):
        return None
    latitude, longitude, speed, course = (values for values in needed if values is not None)
    meridian, parallel = radii_m(float(np.nanmedian(latitude)))
    found = []
    steps = np.diff(log.time_s)
    steps = np.where(steps > _LONGEST_S, np.nan, steps)  # nothing is known of a gap
    for place, scale, part in ((latitude, meridian, np.cos(course)), (longitude, parallel, np.sin(course))):
        velocity = speed * part
        rise = np.concatenate([[0.0], steps * (velocity[1:] + velocity[:-1]) / 2])
        marks = np.searchsorted(log.time_s, np.arange(log.time_s[0], log.time_s[-1], _MINUTE_S))
        starts = np.minimum(marks[:-1] + 1, len(rise) - 1)
        sums = np.add.reduceat(rise, starts)[:-1] if len(marks) > _LEAST_MINUTES else np.array([])
        way = np.diff(place[marks] * scale)[: len(sums)]
        whole = np.abs(np.diff(log.time_s[marks])[: len(sums)] - _MINUTE_S) < _LONGEST_S
        known = ~np.isnan(sums) & ~np.isnan(way) & whole
        if int(known.sum()) < _LEAST_MINUTES or not (sums[known] ** 2).sum():
            return None
        x, y = sums[known], way[known]
        slope = float((x * y).sum() / (x**2).sum())
        spread = float(((y - slope * x) ** 2).sum() / (len(x) - 1) / (x**2).sum())
        found.append((slope, float(np.sqrt(spread))))
    return found[0], found[1]
