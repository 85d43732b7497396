"""What a log says that cannot be taken as it stands: each fault found, and listed.

The raw file is never touched. A reading that cannot be right becomes a
missing one; nothing is invented in its place. Every repair says where, which
channel, how many readings and why.

The spike test compares each reading with the median of those around it in
units of their median absolute deviation (the Hampel identifier; L. Davies and
U. Gather, The identification of multiple outliers, Journal of the American
Statistical Association 88, 1993).
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from flyoff.core.typing import Array, Mask
from flyoff.core.units import fpm, ft, hour, hpa, inhg, kt, litre, rpm
from flyoff.flights.channels import CHANNELS, SATELLITE
from flyoff.flights.clock import DAY_S
from flyoff.flights.geodetic import radii_m
from flyoff.flights.log import Log, Repair, runs_of

GAP_FACTOR = 2.5
"""A step of the clock this many times the usual one is a gap."""
FROZEN_S = 3.0
"""[s] A moving airplane's position that stays the same for so long is frozen."""
MOVING_M_S = 10 * kt
STUCK_S = 60.0
"""[s] The least time that makes a constant reading suspicious."""
_LEAST_REST = 0.25
"""Readings elsewhere, over those of a run, that tell how often the reading changes."""
STUCK_CHANCE = 1e-9
"""A constant run less likely than this, from how often the reading changes, is a stuck sensor."""
_MOST_LISTED = 20
_MOST_STUCK = 3
_HEIGHT_PLAY_M = 60 * ft
STANDARD_LAPSE_K_M = 0.0065
_STALE_SHARE = 0.15
_STALE_FIX_S = 1.5
"""[s] Fixes no further apart than this leave every second with one."""
SPIKE_DEVIATIONS = 8.0
SPIKE_NEIGHBOURS = 5
SPIKE_LONGEST = 3

# Jumps there and back within a second or two that no light airplane makes; common practice, no source.
_SPIKE_FLOOR = {
    "indicated_airspeed": 12 * kt,
    "true_airspeed": 12 * kt,
    "ground_speed": 15 * kt,
    "pressure_altitude": 150 * ft,
    "gps_altitude": 200 * ft,
    "outside_air_temperature": 4.0,
    "manifold_pressure": 6 * inhg,
    "rpm": 600 * rpm,
    "fuel_flow": 20 * litre / hour,
    "fuel_mass_flow": 15 / hour,
    "vertical_speed": 2500 * fpm,
    "altimeter_setting": 3 * hpa,
}
_CAN_STICK = (
    "indicated_airspeed",
    "true_airspeed",
    "pressure_altitude",
    "gps_altitude",
    "ground_speed",
    "outside_air_temperature",
    "magnetic_heading",
    "manifold_pressure",
)


def clock_repaired(log: Log) -> Log:
    """Return the log with a clock that runs forwards, for parts to be put one behind the other."""
    for step in _CLOCK_STEPS:
        log = step(log)
    return log


def repair(log: Log) -> Log:
    """Return the log fit to be reduced, with all that was done listed in its repairs."""
    for step in (*_CLOCK_STEPS, *_STEPS):
        log = step(log)
    ordered = sorted(log.repairs, key=lambda r: (r.start_s, r.kind, r.channel))
    return replace(log, repairs=tuple(ordered))


def usual_step_s(log: Log) -> float:
    """Return the usual step of a log's clock, [s]."""
    steps = np.diff(log.time_s)
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else 1.0


def _noted(log: Log, *repairs: Repair) -> Log:
    return replace(log, repairs=(*log.repairs, *repairs))


def _of(log: Log, kind: str, channel: str, span: tuple[int, int], count: int, why: str) -> Repair:
    """Return a repair of the rows in a half-open index range."""
    first, last = span[0], span[1] - 1
    times, lines = log.time_s, log.lines
    return Repair(
        kind,
        channel,
        float(times[first]),
        float(times[last]),
        (int(lines[first]), int(lines[last])),
        count,
        why,
    )


def _duplicate_rows(log: Log) -> Log:
    """Leave out rows that repeat the row before in every channel and in time."""
    same = np.diff(log.time_s, prepend=np.nan) == 0
    for values in log.channels.values():
        before = np.concatenate([[np.inf], values[:-1]])
        same &= (values == before) | (np.isnan(values) & np.isnan(before))
    if not same.any():
        return log
    why = "left out: the same time and readings as the row before"
    runs = runs_of(same)
    if len(runs) > 20:
        span = (runs[0][0], runs[-1][1])
        log = _noted(log, _of(log, "duplicated row", "row", span, int(same.sum()), why))
    else:
        log = _noted(log, *(_of(log, "duplicated row", "row", run, run[1] - run[0], why) for run in runs))
    return log.where(~same)


def _date_leaps(log: Log) -> Log:
    """Put rows back on the day where only the date leaps, the time of day running on.

    A date that turns too early or too late at midnight, or that a recorder had
    wrong until its first fix: a step of the clock within a few rows of whole days.
    """
    usual = usual_step_s(log)
    steps = np.diff(log.time_s)
    days = np.round(steps / DAY_S)
    leaps = np.flatnonzero((days != 0) & (np.abs(steps - days * DAY_S) <= max(5 * usual, 2.0)))
    if not len(leaps):
        return log
    shift = np.zeros(len(log))
    np.add.at(shift, leaps + 1, days[leaps])
    whole = np.cumsum(shift)
    counts = {day: int((whole == day).sum()) for day in np.unique(whole).tolist()}
    true = max(counts, key=lambda day: (counts[day], day))
    moved = whole != true
    repairs = [
        _of(log, "date leap", "clock", run, run[1] - run[0],
            f"moved by {true - whole[run[0]]:+.0f} days: the date leaps while the time of day runs on")
        for run in runs_of(moved)[:_MOST_LISTED]
    ]  # fmt: skip
    return replace(_noted(log, *repairs), time_s=log.time_s + (true - whole) * DAY_S)


def _backward_clock(log: Log) -> Log:
    """Leave out rows whose time lies before a time already seen."""
    seen = np.maximum.accumulate(log.time_s)
    back = log.time_s < seen
    if not back.any():
        return log
    if back.mean() > 0.5:  # one leap far ahead must not cost the flight: believe the majority
        ahead = log.time_s > np.median(log.time_s[back]) + 86400.0
        why = "left out: the clock leaps ahead of the rest of the log"
        log = _noted(
            log, *(_of(log, "clock ahead", "clock", run, run[1] - run[0], why) for run in runs_of(ahead))
        )
        log = log.where(~ahead)
        back = log.time_s < np.maximum.accumulate(log.time_s)
    why = "left out: the clock runs backwards here"
    repairs = (_of(log, "clock backwards", "clock", run, run[1] - run[0], why) for run in runs_of(back))
    return _noted(log, *repairs).where(~back)


def _repeated_seconds(log: Log) -> Log:
    """Spread rows that share a time up to the next: the clock repeats a second, or counts only whole ones."""
    starts = np.flatnonzero(np.diff(log.time_s, prepend=-np.inf) != 0)
    if len(starts) == len(log):
        return log
    counts = np.diff(np.append(starts, len(log)))
    instants = log.time_s[starts]
    usual = float(np.median(np.diff(instants))) if len(instants) > 1 else 1.0
    room = np.minimum(np.append(np.diff(instants), usual), usual * np.maximum(counts, 1))
    place = np.arange(len(log)) - np.repeat(starts, counts)
    time_s = log.time_s + place * np.repeat(room / counts, counts)
    shared = np.repeat(counts > 1, counts)
    runs = runs_of(shared)
    many = float(shared.mean()) > 0.2
    why = "rows that share a time are spread evenly up to the next" + (
        ": the clock is coarser than the rows" if many else ""
    )
    spans = [(runs[0][0], runs[-1][1])] if many or len(runs) > 20 else runs
    total = int(shared.sum())
    repairs = [
        _of(log, "repeated time", "clock", s, total if len(spans) == 1 else s[1] - s[0], why) for s in spans
    ]
    return replace(_noted(log, *repairs), time_s=time_s)


def _gaps(log: Log) -> Log:
    """List where the clock jumps; nothing is filled in."""
    steps = np.diff(log.time_s)
    limit = max(GAP_FACTOR * usual_step_s(log), 1.5)
    found = [
        _of(log, "gap", "row", (i, i + 2), 0, f"no rows for {steps[i]:.4g} s: not bridged")
        for i in np.flatnonzero(steps > limit).tolist()
    ]
    skipped = np.flatnonzero((steps > 1.5 * usual_step_s(log)) & (steps <= limit))
    if len(skipped):
        span = (int(skipped[0]), int(skipped[-1]) + 2)
        found.append(
            _of(log, "skipped time", "clock", span, len(skipped), "the clock skips a row: not filled in")
        )
    return _noted(log, *found)


def _set_missing(log: Log, channel: str, mask: Mask, kind: str, why: str) -> Log:
    """Return the log with readings of a channel taken as missing, each stretch listed."""
    bad = mask & ~np.isnan(log.channels[channel])
    if not bad.any():
        return log
    runs = runs_of(bad)
    spans = [(runs[0][0], runs[-1][1])] if len(runs) > 20 else runs
    repairs = []
    for start, end in spans:
        repairs.append(_of(log, kind, channel, (start, end), int(bad[start:end].sum()), why))
    values = np.where(bad, np.nan, log.channels[channel])
    return replace(_noted(log, *repairs), channels={**log.channels, channel: values})


def _impossible(log: Log) -> Log:
    for name, values in log.channels.items():
        channel = CHANNELS[name]
        if channel.circular:
            log = _set_missing(
                log, name, values < 0, "no course", "taken as missing: a negative course means unknown"
            )
        outside = (values < channel.low) | (values > channel.high)
        log = _set_missing(log, name, outside, "impossible value", "taken as missing: no such reading can be")
    return log


def _blanks(log: Log) -> Log:
    """List blank cells by stretch, single ones together."""
    repairs = []
    for name, values in log.channels.items():
        blank = np.isnan(values)
        if not blank.any():
            continue
        runs = runs_of(blank)
        if blank.all() or len(runs) > 50:
            span = (runs[0][0], runs[-1][1])
            repairs.append(_of(log, "blank", name, span, int(blank.sum()), "blank cells: left missing"))
            continue
        repairs += [_of(log, "blank", name, run, run[1] - run[0], "left missing") for run in runs]
    return _noted(log, *repairs)


def _stale_satellite(log: Log) -> Log:
    """Take repeats of a fix as missing where fixes come about every second and rows come faster.

    Where fixes come more slowly the repeats stay, and are said: else windows of seconds would lie empty.
    """
    repeats = _repeats(log)
    if repeats is None or repeats.mean() < _STALE_SHARE:
        return log
    known = np.flatnonzero(~repeats & ~np.isnan(log.channels["latitude"]))
    moving = np.diff(log.time_s[known])
    between = float(np.median(moving)) if len(moving) else 0.0
    names = [name for name in SATELLITE if name in log.channels]
    if between > _STALE_FIX_S:
        span = (0, len(log))
        why = f"a fix every {between:.3g} s stands in the rows until the next: kept"
        return _noted(log, _of(log, "stale reading", "position", span, int(repeats.sum()), why))
    still = runs_of(repeats)
    short = np.zeros(len(log), bool)
    for start, end in still:
        if log.time_s[end - 1] - log.time_s[start - 1] < FROZEN_S:
            short[start:end] = True
    why = "taken as missing: the row repeats the last fix"
    for name in names:
        log = _set_missing(log, name, short, "stale reading", why)
    return log


def _repeats(log: Log) -> Mask | None:
    """Return which rows repeat the fix of the row before in all that the receiver tells, while moving."""
    if log.channels.get("latitude") is None or log.channels.get("longitude") is None:
        return None
    same = np.ones(len(log), bool)
    for name in SATELLITE:
        if name in log.channels:
            values = log.channels[name]
            before = np.concatenate([[np.inf], values[:-1]])
            same &= (values == before) | (np.isnan(values) & np.isnan(before))
    speed = log.channels.get("ground_speed", log.channels.get("indicated_airspeed"))
    if speed is not None:
        with np.errstate(invalid="ignore"):
            same &= ~(speed <= MOVING_M_S)
    return same & ~np.isnan(log.channels["latitude"])


def _frozen_satellite(log: Log) -> Log:
    """Take position, speed and course as missing where the position stands still in flight."""
    latitude, longitude = log.channels.get("latitude"), log.channels.get("longitude")
    if latitude is None or longitude is None:
        return log
    still = (np.diff(latitude, prepend=np.nan) == 0) & (np.diff(longitude, prepend=np.nan) == 0)
    runs = [(start - 1, end) for start, end in runs_of(still)]
    lengths = np.array([log.time_s[end - 1] - log.time_s[start] for start, end in runs])
    if not len(lengths):
        return log
    usual = float(np.median(lengths)) if len(runs) > 0.2 * len(log) / 3 else 0.0
    limit = max(FROZEN_S, 4 * usual)  # a slow receiver repeats each fix until the next
    frozen = np.zeros(len(log), bool)
    for (start, end), length in zip(runs, lengths.tolist(), strict=True):
        if length >= limit and _moves(log, start, end):
            frozen[start:end] = True
    why = "taken as missing: the position stands still while the airplane flies"
    for name in SATELLITE:
        if name in log.channels:
            log = _set_missing(log, name, frozen, "frozen position", why)
    return log


def _moves(log: Log, start: int, end: int) -> bool:
    around = slice(max(0, start - 2), end + 2)
    speeds = [
        log.channels[name][around] for name in ("ground_speed", "indicated_airspeed") if name in log.channels
    ]
    known = [values[~np.isnan(values)] for values in speeds]
    if not any(len(values) for values in known):
        return (
            _speed_of_way(log, start - 12, start) > MOVING_M_S
            or _speed_of_way(log, end, end + 12) > MOVING_M_S
        )
    return max(float(values.max()) for values in known if len(values)) > MOVING_M_S


def _speed_of_way(log: Log, start: int, end: int) -> float:
    """Return the speed made good over a few rows, for logs that record positions alone, [m/s]."""
    rows = slice(max(start, 0), end)
    latitude, longitude = log.channels["latitude"][rows], log.channels["longitude"][rows]
    known = np.flatnonzero(~np.isnan(latitude) & ~np.isnan(longitude))
    if len(known) < 2:
        return 0.0
    first, last = known[0], known[-1]
    meridian, parallel = radii_m(float(latitude[first]))
    way = np.hypot(
        (latitude[last] - latitude[first]) * meridian, (longitude[last] - longitude[first]) * parallel
    )
    return float(way / max(log.time_s[rows][last] - log.time_s[rows][first], 1e-9))


def _spikes(log: Log) -> Log:
    for name, floor in _SPIKE_FLOOR.items():
        values = log.channels.get(name)
        if values is not None and len(values) > 2 * SPIKE_NEIGHBOURS:
            why = "taken as missing: a jump there and back that the readings around it do not show"
            log = _set_missing(log, name, spikes_in(values, floor), "spike", why)
    return log


def spikes_in(values: Array, floor: float) -> Mask:
    """Return which readings stand out from those around them, shape (n,).

    The median of the five before and the five after, each side alone, must
    lie on the same side and further off than `floor` and than eight scaled
    median absolute deviations; a step, which one side shares, is none.
    """
    width = SPIKE_NEIGHBOURS
    padded = np.concatenate([np.full(width, np.nan), values, np.full(width, np.nan)])
    windows = sliding_window_view(padded, width)
    with np.errstate(all="ignore"):
        medians = _row_medians(windows)
        spread = 1.4826 * _row_medians(np.abs(windows - medians[:, None]))
    count = len(values)
    before, after = medians[:count], medians[width + 1 : width + 1 + count]
    limit = np.fmax(floor, SPIKE_DEVIATIONS * np.fmax(spread[:count], spread[width + 1 : width + 1 + count]))
    with np.errstate(invalid="ignore"):
        up = (values > np.fmax(before, after) + limit) & ~np.isnan(values)
        down = (values < np.fmin(before, after) - limit) & ~np.isnan(values)
    found = up | down
    for start, end in runs_of(found):
        if end - start > SPIKE_LONGEST:
            found[start:end] = False
    return found


def _row_medians(windows: Array) -> Array:
    """Return medians along the last axis without regard to NaN, NaN where all are."""
    ordered = np.sort(windows, axis=-1)
    known = (~np.isnan(ordered)).sum(axis=-1)
    rows = np.arange(len(ordered))
    low = ordered[rows, np.maximum(known - 1, 0) // 2]
    high = ordered[rows, np.minimum(known // 2, ordered.shape[1] - 1)]
    return np.where(known > 0, (low + high) / 2, np.nan)


def _stuck(log: Log) -> Log:
    for name in _CAN_STICK:
        values = log.channels.get(name)
        if values is not None:
            why = "taken as missing: constant far longer than this reading ever stays"
            stuck = stuck_in(values, log.time_s)
            runs = runs_of(stuck)
            for start, end in runs:
                # many such runs, or one in air that asks for no other reading: coarse, not stuck
                if len(runs) > _MOST_STUCK or _asks_for_constant(log, name, start, end):
                    stuck[start:end] = False
            log = _set_missing(log, name, stuck, "stuck sensor", why)
    return log


def _asks_for_constant(log: Log, name: str, start: int, end: int) -> bool:
    """Whether the height that another channel tells asks for a constant altitude or temperature."""
    other = {"pressure_altitude": "gps_altitude", "gps_altitude": "pressure_altitude",
             "outside_air_temperature": "pressure_altitude"}.get(name)  # fmt: skip
    height = log.channels.get(other) if other else None
    if height is None or np.isnan(height[start:end]).all():
        return False
    low, high = np.nanpercentile(height[start:end], (5, 95))
    scale = STANDARD_LAPSE_K_M if name == "outside_air_temperature" else 1.0
    allowed = 2 * log.resolution.get(name, 0.0) + (0.0 if scale < 1 else _HEIGHT_PLAY_M)
    return bool((high - low) * scale <= allowed)


def stuck_in(values: Array, time_s: Array) -> Mask:
    """Return which readings belong to a run too long to be chance, shape (n,).

    With a chance p of changing from one row to the next, a run of n has the
    chance (1 - p)^n; p is taken from the rest of the log.
    """
    stuck = np.zeros(len(values), bool)
    same = np.diff(values, prepend=np.nan) == 0
    runs = [(start - 1, end) for start, end in runs_of(same)]
    known = int((~np.isnan(values)).sum())
    for start, end in runs:
        if time_s[end - 1] - time_s[start] < STUCK_S or values[start] == 0:
            continue
        rest = known - (end - start)
        changes = rest - (int(same.sum()) - (end - start - 1))
        if rest < _LEAST_REST * (end - start):
            continue
        chance = min(max(changes / max(rest, 1), 0.0), 1.0)
        if chance > 0 and (end - start) * np.log1p(-min(chance, 0.999)) + np.log(len(values)) < np.log(
            STUCK_CHANCE
        ):
            stuck[start:end] = True
    return stuck


_CLOCK_STEPS: tuple[Callable[[Log], Log], ...] = (
    _duplicate_rows,
    _date_leaps,
    _backward_clock,
    _repeated_seconds,
)
_STEPS: tuple[Callable[[Log], Log], ...] = (
    _gaps,
    _blanks,
    _impossible,
    _stale_satellite,
    _frozen_satellite,
    _spikes,
    _stuck,
)
