"""What the airspeed system, the altimeter and the probe make of the air, without noise.

The laws of the standard atmosphere and of compressible subsonic flow are written out here on their own
(U.S. Standard Atmosphere, 1976), so that no error of theirs can cancel against one of the code under test.
"""

import math

import numpy as np

from helpers.simulator.scenario import PositionError

KT_FPS = 1852 / 0.3048 / 3600
_P0, _T0, _A0_KT = 101325.0, 288.15, 661.4786


def impact_pressure_pa(cas_kt: float) -> float:
    """Return the impact pressure that stands for a calibrated airspeed."""
    return _P0 * ((1 + 0.2 * (cas_kt / _A0_KT) ** 2) ** 3.5 - 1)


def pressure_pa(pressure_altitude_ft: float) -> float:
    """Return the static pressure at a pressure altitude in the troposphere."""
    return _P0 * (1 - 6.5e-3 * 0.3048 * pressure_altitude_ft / _T0) ** 5.25588


def pressure_altitude_ft(static_pa: float) -> float:
    """Return the pressure altitude of a static pressure in the troposphere."""
    return float(_T0 / (6.5e-3 * 0.3048) * (1 - (static_pa / _P0) ** (1 / 5.25588)))


def indicated_kt(error: PositionError, cas_kt: float) -> float:
    """Return the indicated airspeed."""
    return cas_kt + float(np.interp(cas_kt, error.cas_kt, error.ias_minus_cas_kt))


def correction_kt(error: PositionError, ias_kt: float) -> float:
    """Return calibrated minus indicated airspeed at an indicated airspeed."""
    cas = ias_kt
    for _ in range(50):
        cas = ias_kt - float(np.interp(cas, error.cas_kt, error.ias_minus_cas_kt))
    return cas - ias_kt


def indicated_altitude_ft(error: PositionError, altitude_ft: float, cas_kt: float) -> float:
    """Return the indicated pressure altitude: a static pressure read too low stands for more height."""
    if error.source == "pitot":
        return altitude_ft
    excess = impact_pressure_pa(indicated_kt(error, cas_kt)) - impact_pressure_pa(cas_kt)
    return pressure_altitude_ft(pressure_pa(altitude_ft) - excess)


def probe_c(static_k: float, mach: float, recovery: float) -> float:
    """Return the temperature that a probe takes up."""
    return static_k * (1 + 0.2 * recovery * mach**2) - 273.15


def wander(rng: np.random.Generator, count: int, deviation: float, memory: float) -> np.ndarray:
    """Return a first-order noise of a standard deviation that is remembered for `memory` samples."""
    keep = math.exp(-1 / memory)
    kicks = rng.normal(0, deviation * math.sqrt(1 - keep**2), count)
    out = np.empty(count)
    last = rng.normal(0, deviation)
    for i in range(count):
        last = keep * last + kicks[i]
        out[i] = last
    return out
