"""One flight, from its repaired logs to its points: the whole reduction on one page."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from flyoff.core.sources import Place
from flyoff.core.units import kt
from flyoff.flights.card import Instruments
from flyoff.flights.grid import make_grid
from flyoff.flights.log import Log, Repair
from flyoff.flights.read import Flight
from flyoff.flights.steady import Criteria, criteria_of, flight_conditions
from flyoff.reduction.airdata import ASSUMED_OAT_U95_K, ASSUMED_RECOVERY, ASSUMED_RECOVERY_U, Probe
from flyoff.reduction.calibration import Calibration, calibrate
from flyoff.reduction.groups import LegGroup, find_groups
from flyoff.reduction.points import Point, noted_readings, reduce_point
from flyoff.reduction.readings import Readings, read_condition
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.wander import wind_wander


@dataclass(frozen=True)
class Reduction:
    """What one flight shows. `points` are in order of time; `legs` index them."""

    flight: Flight
    points: tuple[Point, ...]
    legs: tuple[LegGroup, ...]
    calibration: Calibration
    probe: Probe
    criteria: Criteria
    repairs: tuple[tuple[str, Repair], ...]
    warnings: tuple[str, ...] = field(default=())

    def place(self, point: Point) -> Place:
        """Return the first line of the log that a point rests on."""
        return Place(point.readings.log, point.readings.lines[0])


def reduce_flight(flight: Flight, ramp_mass_kg: float | None = None) -> Reduction:
    """Return the points, leg groups and calibration of a flight.

    Parameters
    ----------
    flight
        The flight as read.
    ramp_mass_kg
        Mass at the first row of the log, from the airplane's dossier and the
        loading; the flight file's own ramp weight comes first. [kg]

    Returns
    -------
    Reduction
        What the flight shows; what it cannot show is said in its warnings.
    """
    readings = noted_readings(flight)
    grids = {log.name: make_grid(log) for log in flight.logs}
    for log in flight.logs:
        grid, steps = grids[log.name], _steps(log, flight.card.instruments)
        readings += (read_condition(log, grid, c, steps) for c in flight_conditions(flight, log))
    readings = sorted(_told_once(readings), key=lambda r: r.condition.start_s)
    groups = find_groups(readings, grids)
    probe = probe_of(flight.card.instruments)
    temperatures = [_mean_temperature(readings, group) for group in groups]
    calibration = calibrate(flight.card.instruments, groups, temperatures, probe)
    own = flight.card.loading.ramp_weight
    ramp = own.si if own is not None else ramp_mass_kg
    points = tuple(reduce_point(r, calibration, probe, flight, _mass_at(flight, r, ramp)) for r in readings)
    repairs = flight.repairs
    warnings = _warnings(flight, points, groups, calibration)
    return Reduction(
        flight, points, tuple(groups), calibration, probe, criteria_of(flight), repairs, tuple(warnings)
    )


def _told_once(readings: list[Readings]) -> list[Readings]:
    """Leave out conditions of a log without airspeed that another log with airspeed has too."""
    with_airspeed = [r for r in readings if r.mean("indicated_airspeed") is not None]

    def is_told(reading: Readings) -> bool:
        own = reading.condition
        return any(
            min(own.end_s, r.condition.end_s) - max(own.start_s, r.condition.start_s)
            > 0.5 * min(own.end_s - own.start_s, r.condition.end_s - r.condition.start_s)
            for r in with_airspeed
            if r.log != reading.log
        )

    return [r for r in readings if r.mean("indicated_airspeed") is not None or not is_told(r)]


def probe_of(instruments: Instruments) -> Probe:
    """Return what a flight file says of the temperature probe, and assumptions for the rest."""
    recovery, correction, u95 = instruments.oat_recovery, instruments.oat_correction, instruments.oat_u95
    return Probe(
        ASSUMED_RECOVERY if recovery is None else recovery.si,
        ASSUMED_RECOVERY_U if recovery is None else recovery.half_digit_si / 1.96 + 0.03,
        0.0 if correction is None else correction.si,
        (ASSUMED_OAT_U95_K if u95 is None else u95.si) / 1.96,
    )


def _steps(log: Log, instruments: Instruments) -> Mapping[str, float]:
    """Return each channel's resolution: as recorded, or as the flight file says where that is coarser."""
    stated = {
        "indicated_airspeed": instruments.airspeed_resolution,
        "pressure_altitude": instruments.altitude_resolution,
        "outside_air_temperature": instruments.oat_resolution,
    }
    coarser = {name: q.si for name, q in stated.items() if q is not None}
    return {name: max(step, coarser.get(name, 0.0)) for name, step in log.resolution.items()}


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


def _mean_temperature(readings: list[Readings], group: LegGroup) -> Estimate | None:
    known = [m for i in group.members if (m := readings[i].mean("outside_air_temperature")) is not None]
    if not known:
        return None
    return Estimate(float(np.mean([m.value for m in known])), float(np.mean([m.u for m in known])))


def _mass_at(flight: Flight, readings: Readings, ramp_kg: float | None) -> float | None:
    """Return the mass amid a condition: the ramp mass less the fuel burned since the log began."""
    if ramp_kg is None:
        return None
    middle = (readings.condition.start_s + readings.condition.end_s) / 2
    density = flight.card.loading.fuel_density
    for log in flight.logs:
        by_mass, by_volume = log.get("fuel_mass_flow"), log.get("fuel_flow")
        if by_mass is None and by_volume is not None and density is not None:
            by_mass = by_volume * density.si
        if by_mass is not None:
            return ramp_kg - _burned(log, by_mass, middle)
    return None


def _burned(log: Log, flow: np.ndarray[tuple[int], np.dtype[np.float64]], until_s: float) -> float:
    """Integrate a flow over the clock, across short gaps with the flow at their ends."""
    known = ~np.isnan(flow) & (log.time_s <= until_s)
    time_s, flow = log.time_s[known], flow[known]
    return float(np.trapezoid(flow, time_s)) if len(time_s) > 1 else 0.0


def _warnings(
    flight: Flight, points: tuple[Point, ...], groups: list[LegGroup], calibration: Calibration
) -> list[str]:
    instruments = flight.card.instruments
    said = []
    if flight.logs and not any(log.get("indicated_airspeed") is not None for log in flight.logs):
        said.append(
            "no airspeed was recorded: true airspeed only where legs give it, steadiness by ground speed"
        )
    if calibration.basis == "assumed" and any(p.indicated_airspeed for p in points):
        said.append(
            "no airspeed calibration is known and no legs give one: calibrated is taken as indicated, ± 5 kt"
        )
    if instruments.oat_recovery is None and any(p.probe_temperature for p in points):
        said.append("the probe's recovery factor is not given: 0.8 ± 0.2 is assumed")
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
    return said
