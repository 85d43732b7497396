"""Several logs of one flight on one clock: their offset found from what they share, or refused.

Both logs say something of the same motion: the ground velocity, a height's
rate of change, the rate of turn, or a channel both recorded. The lag at which
these agree best is found by cross-correlation over all lags, then refined to
a fraction of a second by least squares (Gauss-Newton on the lag). Its
uncertainty is how much the lags of twenty parts of the flight scatter, so
that noise with a memory is accounted for.

Reference: C. H. Knapp and G. C. Carter, The generalized correlation method
for estimation of time delay, IEEE Transactions on Acoustics, Speech, and
Signal Processing 24 (1976) (from memory). The limits are common practice, no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import ft, kt
from flyoff.flights.channels import CHANNELS, SATELLITE
from flyoff.flights.decimate import second_means
from flyoff.flights.geodetic import radii_m
from flyoff.flights.grid import rolling_fits
from flyoff.flights.log import Log, Repair
from flyoff.flights.repairs import GAP_FACTOR, usual_step_s

LEAST_OVERLAP_S = 120
LEAST_SHARE = 0.3
"""The share of the shorter log that must lie within the other."""
LEAST_CORRELATION = 0.6
RIVAL_APART_S = 20
RIVAL_WITHIN = 0.05
"""A second best lag with a correlation so near the best leaves the answer open."""
WORST_U_S = 2.0
LEAST_U_S = 0.1
UNLIKE_U_S = 1.0
"""[s] Recorders stamp their rows no better; unlike channels, as heading and course, follow one another
with a lag of their own. Common practice, no source."""
SAME_PLACE_M = 500.0
_RATE_WINDOW_S = 10
_SMOOTH_S = 7
_PARTS = 20
_COARSER = 4.0
_FULLER = 0.2
_HEIGHTS = ("pressure_altitude", "gps_altitude")
_COURSES = ("ground_track", "true_heading", "magnetic_heading")
_SHARED = ("indicated_airspeed", "true_airspeed", "rpm", "manifold_pressure", "fuel_flow")
_SCALES = {"velocity": kt, "height": 50 * ft / 60, "turn": np.radians(0.2)}
"""Signals that move by less than this are taken as still."""


@dataclass(frozen=True)
class Merge:
    """How one log was laid on another's clock.

    `offset_s` is added to the log's clock to have the other's, with its
    standard uncertainty; `shared` names what both tell, `correlation` how well
    that agrees; `channels` are those taken from it. `refused` says why it was
    left apart, empty where it was not.
    """

    log: str
    onto: str
    offset_s: float
    u_s: float
    correlation: float
    shared: tuple[str, ...]
    channels: tuple[str, ...] = ()
    refused: str = ""
    repairs: tuple[Repair, ...] = ()


@dataclass(frozen=True)
class _Signal:
    """One motion as both logs tell it, second by second; `alike` where by the same channel."""

    name: str
    ours: Array
    theirs: Array
    alike: bool = True


def merge_logs(logs: tuple[Log, ...]) -> tuple[tuple[Log, ...], tuple[Merge, ...]]:
    """Return the logs with those of one flight made one, and how each was laid on the first's clock.

    The log with airspeed, then with the most channels, gives the clock.
    """
    if len(logs) < 2:
        return logs, ()
    ranked = sorted(logs, key=lambda log: (-_has_airspeed(log), -len(log.channels)))
    whole, apart, merges = ranked[0], [], []
    for log in ranked[1:]:
        merge = align(whole, log)
        if merge.refused:
            apart.append(log)
        else:
            whole, merge = _joined(whole, log, merge)
        merges.append(merge)
    return (whole, *apart), tuple(merges)


def _has_airspeed(log: Log) -> bool:
    return log.get("indicated_airspeed") is not None or log.get("true_airspeed") is not None


def align(onto: Log, log: Log) -> Merge:
    """Return the offset between the clocks of two logs, or why there is none."""
    start, grid = _seconds(onto)
    own_start, own = _seconds(log)
    signals = _signals(grid, own)

    def refused(why: str, correlation: float = 0.0) -> Merge:
        names = tuple(dict.fromkeys(s.name for s in signals))
        return Merge(log.name, onto.name, float("nan"), float("nan"), correlation, names, (), why)

    if not signals:
        return refused("they share nothing that could tell one clock from the other")
    found = _coarse(signals)
    if found is None:
        return refused(f"they overlap for less than {LEAST_OVERLAP_S} s at every offset")
    lag, correlation, rival = found
    if correlation < LEAST_CORRELATION:
        return refused(
            f"they do not agree at any offset (correlation {correlation:.2f} at best): another flight?",
            correlation,
        )
    if correlation - rival < RIVAL_WITHIN:
        return refused(
            f"two offsets fit as well (correlations {correlation:.2f} and {rival:.2f})", correlation
        )
    fine, u_s = _refined(signals, lag)
    if u_s > WORST_U_S:
        return refused(f"the offset is uncertain by {u_s:.1f} s", correlation)
    offset_s = fine + start - own_start
    apart_m = _apart_m(onto, log, offset_s)
    if apart_m > SAME_PLACE_M:
        return refused(f"their positions lie {apart_m / 1000:,.1f} km apart: another flight", correlation)
    names = tuple(dict.fromkeys(s.name for s in signals))
    least = LEAST_U_S if any(signal.alike for signal in signals) else UNLIKE_U_S
    return Merge(log.name, onto.name, offset_s, float(np.hypot(u_s, least)), correlation, names)


def _seconds(log: Log) -> tuple[float, dict[str, Array]]:
    """Return the first second, and each channel on every second from there, NaN where there is none."""
    means = second_means(log)
    start = float(np.floor(means.time_s[0]))
    even = np.arange(int(means.time_s[-1] - start) + 1, dtype=float)
    at = even + start
    channels = {}
    for name, values in means.channels.items():
        channels[name] = _interpolated(means.time_s, values, at, 2.5, CHANNELS[name].circular)
    return start, channels


def _interpolated(time_s: Array, values: Array, at: Array, reach_s: float, circular: bool) -> Array:
    """Return readings between readings that lie no more than `reach_s` apart, NaN elsewhere."""
    known = np.flatnonzero(~np.isnan(values))
    if len(known) < 2:
        return np.full(len(at), np.nan)
    x, y = time_s[known], values[known]
    if circular:
        y = np.unwrap(y)
    after = np.clip(np.searchsorted(x, at), 1, len(x) - 1)
    inside = (at >= x[0]) & (at <= x[-1]) & (x[after] - x[after - 1] <= reach_s)
    result: Array = np.where(inside, np.interp(at, x, y), np.nan)
    return result % (2 * np.pi) if circular else result


def _signals(ours: dict[str, Array], theirs: dict[str, Array]) -> list[_Signal]:
    """Return what both logs tell of the same motion, still signals left out.

    Smoothed over seconds: sharing their noise, they would else agree best at a whole second.
    """
    found = []
    velocities = [_velocity(grid) for grid in (ours, theirs)]
    if velocities[0] is not None and velocities[1] is not None:
        found += [
            _Signal("velocity", _smooth(a), _smooth(b))
            for a, b in zip(velocities[0], velocities[1], strict=True)
        ]
    height = _pair(ours, theirs, _HEIGHTS)
    if height is not None:
        found.append(_Signal("height", _rate(height[0]), _rate(height[1]), height[2]))
    course = _pair(ours, theirs, _COURSES)
    if course is not None and (velocities[0] is None or velocities[1] is None):
        turns = [_rate(_unwrapped(values)) for values in course[:2]]
        found.append(_Signal("turn", turns[0], turns[1], course[2]))
    for name in _SHARED:
        if _known(ours.get(name)) and _known(theirs.get(name)):
            found.append(_Signal(name, _smooth(ours[name]), _smooth(theirs[name])))
    return [s for s in found if all(_moves(s.name, values) for values in (s.ours, s.theirs))]


def _rate(values: Array) -> Array:
    return rolling_fits(values, _RATE_WINDOW_S).slope


def _smooth(values: Array) -> Array:
    """Return running means over seven seconds, NaN where the second itself is."""
    known = ~np.isnan(values)
    kernel = np.ones(_SMOOTH_S)
    sums = np.convolve(np.where(known, values, 0.0), kernel, "same")
    counts = np.convolve(known.astype(float), kernel, "same")
    return np.where(known, sums / np.maximum(counts, 1.0), np.nan)


def _velocity(grid: dict[str, Array]) -> tuple[Array, Array] | None:
    speed, course = grid.get("ground_speed"), grid.get("ground_track")
    if speed is None or course is None or not _known(speed * course):
        return None
    return speed * np.cos(course), speed * np.sin(course)


def _pair(
    ours: dict[str, Array], theirs: dict[str, Array], names: tuple[str, ...]
) -> tuple[Array, Array, bool] | None:
    """Return a channel that both have, else the first that each has; and whether it is the same."""
    both = [name for name in names if _known(ours.get(name)) and _known(theirs.get(name))]
    if both:
        return ours[both[0]], theirs[both[0]], True
    first = [next((grid[n] for n in names if _known(grid.get(n))), None) for grid in (ours, theirs)]
    return (first[0], first[1], False) if first[0] is not None and first[1] is not None else None


def _known(values: Array | None) -> bool:
    return values is not None and int((~np.isnan(values)).sum()) >= LEAST_OVERLAP_S // 2


def _unwrapped(course: Array) -> Array:
    out = course.copy()
    known = ~np.isnan(course)
    out[known] = np.unwrap(course[known])
    return out


def _moves(name: str, values: Array) -> bool:
    return _known(values) and float(np.nanstd(values)) > _SCALES.get(name, 0.0)


def _coarse(signals: list[_Signal]) -> tuple[int, float, float] | None:
    """Return the whole-second lag that agrees best, its correlation, and that of the best rival."""
    size = len(signals[0].ours) + len(signals[0].theirs)
    size = 1 << (size - 1).bit_length()
    cross, ours2, theirs2, overlap = (np.zeros(size) for _ in range(4))
    for signal in signals:
        a, am = _standard(signal.ours)
        b, bm = _standard(signal.theirs)
        fa, fam, fa2 = (np.fft.rfft(v, size) for v in (a, am, a * a))
        fb, fbm, fb2 = (np.conj(np.fft.rfft(v, size)) for v in (b, bm, b * b))
        cross += np.fft.irfft(fa * fb, size)
        ours2 += np.fft.irfft(fa2 * fbm, size)
        theirs2 += np.fft.irfft(fam * fb2, size)
        overlap = np.maximum(overlap, np.fft.irfft(fam * fbm, size))
    shorter = min(max(int((~np.isnan(v)).sum()) for v in side) for side in
                  ([s.ours for s in signals], [s.theirs for s in signals]))  # fmt: skip
    enough = overlap >= max(LEAST_OVERLAP_S, LEAST_SHARE * shorter)
    if not enough.any():
        return None
    correlation = np.where(enough, cross / np.sqrt(np.maximum(ours2 * theirs2, 1e-12)), -1.0)
    best = int(np.argmax(correlation))
    distance = np.minimum(np.abs(np.arange(size) - best), size - np.abs(np.arange(size) - best))
    rivals = correlation[distance > RIVAL_APART_S]
    lag = best if best < len(signals[0].ours) else best - size
    return lag, float(correlation[best]), float(rivals.max(initial=-1.0))


def _standard(values: Array) -> tuple[Array, Array]:
    known = ~np.isnan(values)
    scaled = (values - np.nanmean(values)) / max(float(np.nanstd(values)), 1e-12)
    return np.where(known, scaled, 0.0), known.astype(float)


def _refined(signals: list[_Signal], lag: int) -> tuple[float, float]:
    """Return the lag to a fraction of a second, and its standard uncertainty."""
    fine = float(lag)
    top = bottom = np.zeros(1)
    for _ in range(10):
        parts = [_normal(signal, fine) for signal in signals]
        top, bottom = (np.sum([part[i] for part in parts], axis=0) for i in (0, 1))
        step = float(np.clip(top.sum() / max(bottom.sum(), 1e-12), -1.0, 1.0))
        fine += step
        if abs(step) < 1e-4:
            break
    parts = [_normal(signal, fine) for signal in signals]
    top, bottom = (np.sum([part[i] for part in parts], axis=0) for i in (0, 1))
    told = bottom > 0.001 * bottom.sum()
    if int(told.sum()) < 4:
        return fine, float("inf")
    # each part's own lag weighs by what it tells: the variance of their weighted mean
    top, bottom = top[told], bottom[told]
    lags = top / bottom
    weight = bottom / bottom.sum()
    spread = float((weight**2 * lags**2).sum()) * len(lags) / (len(lags) - 1)
    return fine, float(np.sqrt(spread))


def _normal(signal: _Signal, lag: float) -> tuple[Array, Array]:
    """Return right side and weight of the normal equation for a change of lag, by parts of the flight."""
    count = len(signal.ours)
    at: Array = np.arange(count).astype(float) - lag
    index: Array = np.arange(len(signal.theirs)).astype(float)
    theirs = _interpolated(index, signal.theirs, at, 1.5, False)
    rise: Array = np.convolve(signal.theirs, [0.5, 0.0, -0.5], "same")
    slope = -_interpolated(index, rise, at, 1.5, False)
    known = ~np.isnan(signal.ours) & ~np.isnan(theirs) & ~np.isnan(slope)
    x, y = signal.ours[known], theirs[known]
    if len(x) < LEAST_OVERLAP_S // 2 or y.std() == 0:
        return np.zeros(_PARTS), np.zeros(_PARTS)
    scale = float(((x - x.mean()) * (y - y.mean())).sum() / ((y - y.mean()) ** 2).sum())
    error = x - x.mean() - scale * (y - y.mean())
    slope = scale * slope[known]
    part = np.minimum(np.arange(len(x)) * _PARTS // len(x), _PARTS - 1)
    variance = max(float(error.var()), 1e-12)
    top = np.bincount(part, slope * error, _PARTS) / variance
    bottom = np.bincount(part, slope * slope, _PARTS) / variance
    return top, bottom


def _apart_m(onto: Log, log: Log, offset_s: float) -> float:
    """Return the median distance between the positions of two logs, 0 where one has none."""
    ends = [onto.get("latitude"), onto.get("longitude"), log.get("latitude"), log.get("longitude")]
    if any(values is None for values in ends):
        return 0.0
    latitude, longitude, *own = (values for values in ends if values is not None)
    moved = [_interpolated(log.time_s + offset_s, v, onto.time_s, 10.0, False) for v in own]
    meridian, parallel = radii_m(float(np.nanmedian(latitude)))
    apart = np.hypot((moved[0] - latitude) * meridian, (moved[1] - longitude) * parallel)
    return float(np.nanmedian(apart)) if not np.isnan(apart).all() else 0.0


def _joined(onto: Log, log: Log, merge: Merge) -> tuple[Log, Merge]:
    """Return the first log with channels of the second that it lacks, or has worse."""
    taken = _better(onto, log)
    fast = usual_step_s(log) < 0.5 * usual_step_s(onto)
    source = second_means(log) if fast else log
    reach = max(GAP_FACTOR * usual_step_s(source), 1.5)
    channels = dict(onto.channels)
    for name in taken:
        moved = source.time_s + merge.offset_s
        channels[name] = _interpolated(
            moved, source.channels[name], onto.time_s, reach, CHANNELS[name].circular
        )
    steps = {name: log.resolution[name] for name in taken if name in log.resolution}
    merge = replace(merge, channels=taken, repairs=log.repairs)
    said = Repair(
        "merged",
        ", ".join(taken) or "no channel",
        float(onto.time_s[0]),
        float(onto.time_s[-1]),
        (int(onto.lines[0]), int(onto.lines[-1])),
        len(onto) if taken else 0,
        f"from {log.name}, whose clock is moved by {merge.offset_s:+.2f} ± {1.96 * merge.u_s:.2f} s",
    )
    resolution = {**{k: v for k, v in onto.resolution.items() if k not in taken}, **steps}
    return replace(onto, channels=channels, resolution=resolution, repairs=(*onto.repairs, said)), merge


def _better(onto: Log, log: Log) -> tuple[str, ...]:
    """Return the channels to take: missing, emptier or much coarser in the first log."""
    taken = []
    for name in log.channels:
        if log.get(name) is None or name in SATELLITE:
            continue
        if onto.get(name) is None or _fuller(onto, log, name) or _finer(onto, log, name):
            taken.append(name)
    places = [name for name in SATELLITE if log.get(name) is not None]
    missing = [name for name in places if onto.get(name) is None]
    whole = "latitude" in places and "ground_speed" in places
    if whole and ("latitude" in missing or _fuller(onto, log, "latitude")):
        return (*places, *taken)
    return (*missing, *taken)


def _fuller(onto: Log, log: Log, name: str) -> bool:
    ours, theirs = onto.get(name), log.get(name)
    if ours is None or theirs is None:
        return False
    return float(np.isnan(ours).mean() - np.isnan(theirs).mean()) > _FULLER


def _finer(onto: Log, log: Log, name: str) -> bool:
    ours, theirs = onto.resolution.get(name, 0.0), log.resolution.get(name, 0.0)
    return theirs > 0 and ours > _COARSER * theirs
