"""From indicated airspeed, pressure altitude and probe temperature to true airspeed and density altitude."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias, overload

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.typing import Array, Floats
from flyoff.core.units import ft, kt
from flyoff.flights.card import Instruments
from flyoff.physics.airspeed import calibrated_airspeed, impact_pressure, mach_number, true_airspeed
from flyoff.physics.atmosphere import altitude_at_pressure, density_altitude, pressure_at_altitude
from flyoff.physics.limits import floats
from flyoff.physics.mach import mach_at_true_airspeed, static_temperature
from flyoff.reduction.statistics import Estimate

# Altimeter tolerance by altitude, ft: 14 CFR 43, Appendix E, Table I (from memory).
_ALTIMETER_FT = (
    np.array([0, 1000, 2000, 3000, 4000, 6000, 8000, 10000, 12000, 14000, 16000, 18000, 20000.0]),
    np.array([20, 20, 30, 30, 35, 40, 60, 80, 90, 100, 110, 120, 130.0]),
)
Shared: TypeAlias = tuple[float, float, float]
ASSUMED_RECOVERY = 0.8
ASSUMED_RECOVERY_U = 0.12
"""Recovery 0.6 to 1.0 as rectangular: 0.7 to 1.0 are known of light airplanes (see `flyoff.physics.mach`)."""
ASSUMED_OAT_U95_K = 1.0
"""[K] Half-width for a thermometer nobody checked; common practice, no source."""

ASSUMED_LAG_S, ASSUMED_LAG_U_S = 10.0, 10 / math.sqrt(3)
"""[s] Time constant of a probe nobody timed, 0 to 20 s as rectangular; common practice, no source."""

GIVEN_LAG_U = 0.25
"""Relative standard uncertainty of a time constant given; common practice, no source."""
UNKNOWN_RISE_U_K = 1.0
"""[K] The ram rise of a probe at an unknown airspeed, at most 2 K below 120 kt, as a standard uncertainty."""


@dataclass(frozen=True)
class Probe:
    """What is known of the temperature probe: recovery factor, correction and time constant, and their u."""

    recovery: float = ASSUMED_RECOVERY
    u_recovery: float = ASSUMED_RECOVERY_U
    correction_k: float = 0.0
    u_correction_k: float = ASSUMED_OAT_U95_K / 1.96
    lag_s: float = ASSUMED_LAG_S
    u_lag_s: float = ASSUMED_LAG_U_S

    def caught_up(self, shown: Estimate, rate_k_s: float) -> Estimate:
        """Return the temperature that a probe would show without lag, changing at a steady rate.

        A first-order probe follows a ramp late by its time constant.
        """
        return shown.scaled(1.0, self.lag_s * rate_k_s).widened(self.u_lag_s * rate_k_s)


@dataclass(frozen=True)
class AirData:
    """Air data of one condition; None where the readings do not give it."""

    calibrated_airspeed: Estimate | None
    true_airspeed: Estimate | None
    temperature: Estimate | None
    density_altitude: Estimate | None


def altimeter_u_m(pressure_altitude_m: float) -> float:
    """Return the standard uncertainty of an altimeter within its tolerance, taken as rectangular, [m]."""
    tolerance_ft = float(np.interp(pressure_altitude_m / ft, *_ALTIMETER_FT))
    return tolerance_ft * ft / math.sqrt(3)


def altimeter_u_of(instruments: Instruments, pressure_altitude_m: float) -> float:
    """Return the standard uncertainty of the altimeter, as given or by its tolerance, [m]."""
    given = instruments.pressure_altitude_u95
    return altimeter_u_m(pressure_altitude_m) if given is None else given.si / COVERAGE_95


@overload
def static_shift(indicated_m_s: float, calibrated_m_s: float, altitude_m: float) -> float: ...
@overload
def static_shift(indicated_m_s: Array, calibrated_m_s: Array, altitude_m: Array) -> Array: ...
def static_shift(indicated_m_s: Floats, calibrated_m_s: Floats, altitude_m: Floats) -> Floats:
    """Return what to add to a pressure altitude where the airspeed's error is one of static pressure, [m].

    The total pressure is right: what the static pressure is off by is the
    difference of the impact pressures (SFTE Reference Handbook, 2013, ch. 4).
    """
    excess_pa = np.asarray(impact_pressure(indicated_m_s)) - impact_pressure(calibrated_m_s)
    static_pa = np.asarray(pressure_at_altitude(altitude_m)) + excess_pa
    return floats(np.asarray(altitude_at_pressure(static_pa)) - altitude_m)


def at_static(
    altitude: Estimate, indicated: Estimate, correction: Estimate, is_static: bool | str
) -> Estimate:
    """Return a pressure altitude with the error that the static source puts into it.

    Where nobody knows whether the airspeed's error is one of static pressure, the
    altitude stays and what it would be off by bounds it, rectangular.
    """
    if is_static is False:
        return altitude
    known = static_shift(indicated.value, indicated.value + correction.value, altitude.value)
    unsure = static_shift(indicated.value, indicated.value + correction.u, altitude.value)
    if is_static is True:
        return altitude.scaled(1.0, known).widened(unsure)
    return altitude.widened(math.hypot(known, unsure) / math.sqrt(3))


def reduce_air(
    cas: Estimate | None,
    altitude: Estimate | None,
    probe_temperature: Estimate | None,
    probe: Probe,
    shared: Shared = (0.0, 0.0, 0.0),
) -> AirData:
    """Return the air data from a calibrated airspeed, a pressure altitude and a probe's temperature.

    `shared` are the covariances of the calibrated airspeed with altitude, temperature and recovery
    factor: an airspeed calibrated with the same instruments has their errors, which then cancel.

    Uncertainties by the law of propagation (JCGM 100:2008, 5.1.2), with
    sensitivities from small differences.
    """
    if altitude is None or probe_temperature is None:
        return AirData(cas, None, None, None)
    warmed = probe_temperature.scaled(1.0, probe.correction_k).widened(probe.u_correction_k)
    if cas is None:
        temperature = warmed.widened(UNKNOWN_RISE_U_K)
        density = _within_range(lambda x: density_altitude(x[1], x[2]), None, altitude, temperature, 0.0)
        return AirData(None, None, temperature, density)
    recovery, u = probe.recovery, probe.u_recovery

    def temperature_of(x: Array) -> Floats:
        mach = mach_number(calibrated_airspeed_m_s=x[0], pressure_altitude_m=x[1])
        return static_temperature(x[2], mach, _factor(recovery + x[3]))

    def true_airspeed_of(x: Array) -> Floats:
        return true_airspeed(
            calibrated_airspeed_m_s=x[0], pressure_altitude_m=x[1], temperature_k=temperature_of(x)
        )

    def density_of(x: Array) -> Floats:
        return density_altitude(x[1], temperature_of(x))

    functions = (true_airspeed_of, temperature_of, density_of)
    return AirData(
        cas, *(_within_range(function, cas, altitude, warmed, u, shared) for function in functions)
    )


def calibrated_from_true(
    tas: Estimate, altitude: Estimate, probe_temperature: Estimate, probe: Probe
) -> Estimate | None:
    """Return the calibrated airspeed that a true airspeed stands for, or None out of the formulas' range."""
    warmed = probe_temperature.scaled(1.0, probe.correction_k).widened(probe.u_correction_k)

    def calibrated_of(x: Array) -> Floats:
        temperature: Floats = x[2]
        for _ in range(3):  # the recovery changes the temperature by a percent: three rounds are exact
            mach = mach_at_true_airspeed(x[0], temperature)
            temperature = static_temperature(x[2], mach, _factor(probe.recovery + x[3]))
        return calibrated_airspeed(
            true_airspeed_m_s=x[0], pressure_altitude_m=x[1], temperature_k=temperature
        )

    return _within_range(calibrated_of, tas, altitude, warmed, probe.u_recovery)


def _factor(recovery: Array) -> Array:
    factor: Array = np.clip(recovery, 0.0, 1.0)
    return factor


def _within_range(
    function: Callable[[Array], Floats],
    speed: Estimate | None,
    altitude: Estimate,
    temperature: Estimate,
    u_recovery: float,
    shared: Shared = (0.0, 0.0, 0.0),
) -> Estimate | None:
    """Return a function's estimate, or None where readings that no light airplane has leave its range."""
    try:
        return _propagated(function, speed, altitude, temperature, u_recovery, shared)
    except ValueError:
        return None


def _propagated(
    function: Callable[[Array], Floats],
    speed: Estimate | None,
    altitude: Estimate,
    temperature: Estimate,
    u_recovery: float,
    shared: Shared,
) -> Estimate:
    """Return a function of (speed, altitude, temperature, recovery - its value) with its uncertainty.

    The function is of columns, shape (4, n): all small differences in one go.
    """
    given = speed or Estimate(0.0, 0.0)
    x = np.array([given.value, altitude.value, temperature.value, 0.0])
    u = np.array([given.u, altitude.u, temperature.u, u_recovery])
    dof = (given.dof, altitude.dof, temperature.dof, math.inf)
    steps = np.array([0.1 * kt, 1.0, 0.1, 0.01])
    slopes = np.zeros(4)
    unsure = np.flatnonzero(u > 0)
    moves = np.diag(steps)[:, unsure]
    results = np.asarray(function(np.column_stack([x, x[:, None] + moves, x[:, None] - moves])))
    slopes[unsure] = (results[1 : len(unsure) + 1] - results[len(unsure) + 1 :]) / (2 * steps[unsure])
    parts = slopes * u
    together = 2 * slopes[0] * float(slopes[1:] @ np.array(shared))
    total = math.sqrt(max(float((parts**2).sum()) + together, 0.0))
    shares = sum((part / total) ** 4 / d for part, d in zip(parts, dof, strict=True)) if total > 0 else 0.0
    return Estimate(float(results[0]), total, 1 / shares if shares > 0 else math.inf)
