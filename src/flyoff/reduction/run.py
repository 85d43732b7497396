"""One flight, from its repaired logs to its points: the whole reduction on one page."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.sources import Place
from flyoff.dossier.read import Dossier
from flyoff.flights.card import Instruments
from flyoff.flights.grid import Grid, make_grid
from flyoff.flights.log import Log, Repair
from flyoff.flights.manoeuvres import Manoeuvre, find_manoeuvres
from flyoff.flights.read import Flight
from flyoff.flights.steady import Criteria, criteria_of, flight_conditions
from flyoff.reduction.airdata import (
    ASSUMED_LAG_S,
    ASSUMED_LAG_U_S,
    ASSUMED_OAT_U95_K,
    ASSUMED_RECOVERY,
    ASSUMED_RECOVERY_U,
    GIVEN_LAG_U,
    Probe,
)
from flyoff.reduction.airplane import Airplane, airplane_of
from flyoff.reduction.calibration import Calibration, calibrate, with_instruments
from flyoff.reduction.crosscheck import cross_checked
from flyoff.reduction.groups import LegGroup, find_groups
from flyoff.reduction.lag import probe_lag, with_lag
from flyoff.reduction.masses import mass_at
from flyoff.reduction.points import Point, noted_readings, reduce_point
from flyoff.reduction.power import powers_of
from flyoff.reduction.readings import Readings, read_condition
from flyoff.reduction.recovery import recovery_factor
from flyoff.reduction.remarks import warnings_of
from flyoff.reduction.rising import flag_rising_air
from flyoff.reduction.standard import Standard, to_standard
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.turns import TurnWind, solve_turn


@dataclass(frozen=True)
class Reduction:
    """What one flight shows. `points` are in order of time; `legs` index them.

    `recovery` is the probe's recovery factor by the flight itself, where its points determine it; `lag`
    likewise its time constant, by climbs and descents. [s]
    """

    flight: Flight
    points: tuple[Point, ...]
    legs: tuple[LegGroup, ...]
    calibration: Calibration
    probe: Probe
    criteria: Criteria
    repairs: tuple[tuple[str, Repair], ...]
    warnings: tuple[str, ...]
    standard: Standard
    recovery: Estimate | None = None
    turns: tuple[TurnWind, ...] = ()
    manoeuvres: tuple[Manoeuvre, ...] = ()
    lag: Estimate | None = None

    def place(self, point: Point) -> Place:
        """Return the first line of the log that a point rests on."""
        return Place(point.readings.log, point.readings.lines[0])


def reduce_flight(
    flight: Flight, ramp_mass_kg: float | None = None, dossier: Dossier | None = None
) -> Reduction:
    """Return the points, leg groups and calibration of a flight.

    Parameters
    ----------
    flight
        The flight as read.
    ramp_mass_kg
        Mass at the first row of the log, from the airplane's dossier and the
        loading; the flight file's own ramp weight comes first. [kg]
    dossier
        The airplane's dossier: geometry, engine, standard weight, engine chart and
        airspeed calibration, where the flight file does not say them.

    Returns
    -------
    Reduction
        What the flight shows; what it cannot show is said in its warnings.

    Raises
    ------
    Problems
        If a log says of the airplane what cannot be.
    """
    airplane = airplane_of(flight, dossier)
    doubts = cross_checked(flight, airplane, dossier)
    readings = noted_readings(flight)
    grids = {log.name: make_grid(log) for log in flight.logs}
    for log in flight.logs:
        grid, steps = grids[log.name], _steps(log, flight.card.instruments)
        for c in flight_conditions(flight, log):
            ends = c.start_s - 1, c.end_s + 1  # the part alone: a long log has many conditions
            readings.append(read_condition(log.between(*ends), grid.between(*ends), c, steps))
    readings = sorted(_told_once(readings), key=lambda r: r.condition.start_s)
    groups = find_groups(readings, grids)
    own = flight.card.loading.ramp_weight
    ramp = own.si if own is not None else ramp_mass_kg
    lag = probe_lag(grids.values())
    probe = with_lag(probe_of(flight.card.instruments), flight, lag)
    turns, manoeuvres = _manoeuvres(flight, grids)
    points, calibration = _pointed(flight, readings, (groups, turns), probe, airplane, ramp)
    recovery = recovery_factor(points)
    if recovery is not None and flight.card.instruments.oat_recovery is None:
        probe = _with_recovery(probe, recovery)
        points, calibration = _pointed(flight, readings, (groups, turns), probe, airplane, ramp)
    points = flag_rising_air(points, [powers_of(point, airplane) for point in points], airplane)
    return Reduction(
        flight, points, with_instruments(groups, calibration, flight.card.instruments),
        calibration, probe, criteria_of(flight), flight.repairs,
        (*doubts, *warnings_of(flight, points, groups, calibration, recovery, lag)),
        to_standard(flight, points, calibration, airplane, ramp), recovery,
        with_instruments(turns, calibration, flight.card.instruments), manoeuvres, lag,
    )  # fmt: skip


def _manoeuvres(
    flight: Flight, grids: Mapping[str, Grid]
) -> tuple[tuple[TurnWind, ...], tuple[Manoeuvre, ...]]:
    """Return the turns that give true airspeed and wind, and all turns and accelerations."""
    turns, found = [], []
    for log in flight.logs:
        for manoeuvre in find_manoeuvres(grids[log.name]):
            found.append(manoeuvre)
            if manoeuvre.kind == "turn":
                rows = log.between(manoeuvre.start_s, manoeuvre.end_s).lines
                lines = (int(rows[0]), int(rows[-1])) if len(rows) else (0, 0)
                turns.append(solve_turn(grids[log.name], manoeuvre, log.name, lines))
    return tuple(turn for turn in turns if turn is not None), tuple(found)


def _pointed(
    flight: Flight,
    readings: list[Readings],
    solved: tuple[list[LegGroup], tuple[TurnWind, ...]],
    probe: Probe,
    airplane: Airplane,
    ramp_mass_kg: float | None,
) -> tuple[tuple[Point, ...], Calibration]:
    """Return the points with the calibration that legs and turns give for one probe."""
    groups, turns = solved
    temperatures = [_mean_temperature(readings, group) for group in groups]
    handbook = airplane.tables.get("airspeed")
    calibration = calibrate(flight.card.instruments, groups, temperatures, probe, handbook, turns)
    masses = [mass_at(flight, (r.condition.start_s + r.condition.end_s) / 2, ramp_mass_kg) for r in readings]
    points = tuple(
        reduce_point(own, calibration, probe, flight, mass_kg)
        for own, mass_kg in zip(readings, masses, strict=True)
    )
    return points, calibration


def _with_recovery(probe: Probe, found: Estimate) -> Probe:
    """Return a probe whose assumed recovery factor is updated by the flight's (weighted mean)."""
    weights = np.array([probe.u_recovery, found.u]) ** -2.0
    mean = float(np.average([probe.recovery, found.value], weights=weights))
    return replace(probe, recovery=min(max(mean, 0.0), 1.0), u_recovery=float(weights.sum() ** -0.5))


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
        ASSUMED_RECOVERY_U if recovery is None else recovery.half_digit_si / COVERAGE_95 + 0.03,
        0.0 if correction is None else correction.si,
        (ASSUMED_OAT_U95_K if u95 is None else u95.si) / COVERAGE_95,
        ASSUMED_LAG_S if instruments.oat_lag is None else instruments.oat_lag.si,
        ASSUMED_LAG_U_S if instruments.oat_lag is None else GIVEN_LAG_U * instruments.oat_lag.si,
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


def _mean_temperature(readings: list[Readings], group: LegGroup) -> Estimate | None:
    known = [m for i in group.members if (m := readings[i].mean("outside_air_temperature")) is not None]
    if not known:
        return None
    return Estimate(float(np.mean([m.value for m in known])), float(np.mean([m.u for m in known])))
