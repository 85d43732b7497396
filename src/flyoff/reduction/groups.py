"""Which steady conditions are legs of one measurement: one height, airspeed and power, several headings."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.typing import Array
from flyoff.core.units import degree, ft, inhg, kt, rpm
from flyoff.flights.grid import Grid
from flyoff.reduction.between import wind_kept
from flyoff.reduction.legs import LEAST_LEGS, WindSolution, heading_conflict, solve_legs
from flyoff.reduction.profile import share_profile
from flyoff.reduction.readings import Readings
from flyoff.reduction.seconds import with_seconds
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.wander import Wander, wind_wander

ALTITUDE_BAND_M = 150 * ft
AIRSPEED_BAND_M_S = 2.5 * kt
RPM_BAND = 40 * rpm
MANIFOLD_PRESSURE_BAND_PA = 0.7 * inhg
LONGEST_PAUSE_S = 1200.0
"""[s] From one leg's end to the next's start: the wind changes with time; common practice, no source."""
COMPASS_U_RAD = 3 * degree
"""[rad] Standard uncertainty of a compass heading with its deviation; common practice, no source."""
SAME_HEADING_RAD = 15 * degree
SAME_HEADING_U_RAD = 1 * degree
"""[rad] The same for two legs on one heading, sharing their deviation; common practice, no source."""
CONFLICT_BELOW = 1e-3
LEAST_LEVELS = 2
_APART_RAD = 30 * degree


@dataclass(frozen=True)
class LegGroup:
    """Legs that were solved together; `members` index the flight's points.

    `profile` says which wind profile it shares with other levels, empty where it has a wind of its own.
    """

    members: tuple[int, ...]
    solution: WindSolution
    start_s: float
    end_s: float
    pressure_altitude: Estimate | None
    indicated_airspeed: Estimate | None
    profile: str = ""

    @property
    def refused(self) -> str:
        """Why the answer is not given, empty where it is."""
        return self.solution.refused


def find_groups(points: list[Readings], grids: Mapping[str, Grid]) -> list[LegGroup]:
    """Return the groups of level legs with at least three courses well apart, solved.

    `grids` are the logs' second means, by name.
    """
    candidates = [i for i, p in enumerate(points) if p.condition.kind == "level" and p.ground_m_s is not None]
    candidates = [i for i in candidates if points[i].wind_shift_m_s == 0]
    clusters: list[list[int]] = []
    for index in candidates:
        home = next((c for c in clusters if _belongs(points[index], [points[i] for i in c])), None)
        if home is None:
            clusters.append([index])
        else:
            home.append(index)
    wander = wind_wander(points[i] for i in candidates)
    groups = [
        _solved(points, cluster, wander) for cluster in clusters if _courses(points, cluster) >= LEAST_LEGS
    ]
    return _on_profile([_with_all_seconds(group, points, grids, wander) for group in groups])


def _on_profile(groups: list[LegGroup]) -> list[LegGroup]:
    """Return the groups with their answers on a shared wind profile, where that fits better."""
    able = [i for i, g in enumerate(groups) if not g.refused and g.pressure_altitude is not None]
    if len(able) < LEAST_LEVELS:
        return groups
    heights = np.array([g.pressure_altitude.value for i in able if (g := groups[i]).pressure_altitude])
    solutions, profile = share_profile([groups[i].solution for i in able], heights)
    if profile is None:
        return groups
    shared = dict(zip(able, solutions, strict=True))
    return [
        replace(g, solution=shared[i], profile=str(profile)) if i in shared else g
        for i, g in enumerate(groups)
    ]


def _with_all_seconds(
    group: LegGroup, points: list[Readings], grids: Mapping[str, Grid], wander: Wander
) -> LegGroup:
    """Refuse an answer that the seconds between the legs contradict; let them help one that is unsure."""
    legs = [points[i] for i in group.members]
    grid = grids.get(legs[0].log)
    if (
        group.refused
        or grid is None
        or group.indicated_airspeed is None
        or len({leg.log for leg in legs}) > 1
    ):
        return group
    spans = [(leg.condition.start_s, leg.condition.end_s) for leg in legs]
    kept = wind_kept(grid, spans, group.solution, group.indicated_airspeed, group.pressure_altitude)
    if kept is not None and kept.conflict:
        return replace(group, solution=replace(group.solution, refused=kept.conflict))
    if group.pressure_altitude is None:
        return group
    solution = with_seconds(
        group.solution, grid, spans, group.indicated_airspeed, group.pressure_altitude, wander.sd_m_s
    )
    return replace(group, solution=solution)


def _belongs(point: Readings, members: list[Readings]) -> bool:
    """Whether a point is a leg of the same measurement.

    Airspeeds may differ by the band and by how far the legs' means stray in this air (95 %), for the solution
    takes each leg at its own; and manifold pressures by the band and by what airspeeds so far
    apart ask for, power going as their cube.
    """
    last = members[-1]
    if point.log != last.log or point.condition.start_s - last.condition.end_s > LONGEST_PAUSE_S:
        return False
    strays = math.hypot(point.airspeed_stray_m_s, float(np.median([m.airspeed_stray_m_s for m in members])))
    airspeed = _apart(point, members, ("indicated_airspeed", "true_airspeed"))
    pressure = _apart(point, members, ("manifold_pressure",))
    asked = 3 * pressure[1] * airspeed[0] / airspeed[1] if airspeed[1] > 0 else 0.0
    return (
        _apart(point, members, ("pressure_altitude", "gps_altitude"))[0] <= ALTITUDE_BAND_M
        and airspeed[0] <= AIRSPEED_BAND_M_S + COVERAGE_95 * strays
        and _apart(point, members, ("rpm",))[0] <= RPM_BAND
        and pressure[0] <= MANIFOLD_PRESSURE_BAND_PA + asked
    )


def _apart(point: Readings, members: list[Readings], names: tuple[str, ...]) -> tuple[float, float]:
    """Return how far a point lies from the members' median, and that; 0 where not both know a channel."""
    for name in names:
        own = point.mean(name)
        others = [mean.value for m in members if (mean := m.mean(name)) is not None]
        if own is not None and others:
            middle = float(np.median(others))
            return abs(own.value - middle), middle
    return 0.0, 0.0


def _courses(points: list[Readings], cluster: list[int]) -> int:
    """Return how many courses well apart the legs have."""
    apart: list[float] = []
    for index in cluster:
        ground = points[index].ground_m_s
        assert ground is not None  # candidates have one
        course = math.atan2(ground[1], ground[0])
        if all(abs(math.remainder(course - other, 2 * math.pi)) > _APART_RAD for other in apart):
            apart.append(course)
    return len(apart)


def _solved(points: list[Readings], cluster: list[int], wander: Wander) -> LegGroup:
    legs = [points[i] for i in cluster]
    ground = np.array([leg.ground_m_s for leg in legs])
    covariance = np.array([leg.ground_covariance for leg in legs])
    speeds = [leg.mean("indicated_airspeed") for leg in legs]
    indicated = _mean([s for s in speeds if s is not None]) if all(speeds) else None
    ratio = None
    if indicated is not None and indicated.value > 0:
        known = np.array([s.value for s in speeds if s is not None])
        u_known = np.array([s.u for s in speeds if s is not None])
        ratio = known / known.mean()
        airspeed_u = (u_known / known.mean())[:, None, None] * np.hypot(ground[:, 0], ground[:, 1])[
            :, None, None
        ]
        covariance = covariance + np.eye(2) * airspeed_u**2
    solution = _checked_by_compass(
        solve_legs(ground, covariance, ratio, wander.dof, wander.sd_m_s), legs, ground
    )
    altitude = _mean([m for leg in legs if (m := leg.mean("pressure_altitude")) is not None])
    return LegGroup(
        tuple(cluster), solution, legs[0].condition.start_s, legs[-1].condition.end_s, altitude, indicated
    )


def _mean(estimates: list[Estimate]) -> Estimate | None:
    if not estimates:
        return None
    values = [e.value for e in estimates]
    u = math.sqrt(sum(e.u**2 for e in estimates)) / len(estimates)
    return Estimate(float(np.mean(values)), u, max(sum(e.dof for e in estimates), 1.0))


def _checked_by_compass(solution: WindSolution, legs: list[Readings], ground: Array) -> WindSolution:
    """Refuse an answer whose headings the compass contradicts: the wind changed between the legs.

    With three legs nothing else can show it. Two legs on one heading share their
    deviation and are told apart better.
    """
    headings = [leg.mean("magnetic_heading") or leg.mean("true_heading") for leg in legs]
    if solution.refused or not all(headings):
        return solution
    magnetic = np.array([h.value for h in headings if h is not None])
    asked = solution.headings_rad(ground)
    chance = heading_conflict(asked, magnetic, COMPASS_U_RAD)
    for i, j in combinations(range(len(legs)), 2):
        if abs(math.remainder(magnetic[i] - magnetic[j], 2 * math.pi)) < SAME_HEADING_RAD:
            pair = [i, j]
            chance = min(chance, heading_conflict(asked[pair], magnetic[pair], SAME_HEADING_U_RAD))
    if chance >= CONFLICT_BELOW:
        return solution
    why = "the compass contradicts the headings that this wind asks for: the wind changed between the legs"
    return replace(solution, refused=why)
