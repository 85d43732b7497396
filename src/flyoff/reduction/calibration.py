"""The airspeed system's correction, calibrated minus indicated airspeed, with its uncertainty.

A correction known beforehand is taken as given. Otherwise the correction is
a smooth curve of the indicated airspeed, estimated from all leg groups at
once: what is believed before the flight (below) is updated with what each
group measured (Bayesian linear regression; JCGM 101:2008, 6). Where nothing
was flown the curve keeps its first, wide, uncertainty, and away from the
speeds flown it widens again: the same formula says both.

Before the flight the correction is taken as 0 with a 95 % interval of 5 kt,
the error that 14 CFR 23.1323(b) (amendment 23-62) allows; that it changes
by 0.05 kt for each knot, and that change by 0.0008 per knot, one standard
deviation each, is common practice, no source.
"""

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import kt
from flyoff.flights.card import Instruments
from flyoff.reduction.airdata import Probe, altimeter_u_m, calibrated_from_true
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.statistics import Estimate

CalibrationBasis: TypeAlias = Literal["declared", "legs", "assumed"]

PRIOR_U_M_S = 5 * kt / 1.96
PRIOR_SLOPE_U = 0.05
PRIOR_CURVE_U_S_M = 0.0004 / kt
DECLARED_U95_M_S = 1 * kt
BEYOND_M_S = 5 * kt
"""How far from the speeds flown a correction is still not called an extrapolation."""


@dataclass(frozen=True)
class Observation:
    """The correction that one leg group measured at its indicated airspeed."""

    group: int
    indicated_m_s: float
    correction: Estimate


@dataclass(frozen=True)
class Calibration:
    """The correction as ``a + b x + c x²`` of x = indicated airspeed − `centre_m_s`, or as a table.

    `covariance` is that of (a, b, c).
    """

    basis: CalibrationBasis
    centre_m_s: float
    coefficients: Array
    covariance: Array
    observations: tuple[Observation, ...] = ()
    table_m_s: tuple[tuple[float, float], ...] = ()

    def correction(self, indicated_m_s: float) -> Estimate:
        """Return what to add to an indicated airspeed, [m/s]."""
        x = indicated_m_s - self.centre_m_s
        terms = np.array([1.0, x, x * x])
        u = math.sqrt(max(float(terms @ self.covariance @ terms), 0.0))
        if self.table_m_s:
            speeds, adds = zip(*self.table_m_s, strict=True)
            return Estimate(float(np.interp(indicated_m_s, speeds, adds)), u)
        return Estimate(float(terms @ self.coefficients), u)

    def is_extrapolated(self, indicated_m_s: float) -> bool:
        """Whether a speed lies outside those that the correction is known for."""
        known = [speed for speed, _ in self.table_m_s] or [o.indicated_m_s for o in self.observations]
        if not known:
            return self.basis != "declared"
        return not min(known) - BEYOND_M_S <= indicated_m_s <= max(known) + BEYOND_M_S


def calibrate(
    instruments: Instruments, groups: list[LegGroup], temperatures: list[Estimate | None], probe: Probe
) -> Calibration:
    """Return the correction from the flight file or from the leg groups.

    `temperatures` are the probe's, one for each group. [K]
    """
    observations = tuple(
        seen
        for index, (group, temperature) in enumerate(zip(groups, temperatures, strict=True))
        if (seen := _observed(index, group, temperature, probe)) is not None
    )
    declared = instruments.airspeed_correction
    if declared:
        u95 = instruments.airspeed_correction_u95
        u = (DECLARED_U95_M_S if u95 is None else u95.si) / 1.96
        table = tuple(sorted((row.indicated.si, row.add.si) for row in declared))
        return Calibration("declared", 0.0, np.zeros(3), np.diag([u**2, 0, 0]), observations, table)
    return _fitted(observations)


def _observed(index: int, group: LegGroup, temperature: Estimate | None, probe: Probe) -> Observation | None:
    altitude, indicated = group.pressure_altitude, group.indicated_airspeed
    if group.refused or altitude is None or indicated is None or temperature is None:
        return None
    tas = group.solution.true_airspeed
    altitude = altitude.widened(altimeter_u_m(altitude.value))
    cas = calibrated_from_true(tas, altitude, temperature, probe)
    if cas is None:
        return None
    correction = cas.scaled(1.0, -indicated.value).widened(indicated.u)
    return Observation(index, indicated.value, correction)


def _fitted(observations: tuple[Observation, ...]) -> Calibration:
    prior = np.diag([PRIOR_U_M_S**-2, PRIOR_SLOPE_U**-2, PRIOR_CURVE_U_S_M**-2])
    if not observations:
        return Calibration("assumed", 50.0, np.zeros(3), np.diag([PRIOR_U_M_S**2, 0, 0]))
    speeds = np.array([o.indicated_m_s for o in observations])
    seen = np.array([o.correction.value for o in observations])
    # a standard uncertainty from few degrees of freedom is widened to what Student's factor makes of it
    u = np.array([o.correction.u95 / 1.96 for o in observations])
    centre = float(np.average(speeds, weights=u**-2))
    x = speeds - centre
    design = np.column_stack([np.ones_like(x), x, x**2]) / u[:, None]
    covariance = np.linalg.inv(prior + design.T @ design)
    coefficients = covariance @ design.T @ (seen / u)
    return Calibration("legs", centre, coefficients, covariance, observations)
