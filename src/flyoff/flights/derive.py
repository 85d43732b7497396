"""Ground speed and course from positions, for logs that record positions only."""

from dataclasses import replace

import numpy as np

from flyoff.flights.geodetic import radii_m
from flyoff.flights.log import Log, Repair

_REACH_S = 1.0
_LONGEST_S = 5.0


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
