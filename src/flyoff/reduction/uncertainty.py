"""Points by drawing: what they share, calibration, altimeter and probe, is drawn once for all of them.

The distributions are those of the analytic uncertainties, so that drawing
checks them (JCGM 101:2008, 8), and what stays is the correlation between points
that an interval of each cannot say.
"""

from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import COVERAGE_95, Draws
from flyoff.core.typing import Array
from flyoff.physics.airspeed import mach_number, true_airspeed
from flyoff.physics.mach import static_temperature
from flyoff.reduction.airdata import altimeter_u_of, static_shift
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction
from flyoff.reduction.statistics import Estimate


@dataclass(frozen=True)
class DrawnPoint:
    """One point's draws in SI, each of shape (count,); None where its readings do not give it."""

    indicated_airspeed_m_s: Array | None
    calibrated_airspeed_m_s: Array | None
    true_airspeed_m_s: Array | None
    pressure_altitude_m: Array | None
    temperature_k: Array | None


def draw_points(reduction: Reduction, draws: Draws) -> tuple[DrawnPoint, ...]:
    """Return the draws of every point of a reduction, in order.

    Parameters
    ----------
    reduction
        A flight as reduced.
    draws
        The study's streams. The same input has the same draws wherever it is used.

    Returns
    -------
    tuple[DrawnPoint, ...]
        Draws that share the calibration, the altimeter's and the probe's errors.
    """
    shared = _Shared(reduction, draws)
    return tuple(shared.point(number, point) for number, point in enumerate(reduction.points))


class _Shared:
    """What all points of a flight have in common, drawn."""

    def __init__(self, reduction: Reduction, draws: Draws) -> None:
        self.reduction, self.draws, self.name = reduction, draws, reduction.flight.name
        probe = reduction.probe
        calibration = reduction.calibration
        normals = np.array([self.normal(f"calibration/{i}") for i in range(3)])
        instruments = np.array([self.normal(name) for name in ("altimeter", "thermometer", "recovery")])
        own = calibration.covariance - calibration.shared @ calibration.shared.T
        self.coefficients = (
            calibration.coefficients[:, None] + _root(own) @ normals + calibration.shared @ instruments
        )
        self.beyond = self.normal("calibration/beyond")
        self.altimeter = self.normal("altimeter")
        self.static = self.draws.rectangular(f"{self.name}#static source")
        self.recovery = np.clip(probe.recovery + probe.u_recovery * self.normal("recovery"), 0.0, 1.0)
        self.thermometer = probe.correction_k + probe.u_correction_k * self.normal("thermometer")
        self.lag_s = probe.lag_s + probe.u_lag_s * self.normal("lag")

    def normal(self, name: str) -> Array:
        return self.draws.normal(f"{self.name}#{name}")

    def own(self, number: int, name: str, estimate: Estimate) -> Array:
        """Return draws of one point's own reading."""
        return estimate.value + estimate.u95 / COVERAGE_95 * self.normal(f"{number}/{name}")

    def point(self, number: int, point: Point) -> DrawnPoint:
        indicated = point.indicated_airspeed
        ias = None if indicated is None else self.own(number, "indicated", indicated)
        cas = None
        if ias is not None and indicated is not None and indicated.value > 0:
            cas = ias + _correction(
                self.reduction.calibration, indicated.value, self.coefficients, self.beyond
            )
        altitude = self._altitude(number, point, ias, cas)
        temperature = self._temperature(number, point, cas, altitude)
        tas = None
        if cas is not None and altitude is not None and temperature is not None:
            tas = np.asarray(
                true_airspeed(
                    calibrated_airspeed_m_s=cas, pressure_altitude_m=altitude, temperature_k=temperature
                )
            )
        return DrawnPoint(ias, cas, tas, altitude, temperature)

    def _altitude(self, number: int, point: Point, ias: Array | None, cas: Array | None) -> Array | None:
        read = point.readings.mean("pressure_altitude")
        if read is None:
            return None
        instruments = self.reduction.flight.card.instruments
        u_m = altimeter_u_of(instruments, read.value)
        altitude = self.own(number, "altitude", read) + u_m * self.altimeter
        if ias is None or cas is None or instruments.static_source is False:
            return altitude
        shift = np.asarray(static_shift(ias, cas, altitude))
        return altitude + (shift if instruments.static_source is True else shift * self.static)

    def _temperature(
        self, number: int, point: Point, cas: Array | None, altitude: Array | None
    ) -> Array | None:
        shown = point.probe_temperature
        if shown is None or altitude is None or cas is None:
            return None
        probe = self.own(number, "temperature", shown) + self.thermometer
        if point.condition.kind != "level":
            probe = probe + self.lag_s * point.readings.temperature_rate_k_s
        mach = np.asarray(mach_number(calibrated_airspeed_m_s=cas, pressure_altitude_m=altitude))
        return np.asarray(static_temperature(probe, mach, self.recovery))


def _correction(calibration: Calibration, indicated_m_s: float, coefficients: Array, beyond: Array) -> Array:
    given, terms, u_beyond = calibration.terms(indicated_m_s)
    result: Array = given + terms @ coefficients + u_beyond * beyond
    return result


def _root(covariance: Array) -> Array:
    """Return a matrix whose product with its transpose is a covariance, which may be singular."""
    values, vectors = np.linalg.eigh(covariance)
    result: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return result
