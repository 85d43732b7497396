"""Steady conditions: stretches of a log in which the airplane flew one condition.

A rolling test with hysteresis. Every second is asked, over windows around it,
whether the airplane keeps its direction, its airspeed, its rate of climb and
its power; a stretch is kept where strict limits hold for a while, and extended
as far as loose ones do (twice the strict).

The limits follow the customs of performance flight testing: level flight is
taken as stabilised when the airspeed changes by less than about 2 kt in a
minute at constant altitude and power (USNTPS-FTM-108, Fixed Wing Performance,
1992, ch. 5, from memory, not looked up); ground speeds are averaged over at
least 10 s of stable readings (SFTE Reference Handbook, 2013, ch. 4). The
widths of the windows are common practice, no source.
"""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array, Mask
from flyoff.core.units import degree, fpm, inhg, kt, rpm
from flyoff.flights.card import ConditionEdit, Kind, NotedPoint
from flyoff.flights.flags import air_flags, gap_flags
from flyoff.flights.grid import LEAST_FILLED, Grid, make_grid, rolling_fits
from flyoff.flights.log import Log, runs_of, utc
from flyoff.flights.read import Flight

SEARCH_STEPS = 150
"""How finely a long stretch is searched for its steady parts."""
LOOSE = 2.0
"""Loose limits as a multiple of the strict ones."""

ENGINE_SHARE = {
    "fuel_flow": 0.3,
    "fuel_mass_flow": 0.3,
    "rpm": 0.5,
    "manifold_pressure": 0.45,
    "noise_level": 0.3,
}
"""Shares of its reading at power below which an engine idles or stands; common practice, no source."""
_SIDE_S = 10
LONGEST_BRIDGED_S = 20
"""[s] A gap in the readings that a condition may hold, where both sides keep its course; common practice, no
source."""
SETTLED_M_S = 0.7 * kt
SETTLED_WINDOW_S = 8
LONGEST_SETTLING_S = 20
"""How near its airspeed a climb or descent begins and ends, over which seconds, and how much is cut for that;
common practice, no source."""


@dataclass(frozen=True)
class Criteria:
    """Limits for a steady condition, in SI."""

    shortest_s: float = 40.0
    core_s: float = 20.0
    turn_rate_rad_s: float = 0.25 * degree
    turn_window_s: int = 10
    climb_bank_rad: float = 10 * degree
    airspeed_rate_m_s2: float = 6 * kt / 60
    airspeed_scatter_m_s: float = 2.0 * kt
    airspeed_window_s: int = 30
    airspeed_band_m_s: float = 2.0 * kt
    band_window_s: int = 20
    airspeed_drift_m_s2: float = 2 * kt / 60
    level_rate_m_s: float = 100 * fpm
    climb_rate_m_s: float = 200 * fpm
    rate_window_s: int = 20
    rate_change_m_s: float = 150 * fpm
    rate_change_share: float = 0.25
    power_window_s: int = 16
    rpm_change: float = 30 * rpm
    manifold_pressure_change_pa: float = 0.5 * inhg
    settle_s: int = 2
    slope_settle_s: int = 8
    flying_m_s: float = 30 * kt


@dataclass(frozen=True)
class Condition:
    """One steady condition.

    `drift_m_s2` is the slope of the airspeed over the whole of it; `origin`
    says whether it was found or put there by hand, `origin_note` what the hand did; `flags` what is not
    right with it, with the number that says so. `phase` tells a glide from a descent with power.
    Gear, flaps and propeller are clean, and turning, unless the hand says otherwise.
    """

    kind: Kind
    start_s: float
    end_s: float
    drift_m_s2: float = 0.0
    origin: str = "found"
    flags: tuple[str, ...] = field(default=())
    phase: str = ""
    origin_note: str = ""
    mixture: str = ""
    gear_down: bool = False
    flaps_rad: float = 0.0
    is_feathered: bool = False

    @property
    def is_clean(self) -> bool:
        """Whether gear and flaps are up."""
        return not self.gear_down and self.flaps_rad == 0

    def set_as(self, said: "ConditionEdit | NotedPoint") -> "Condition":
        """Return it with mixture, gear, flaps and propeller as the hand says."""
        return replace(
            self,
            mixture=said.mixture or "",
            gear_down=said.gear == "down",
            flaps_rad=said.flaps.si if said.flaps else 0.0,
            is_feathered=said.propeller == "feathered",
        )


def criteria_of(flight: Flight) -> Criteria:
    """Return the criteria with what the flight file overrides."""
    own = flight.card.steady
    criteria = Criteria()
    if own.shortest is not None:
        criteria = replace(criteria, shortest_s=own.shortest.si)
    if own.airspeed_drift is not None:
        criteria = replace(criteria, airspeed_drift_m_s2=own.airspeed_drift.si / 60)
    if own.level_rate is not None:
        criteria = replace(criteria, level_rate_m_s=own.level_rate.si)
    return criteria


def find_conditions(log: Log, criteria: Criteria | None = None) -> list[Condition]:
    """Return the steady conditions of a log, in order of time."""
    criteria = criteria or Criteria()
    grid = make_grid(log)
    strict, loose = (_allowed(grid, criteria, scale) for scale in (1.0, LOOSE))
    turn_rate = _turn_rate(grid)
    found: list[Condition] = []
    for kind in strict:
        for start, end in runs_of(loose[kind]):
            if max((b - a for a, b in runs_of(strict[kind][start:end])), default=0) >= criteria.core_s:
                parts = settled_parts(grid, start + criteria.settle_s, end - criteria.settle_s, criteria)
                parts = [_settled_ends(grid, kind, *part, criteria) for part in parts]
                parts = [part for part in parts if _is_flown(grid, kind, *part, criteria)]
                found += (_condition(grid, kind, a, b, criteria, turn_rate) for a, b in parts)
    return sorted(_without_overlap(found), key=lambda c: c.start_s)


def flight_conditions(flight: Flight, log: Log) -> list[Condition]:
    """Return a log's conditions with the hand's accepting and rejecting of them."""
    conditions = find_conditions(log, criteria_of(flight))
    grid = make_grid(log)
    for edit in flight.card.conditions:
        start_s, end_s = flight.time_s(edit.start), flight.time_s(edit.end)
        replaced = [c for c in conditions if _share_inside(c, start_s, end_s) > 0.5]
        conditions = [c for c in conditions if c not in replaced]
        if edit.decision == "accept" and start_s < log.time_s[-1] and end_s > log.time_s[0]:
            note = "; ".join(
                [*(f"ends moved from {_clock(c)}" for c in replaced), *([edit.why] if edit.why else [])]
            )
            by_hand = _by_hand(grid, edit.kind, start_s, end_s).set_as(edit)
            conditions.append(replace(by_hand, origin_note=note))
    engine = engine_reference(grid)
    return sorted((judged(c, grid, engine) for c in conditions), key=lambda c: c.start_s)


def edits_of(flight: Flight) -> list[tuple[ConditionEdit, list[Condition]]]:
    """Return each edit of the hand with the conditions that would have been found there."""
    found = [c for log in flight.logs for c in find_conditions(log, criteria_of(flight))]
    return [
        (
            edit,
            [c for c in found if _share_inside(c, flight.time_s(edit.start), flight.time_s(edit.end)) > 0.5],
        )
        for edit in flight.card.conditions
    ]


def _clock(condition: Condition) -> str:
    return f"{utc(condition.start_s)[11:19]}–{utc(condition.end_s)[11:19]}"


def _share_inside(condition: Condition, start_s: float, end_s: float) -> float:
    shared = min(condition.end_s, end_s) - max(condition.start_s, start_s)
    return shared / min(condition.end_s - condition.start_s, max(end_s - start_s, 1e-9))


def _by_hand(grid: Grid, kind: Kind | None, start_s: float, end_s: float) -> Condition:
    inside = (grid.time_s >= start_s) & (grid.time_s <= end_s)
    height = grid.get("pressure_altitude", "gps_altitude")
    if kind is None:
        rate = 0.0 if height is None else _slope(height[inside])
        limit = Criteria().climb_rate_m_s
        kind = "climb" if rate > limit else "descent" if rate < -limit else "level"
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    drift = 0.0 if speed is None else _slope(speed[inside])
    return Condition(kind, start_s, end_s, drift, "accepted by hand", _drift_flags(grid, drift, Criteria()))


def _allowed(grid: Grid, criteria: Criteria, scale: float) -> dict[Kind, Mask]:
    """Return for each kind the seconds that belong to windows within the limits, `scale` times the strict."""
    held = _at_airspeed(grid, criteria, scale) & _at_power(grid, criteria)
    rate = _turn_rate(grid)
    straight = np.abs(rate) <= scale * criteria.turn_rate_rad_s
    banked = np.abs(rate) <= _rate_at_bank(grid, criteria.climb_bank_rad)
    height = grid.get("pressure_altitude", "gps_altitude")
    if height is None:
        return {"level": held & straight}
    window = criteria.rate_window_s
    vertical = rolling_fits(height, window).slope
    half = window // 2
    change = np.abs(np.roll(vertical, -half) - np.roll(vertical, half))
    change[:half] = change[-half:] = np.nan  # no rate on both sides to compare
    limit = scale * np.maximum(criteria.rate_change_m_s, criteria.rate_change_share * np.abs(vertical))
    even = np.isnan(change) | (change <= limit)
    level = np.abs(vertical) <= scale * criteria.level_rate_m_s
    return {
        "level": held & straight & _opened(level, half),
        "climb": held & banked & _opened((vertical >= criteria.climb_rate_m_s) & even, half),
        "descent": held & banked & _opened((vertical <= -criteria.climb_rate_m_s) & even, half),
    }


def _opened(mask: Mask, half: int) -> Mask:
    """Return the seconds inside any window whose centre is in the mask."""
    reach = np.convolve(mask.astype(float), np.ones(2 * half + 1), "same")[: len(mask)]
    return reach > 0.5


def _turn_rate(grid: Grid) -> Array:
    """Return the rate of turn by course, else by heading; 0 where neither is recorded, [rad/s]."""
    rate = np.full(len(grid.time_s), np.nan)
    for name in ("ground_track", "true_heading", "magnetic_heading"):
        values = grid.channels.get(name)
        if values is not None:
            own = _bridged(rolling_fits(values, Criteria.turn_window_s).slope, values)
            rate = np.where(np.isnan(rate), own, rate)
    return np.zeros_like(rate) if np.isnan(rate).all() else np.nan_to_num(rate, nan=np.inf)


def _bridged(rate: Array, course: Array) -> Array:
    """Return rates of turn with short gaps filled by the courses either side, all turned in one window."""
    out, known = rate.copy(), ~np.isnan(course)
    for start, end in runs_of(np.isnan(rate)):
        first, last = max(start - LONGEST_BRIDGED_S, 0), end + LONGEST_BRIDGED_S
        before = np.flatnonzero(known[first:start])[-_SIDE_S:] + first
        after = np.flatnonzero(known[end:last])[:_SIDE_S] + end
        if len(before) and len(after):
            turned = float(course[after].mean() - course[before].mean())
            if after[0] - before[-1] <= LONGEST_BRIDGED_S:
                out[start:end] = turned / Criteria.turn_window_s
    return out


def _rate_at_bank(grid: Grid, bank_rad: float) -> Array:
    """Return the rate of turn at a bank, by the airspeed of each second, [rad/s]."""
    speed = grid.get("true_airspeed", "indicated_airspeed", "ground_speed")
    if speed is None:
        return np.zeros(len(grid.time_s))
    rate: Array = STANDARD_GRAVITY_M_S2 * np.tan(bank_rad) / np.fmax(speed, 20 * kt)
    return rate


def _at_airspeed(grid: Grid, criteria: Criteria, scale: float) -> Mask:
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if speed is None:
        return np.zeros(len(grid.time_s), bool)
    fits = rolling_fits(speed, criteria.airspeed_window_s)
    with np.errstate(invalid="ignore"):
        held = (np.abs(fits.slope) <= scale * criteria.airspeed_rate_m_s2) & (
            fits.scatter <= scale * criteria.airspeed_scatter_m_s
        )
    return _opened(held, criteria.airspeed_window_s // 2)


def _at_power(grid: Grid, criteria: Criteria) -> Mask:
    """Power kept: a change of setting always parts two conditions, whatever the scale."""
    held = np.ones(len(grid.time_s), bool)
    window = criteria.power_window_s
    limits = {"rpm": criteria.rpm_change, "manifold_pressure": criteria.manifold_pressure_change_pa}
    for name, limit in limits.items():
        values = grid.get(name)
        if values is not None:
            change = np.abs(rolling_fits(values, window).slope) * window
            held &= _opened(np.isnan(change) | (change <= limit), window // 2 - criteria.settle_s)
    return held


def _slope(values: Array) -> float:
    """Return the least-squares slope of second means, per second."""
    known = np.flatnonzero(~np.isnan(values))
    if len(known) < 3:
        return 0.0
    t = known - known.mean()
    return float((t * (values[known] - values[known].mean())).sum() / (t**2).sum())


def settled_parts(grid: Grid, start: int, end: int, criteria: Criteria) -> list[tuple[int, int]]:
    """Return the longest parts of a stretch that keep one airspeed, as half-open ranges in order.

    A part keeps its airspeed where its running mean stays within the band
    around the mean of the part, and its slope within the limit of drift. The
    longest such part is taken, then the longest of what is left either side.
    A stretch that only drifts is kept whole up to twice the limit, to be flagged.
    """
    if end - start < criteria.shortest_s:
        return []
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if speed is None:
        return [(start, end)]
    best = _longest_part(speed, start, end, criteria, 1.0) or _longest_part(
        speed, start, end, criteria, LOOSE
    )
    if best is None:
        return []
    before, after = ((start, best[0]), (best[1], end))
    return [
        *settled_parts(grid, *before, criteria),
        best,
        *settled_parts(grid, *after, criteria),
    ]


def _settled_ends(grid: Grid, kind: Kind, start: int, end: int, criteria: Criteria) -> tuple[int, int]:
    """Return a climb or descent without the seconds at its ends in which the airspeed is not yet the rest's.

    Speed that bleeds off on the way into a climb shows as height: 4 kt lost are 35 ft at 100 kt. Nothing is
    cut that would leave a part that drifts beyond the loose limit.
    """
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if kind == "level" or speed is None:
        return start, end
    whole, least, step = (start, end), criteria.shortest_s, SETTLED_WINDOW_S // 4
    start += int(min(criteria.slope_settle_s, max(end - start - least, 0)))
    for _ in range(LONGEST_SETTLING_S // step):
        if end - start - step >= least and _apart(speed[start:end]) > SETTLED_M_S:
            start += step
    for _ in range(LONGEST_SETTLING_S // step):
        if end - start - step >= least and _apart(speed[start:end][::-1]) > SETTLED_M_S:
            end -= step
    drifts = abs(_slope(speed[start:end])) > LOOSE * criteria.airspeed_drift_m_s2
    return whole if drifts else (start, end)


def _apart(speed: Array) -> float:
    """Return how far the mean of the first seconds is from that of the rest; 0 where either is not known."""
    first, rest = speed[:SETTLED_WINDOW_S], speed[SETTLED_WINDOW_S:]
    first, rest = first[~np.isnan(first)], rest[~np.isnan(rest)]
    return abs(float(first.mean() - rest.mean())) if len(first) and len(rest) else 0.0


def _is_flown(grid: Grid, kind: Kind, start: int, end: int, criteria: Criteria) -> bool:
    """Whether a part is flight, not taxiing or parking, and keeps its kind over the whole of it."""
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if speed is not None and np.nanmean(speed[start:end]) < criteria.flying_m_s:
        return False
    height = grid.get("pressure_altitude", "gps_altitude")
    return kind != "level" or height is None or abs(_slope(height[start:end])) <= criteria.level_rate_m_s


def _longest_part(
    speed: Array, start: int, end: int, criteria: Criteria, scale: float
) -> tuple[int, int] | None:
    """Return the longest part within the limits, the later of equals; None where there is none."""
    step = max(5, -(-(end - start) // SEARCH_STEPS))
    edges = np.append(np.arange(start, end - step + 1, step), end)
    values = speed[start:end]
    known = ~np.isnan(values)
    if not known.any():
        return None
    t = np.arange(end - start, dtype=float)
    x = np.where(known, values - np.nanmean(values), 0.0)
    terms = (known * 1.0, known * t, x, known * t * t, t * x)
    n, st, sx, stt, stx = (_between(term, edges - start) for term in terms)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (n * stx - st * sx) / (n * stt - st**2)
        mean = sx / n
    low, high = _band(x, known, edges - start, criteria.band_window_s)
    long_enough = criteria.shortest_s <= np.subtract.outer(edges, edges).T
    fits = (
        long_enough
        & (np.abs(slope) <= scale * criteria.airspeed_drift_m_s2)
        & (high - mean <= scale * criteria.airspeed_band_m_s)
        & (mean - low <= scale * criteria.airspeed_band_m_s)
    )
    if not fits.any():
        return None
    lengths = np.where(fits, np.subtract.outer(edges, edges).T, -1)
    first, last = np.unravel_index(len(lengths.flat) - 1 - int(np.argmax(lengths[::-1, ::-1])), lengths.shape)
    return int(edges[first]), int(edges[last])


def _between(terms: Array, edges: NDArray[np.int64]) -> Array:
    """Return sums between each pair of edges, shape (edges, edges)."""
    sums = np.concatenate([[0.0], np.cumsum(terms)])[edges]
    between: Array = np.subtract.outer(sums, sums).T
    return between


def _band(x: Array, known: Mask, edges: NDArray[np.int64], window_s: int) -> tuple[Array, Array]:
    """Return the least and greatest running mean between each pair of edges, shape (edges, edges)."""
    kernel = np.ones(min(window_s, len(x)))
    weight = np.convolve(known.astype(float), kernel, "same")
    with np.errstate(divide="ignore", invalid="ignore"):
        running = np.convolve(x, kernel, "same") / weight
    # a window over the part's end mixes in what is outside: only whole windows count
    running[weight < LEAST_FILLED * len(kernel)] = np.nan
    inner = [running[a:b] for a, b in pairwise(edges.tolist())]
    lowest = np.array([np.nanmin(part) if np.isfinite(part).any() else np.inf for part in inner])
    highest = np.array([np.nanmax(part) if np.isfinite(part).any() else -np.inf for part in inner])
    count = len(edges)
    upper = np.triu(np.ones((count, count - 1), bool))
    low = np.minimum.accumulate(np.where(upper, lowest, np.inf), axis=1)
    high = np.maximum.accumulate(np.where(upper, highest, -np.inf), axis=1)
    pad = np.full((count, 1), np.inf)
    return np.hstack([pad, low]), np.hstack([-pad, high])


def _condition(
    grid: Grid, kind: Kind, start: int, end: int, criteria: Criteria, turn_rate: Array
) -> Condition:
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    drift = 0.0 if speed is None else _slope(speed[start:end])
    flags = [*_drift_flags(grid, drift, criteria)]
    turn = float(np.median(turn_rate[start:end]))
    if abs(turn) > criteria.turn_rate_rad_s:
        flags.append(f"flown in a turn of {turn / degree:+.1f} degrees per second")
    return Condition(
        kind, float(grid.time_s[start]), float(grid.time_s[end - 1]), drift, "found", tuple(flags)
    )


def engine_reference(grid: Grid) -> dict[str, float]:
    """Return what the engine's readings are at power: the 95th percentile of each over the log."""
    found = {}
    for name in ENGINE_SHARE:
        values = grid.get(name)
        if values is not None:
            found[name] = float(np.nanpercentile(values, 95))
    return found


def judged(condition: Condition, grid: Grid, engine: Mapping[str, float]) -> Condition:
    """Return a condition with its phase, and flags for rough, rising or sinking air with their numbers."""
    part = grid.between(condition.start_s, condition.end_s)
    phase: str = condition.kind
    if phase == "descent":
        shares = {}
        for name, reference in engine.items():
            values = part.get(name)
            if values is not None and reference > 0:
                shares[name] = float(np.nanmean(values)) / reference
        idle = any(share < ENGINE_SHARE[name] for name, share in shares.items())
        phase = "glide" if idle else "descent" if shares else "descent, engine not recorded"
    return replace(condition, phase=phase, flags=(*condition.flags, *gap_flags(part), *air_flags(part)))


def _drift_flags(grid: Grid, drift_m_s2: float, criteria: Criteria) -> tuple[str, ...]:
    if abs(drift_m_s2) <= criteria.airspeed_drift_m_s2:
        return ()
    known = grid.get("indicated_airspeed", "true_airspeed") is not None
    return (f"{'airspeed' if known else 'ground speed'} drifts by {drift_m_s2 * 60 / kt:+.1f} kt per minute",)


def _without_overlap(found: list[Condition]) -> list[Condition]:
    """Return conditions of which none shares time with another: the longer one stays whole."""
    kept: list[Condition] = []
    for condition in sorted(found, key=lambda c: c.start_s - c.end_s):
        at = bisect_left(kept, condition.start_s, key=lambda c: c.end_s)
        if at == len(kept) or kept[at].start_s > condition.end_s:
            kept.insert(at, condition)
    return kept
