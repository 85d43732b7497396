"""Conditions that could be flown, each with its time, its fuel and what it would measure."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.model import performance
from flyoff.model.diagnostics import sensitivities
from flyoff.model.evidence import Kind as Quantity
from flyoff.model.evidence import Observation
from flyoff.model.performance import Air, standard_air
from flyoff.model.predict import batches_of, predictions
from flyoff.model.solve import TYPICAL_ERROR, group_of
from flyoff.physics.manoeuvre import stall_speed
from flyoff.physics.optimum import best_lift_to_drag_speed
from flyoff.planning.request import Request

Kind: TypeAlias = Literal["box", "level", "climb", "cruise climb", "glide"]
POWERS = (0.45, 0.55, 0.65, 0.75)
CLIMB_SPEEDS = (0.9, 1.0, 1.15, 1.3)
"""Climb speeds over that of best lift to drag."""
CRUISE_CLIMB_POWERS = (0.55, 0.65, 0.75)
CRUISE_CLIMB_SPEED = 1.1
"""Speed of a climb at cruise power over that of best lift to drag; common practice, no source."""
GLIDE_SPEEDS = (0.9, 1.0, 1.2, 1.4)
"""Glide speeds over that of best lift to drag."""
STALL_MARGIN = 1.3
"""Least speed over the stall; common practice, no source."""
LEVELS = 4
_ROUND_M = 500 * ft
_SPEED_PER_FLOW = 0.4
"""Relative change of level speed per relative change of fuel flow, as for its evidence."""
_EFFICIENCY = 0.8
_NO_ROWS = np.zeros((0, 0))


@dataclass(frozen=True)
class Candidate:
    """A condition that could be flown.

    Time and fuel are of the condition alone, from a level back to that level; a glide's are
    `descends_m` lower. `rows` are what it measures in standard uncertainties: a slope for
    each parameter, then for the airspeed's calibration and the fuel flow's scale.
    """

    kind: Kind
    altitude_m: float
    power_ratio: float
    calibrated_airspeed_m_s: float
    true_airspeed_m_s: float
    fuel_flow_kg_s: float
    time_s: float
    fuel_kg: float
    descends_m: float
    observation: Observation
    rows: Array


def candidates_of(request: Request) -> tuple[Candidate, ...]:
    """Return every condition that the airplane's limits and the altitudes allow."""
    drafts = [*_levels(request), *_climbs(request), *_glides(request)]
    if not drafts:
        return ()
    slopes = sensitivities(request.fit, [draft.observation for draft in drafts])
    per_flow = _per_flow(request, [draft.observation for draft in drafts])
    return tuple(
        replace(draft, rows=_rows(request, draft, slope, flow))
        for draft, slope, flow in zip(drafts, slopes, per_flow, strict=True)
    )


def levels_of(request: Request) -> tuple[float, ...]:
    """Return the altitudes to choose from, evenly spaced and round, and that of cruise if it is allowed."""
    spaced = np.linspace(request.lowest_m, request.highest_m, LEVELS)
    rounded = {
        float(np.clip(_ROUND_M * np.round(h / _ROUND_M), request.lowest_m, request.highest_m)) for h in spaced
    }
    if request.lowest_m <= request.cruise_altitude_m <= request.highest_m:
        near = min(rounded, key=lambda h: abs(h - request.cruise_altitude_m))
        if abs(near - request.cruise_altitude_m) < 2 * _ROUND_M:
            rounded.discard(near)
        rounded.add(request.cruise_altitude_m)
    return tuple(sorted(rounded))


def slowest_m_s(request: Request) -> float:
    """Return the least calibrated airspeed to fly: a margin above the clean stall at this weight."""
    stall = request.airplane.speeds.stall_clean
    if stall is None:
        return 0.0
    takeoff_kg = request.fit.known.takeoff_mass_kg
    return STALL_MARGIN * float(stall_speed(stall.si, request.ramp_mass_kg, takeoff_kg))


def fastest_m_s(request: Request) -> float:
    """Return the highest calibrated airspeed to fly: that of normal operation, which needs no smooth air."""
    speeds = request.airplane.speeds
    if speeds.normal_operating is not None:
        return speeds.normal_operating.si
    return 0.8 * speeds.never_exceed.si if speeds.never_exceed is not None else np.inf


def _allowed(request: Request, equivalent_m_s: float) -> bool:
    return slowest_m_s(request) <= equivalent_m_s <= fastest_m_s(request)


def _root_density(air: Air) -> float:
    return float(np.sqrt(air.density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3))


def _air(request: Request, altitude_m: float) -> Air:
    return standard_air(altitude_m, request.mass_kg, request.isa_deviation_k)


def _observe(
    request: Request, kind: Quantity, altitude_m: float, value: float, u: float, **more: float
) -> Observation:
    air = _air(request, altitude_m)
    with_model = float(np.hypot(u, TYPICAL_ERROR[group_of(kind)] * value))
    seen = Observation(
        kind,
        "flight",
        value,
        with_model,
        altitude_m,
        float(air.temperature_k),
        request.mass_kg,
        Place("plan"),
    )
    return replace(seen, **more)  # type: ignore[arg-type]


def _levels(request: Request) -> Iterator[Candidate]:
    for altitude_m in levels_of(request):
        air = _air(request, altitude_m)
        most = float(performance.full_power(request.fit.nominal, air)) / request.fit.known.rated_power_w
        for share in (*(s for s in POWERS if s <= most), *([most] if most < max(POWERS) else [])):
            yield from _at_power(request, altitude_m, share)


def _at_power(request: Request, altitude_m: float, power_ratio: float) -> Iterator[Candidate]:
    """Yield a level on one heading, and one as a box of legs whose ground speeds give true airspeed."""
    nominal, practice, accuracy = request.fit.nominal, request.practice, request.accuracy
    air = _air(request, altitude_m)
    power_w = power_ratio * request.fit.known.rated_power_w
    true = float(performance.level_speed(nominal, power_w, air))
    equivalent = true * _root_density(air)
    if not np.isfinite(true) or not _allowed(request, equivalent):
        return
    flow = float(performance.cruise_fuel_flow(nominal, power_w))
    leg_s = practice.leg_turn_s + practice.leg_stabilise_s + practice.record_s
    box_s = practice.stabilise_s - practice.leg_stabilise_s + practice.legs * leg_s - practice.leg_turn_s
    warm = 0.5 * true * accuracy.u_temperature_k / float(air.temperature_k)
    read = float(np.hypot(accuracy.u_airspeed_m_s / _root_density(air), warm))
    kinds: tuple[tuple[Kind, float, float], ...] = (
        ("level", practice.stabilise_s + practice.record_s, read),
        ("box", box_s, accuracy.u_legs_m_s),
    )
    for kind, time_s, u in kinds:
        u = float(np.hypot(u, _SPEED_PER_FLOW * true * accuracy.u_flow_ratio))
        seen = _observe(request, "speed at fuel flow", altitude_m, true, u, fuel_flow_kg_s=flow)
        yield Candidate(
            kind, altitude_m, power_ratio, equivalent, true, flow, time_s, flow * time_s, 0.0, seen, _NO_ROWS
        )


def _best_speed(request: Request, factor: float = 1.0) -> float:
    model = request.fit.nominal
    area_m2 = float(model["drag_area_m2"]) * factor
    return float(best_lift_to_drag_speed(request.mass_kg, area_m2, model["effective_span_m"]))


def _climbs(request: Request) -> Iterator[Candidate]:
    """Yield sawtooth climbs that begin at a level and end below the highest altitude allowed."""
    nominal, rated_w = request.fit.nominal, request.fit.known.rated_power_w
    for altitude_m in levels_of(request):
        full_w = float(performance.full_power(nominal, _air(request, altitude_m)))
        for factor in CLIMB_SPEEDS:
            yield from _sawtooth(request, altitude_m, factor * _best_speed(request), None)
        for power_w in (share * rated_w for share in CRUISE_CLIMB_POWERS if share * rated_w < 0.95 * full_w):
            yield from _sawtooth(request, altitude_m, CRUISE_CLIMB_SPEED * _best_speed(request), power_w)


def _sawtooth(
    request: Request, altitude_m: float, equivalent: float, cruise_power_w: float | None
) -> Iterator[Candidate]:
    """Yield two runs at full power, or at a cruise power that the fuel flow tells."""
    nominal, practice = request.fit.nominal, request.practice
    run_s = practice.climb_settle_s + practice.climb_record_s
    start = _rate(request, altitude_m, equivalent, cruise_power_w)
    if start <= 0 or altitude_m + start * run_s > request.highest_m or not _allowed(request, equivalent):
        return
    middle_m = altitude_m + start * (run_s - practice.climb_record_s / 2)
    air = _air(request, middle_m)
    true = equivalent / _root_density(air)
    rate = _rate(request, middle_m, equivalent, cruise_power_w)
    u = request.accuracy.u_rate_m_s / 2**0.5  # two runs, the air's rise in each its own
    if cruise_power_w is None:
        power_w = float(performance.full_power(nominal, air))
        flow = float(performance.climb_fuel_flow(nominal, power_w))
        seen = _observe(request, "rate of climb", middle_m, rate, u, true_airspeed_m_s=true)
    else:
        power_w, flow = cruise_power_w, float(performance.cruise_fuel_flow(nominal, cruise_power_w))
        per_flow = _EFFICIENCY * power_w / (request.mass_kg * STANDARD_GRAVITY_M_S2)
        u = float(np.hypot(u, per_flow * request.accuracy.u_flow_ratio))
        more = {"true_airspeed_m_s": true, "fuel_flow_kg_s": flow}
        seen = _observe(request, "rate at fuel flow", middle_m, rate, u, **more)
    back_s = 2 * start * run_s / practice.descent_m_s + practice.climb_turn_s
    fuel_kg = flow * 2 * run_s + _idle_flow(request) * back_s
    kind: Kind = "climb" if cruise_power_w is None else "cruise climb"
    yield Candidate(
        kind, altitude_m, power_w / request.fit.known.rated_power_w, equivalent, true, flow,
        2 * run_s + back_s, fuel_kg, 0.0, seen, _NO_ROWS,
    )  # fmt: skip


def _rate(request: Request, altitude_m: float, equivalent: float, power_w: float | None) -> float:
    air = _air(request, altitude_m)
    true = equivalent / _root_density(air)
    return float(performance.rate_of_climb(request.fit.nominal, true, air, power_w, accelerating=True))


def _glides(request: Request) -> Iterator[Candidate]:
    nominal, practice = request.fit.nominal, request.practice
    altitude_m = (request.lowest_m + request.highest_m) / 2
    air = _air(request, altitude_m)
    factor = float(nominal["glide_drag_factor"])
    for ratio in GLIDE_SPEEDS:
        equivalent = ratio * _best_speed(request, factor)
        true = equivalent / _root_density(air)
        if not _allowed(request, equivalent):
            continue
        sink = float(performance.sink_rate(nominal, true, air))
        time_s = 2 * (practice.glide_settle_s + practice.glide_record_s) + practice.glide_turn_s
        u = request.accuracy.u_rate_m_s / 2**0.5
        seen = _observe(request, "sink rate", altitude_m, sink, u, true_airspeed_m_s=true)
        idle = 0.3 * _idle_flow(request)
        yield Candidate(
            "glide", altitude_m, 0.0, equivalent, true, idle, time_s, idle * time_s, sink * time_s, seen,
            _NO_ROWS,
        )  # fmt: skip


def _idle_flow(request: Request) -> float:
    """Return the fuel flow of a descent with some power on [kg/s]."""
    power_w = request.practice.descent_power_ratio * request.fit.known.rated_power_w
    return float(performance.cruise_fuel_flow(request.fit.nominal, power_w))


def _per_flow(request: Request, observations: list[Observation]) -> Array:
    """Return what each value gains per relative change of the fuel flow [SI]."""
    step = 0.01
    both = [*observations, *(replace(o, fuel_flow_kg_s=o.fuel_flow_kg_s * (1 + step)) for o in observations)]
    found = predictions(request.fit.nominal, batches_of(both), len(both))[:, 0]
    count = len(observations)
    return np.asarray(np.nan_to_num((found[count:] - found[:count]) / step))


def _rows(request: Request, draft: Candidate, slopes: Array, per_flow: float) -> Array:
    accuracy, u = request.accuracy, draft.observation.u
    root = draft.calibrated_airspeed_m_s / draft.true_airspeed_m_s
    shared = accuracy.u_calibration_m_s / root
    flow = -per_flow * accuracy.u_flow_scale_ratio / u
    if draft.kind == "level":
        return np.array([[*slopes, shared / u, flow]])
    if draft.kind == "box":
        seen = np.hypot(accuracy.u_legs_m_s, accuracy.u_airspeed_m_s / root / request.practice.legs**0.5)
        return np.array([[*slopes, 0.0, flow], [*np.zeros(len(slopes)), shared / seen, 0.0]])
    # a speed that is misread changes a rate by little near the best: its slope is left out
    return np.array([[*slopes, 0.0, flow if draft.kind == "cruise climb" else 0.0]])
