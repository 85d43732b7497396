"""Physics on arrays, against a general atmosphere library and against bare NumPy."""

import ambiance
import numpy as np
from run import Ratio, best_of

from flyoff.physics import airspeed, atmosphere

COUNT = 1_000_000


def measure() -> list[Ratio]:
    altitude_m = np.linspace(0.0, 11_000.0, COUNT)
    temperature_k = atmosphere.temperature_at_altitude(altitude_m)
    speed_m_s = np.full(COUNT, 70.0)
    ours = best_of(lambda: atmosphere.density_at_altitude(altitude_m))
    library = best_of(lambda: ambiance.Atmosphere(altitude_m).density)
    true = best_of(
        lambda: airspeed.true_airspeed(
            calibrated_airspeed_m_s=speed_m_s, pressure_altitude_m=altitude_m, temperature_k=temperature_k
        )
    )
    power = best_of(lambda: temperature_k**3.5)
    return [
        Ratio("density of the standard atmosphere, a million altitudes", ours, "ambiance", library),
        Ratio("calibrated to true airspeed, a million points", true, "one NumPy power of the array", power),
    ]
