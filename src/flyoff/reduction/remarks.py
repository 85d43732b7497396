"""What a reduction has to say of itself: assumptions, contradictions, and what is missing."""

import math

from flyoff.core.units import kt
from flyoff.flights.derive import position_scale
from flyoff.flights.read import Flight
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.lag import lag_remarks
from flyoff.reduction.points import Point
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.wander import wind_wander

MOST_APART = 0.002
"""How far positions may run from the recorded ground speed unremarked; common practice, no source."""


def warnings_of(
    flight: Flight,
    points: tuple[Point, ...],
    groups: list[LegGroup],
    calibration: Calibration,
    recovery: Estimate | None,
    lag: Estimate | None,
) -> list[str]:
    """Return what is assumed, what contradicts what, and what is missing."""
    instruments = flight.card.instruments
    said = []
    if flight.logs and not any(log.get("indicated_airspeed") is not None for log in flight.logs):
        said.append(
            "no airspeed was recorded: true airspeed only where legs give it, steadiness by ground speed"
        )
    if calibration.basis == "handbook":
        said.append("no legs give an airspeed calibration: the handbook's is taken, ± 2 kt")
    if calibration.basis == "assumed" and any(p.indicated_airspeed for p in points):
        said.append(
            "no airspeed calibration is known and no legs give one: calibrated is taken as indicated, ± 5 kt"
        )
    said += _of_probe(flight, points, recovery, lag)
    if instruments.oat_u95 is None and any(p.probe_temperature for p in points):
        said.append("the thermometer's error is not given: ± 1 °C is assumed")
    if instruments.fuel_flow_u95 is None and any(p.fuel_flow for p in points):
        said.append(
            "the fuel flow meter's error is not given: its uncertainty is of scatter and resolution alone"
        )
    if groups:
        sd = wind_wander(points[i].readings for g in groups for i in g.members).sd_m_s
        said.append(f"from leg to leg the wind's means are taken to stray by {sd / kt:.2f} kt, from the legs")
    said += _disagreements(calibration)
    if flight.logs and not points:
        said.append("no steady condition was found")
    if not flight.date_known:
        said.append("the date is not known: times count from 1970-01-01, and nothing is said of the day")
    for merge in flight.merges:
        if merge.refused:
            said.append(
                f"{merge.log} is reduced by itself, not laid on the clock of {merge.onto}: {merge.refused}"
            )
    said += _of_positions(flight)
    said += _of_edits(flight)
    return said


def _of_positions(flight: Flight) -> list[str]:
    """Return where a log's positions run faster or slower than its recorded ground speed."""
    said = []
    for log in flight.logs:
        scales = position_scale(log)
        for name, (scale, u) in zip(("north-south", "east-west"), scales or (), strict=False):
            if abs(scale - 1) > max(MOST_APART, 3 * u):
                said.append(
                    f"{log.name}: {name} positions run {100 * (scale - 1):+.2f} ± {196 * u:.2f} % fast "
                    "for the recorded ground speed, which is used"
                )
    return said


def _of_edits(flight: Flight) -> list[str]:
    """Return which conditions of the hand lie outside every log: perhaps the log is another flight's."""
    said = []
    for edit in flight.card.conditions:
        start_s, end_s = flight.time_s(edit.start), flight.time_s(edit.end)
        if not any(log.time_s[0] < end_s and log.time_s[-1] > start_s for log in flight.logs):
            said.append(
                f"the condition {edit.start} to {edit.end} lies outside every log: is it this flight's?"
            )
    return said


def _of_probe(
    flight: Flight, points: tuple[Point, ...], recovery: Estimate | None, lag: Estimate | None
) -> list[str]:
    instruments, said = flight.card.instruments, []
    if not any(p.probe_temperature for p in points):
        return []
    given = instruments.oat_recovery
    if given is None and recovery is None:
        said.append(
            "the probe's recovery factor is not given and not shown by the flight: 0.8 ± 0.2 is assumed"
        )
    elif recovery is not None and given is None:
        said.append(
            f"the probe's recovery factor is not given: {recovery.value:.2f} ± {recovery.u95:.2f} by "
            "pairs of speeds at one level, taken together with 0.8 ± 0.2"
        )
    elif recovery is not None and given is not None and abs(recovery.value - given.si) > recovery.u95:
        said.append(
            f"pairs of speeds at one level ask for a recovery factor of {recovery.value:.2f} ± "
            f"{recovery.u95:.2f}, the flight file gives {given.si:.2f}"
        )
    if instruments.oat_lag is None and lag is None and any(p.condition.kind != "level" for p in points):
        said.append("the probe's time constant is not given: 10 ± 10 s is assumed in climbs and descents")
    return [*said, *lag_remarks(flight, lag)]


def _disagreements(calibration: Calibration) -> list[str]:
    """Return where legs contradict the calibration that the flight file gives."""
    said = []
    for seen in calibration.observations if calibration.basis == "declared" else ():
        apart = seen.correction.value - calibration.correction(seen.indicated_m_s).value
        u95 = math.hypot(seen.correction.u95, calibration.correction(seen.indicated_m_s).u95)
        if abs(apart) > u95:
            said.append(
                f"leg group {seen.group} at {seen.indicated_m_s / kt:.0f} kt asks for {apart / kt:+.1f} "
                f"± {u95 / kt:.1f} kt more than the calibration given: one is wrong, or the wind changed"
            )
    return said
