"""What each airplane would climb at in still standard air, by its drag, its engine and its weight alone."""

import math

import numpy as np

from helpers.simulator.instruments import KT_FPS, impact_pressure_pa, pressure_pa
from helpers.simulator.recorder import GEOMETRY
from helpers.simulator.scenario import ENGINES

_LIFT = np.array([*np.arange(0.0, 1.25, 0.1), 1.4])
_DRAG = np.array([
    0.0258, 0.0250, 0.0250, 0.0266, 0.0304, 0.0352, 0.0412,
    0.0486, 0.0578, 0.0692, 0.0834, 0.1010, 0.1230, 0.1800,
])  # fmt: skip
_PA_PER_PSF, _FT_PER_M, _G_FPS2 = 47.880258, 1 / 0.3048, 32.174


def drag_coefficient(airplane: str, lift: float) -> float:
    """Return the drag coefficient of an airplane's file."""
    return 0.028 + 0.056 * lift**2 if airplane == "parabola" else float(np.interp(lift, _LIFT, _DRAG))


def standard_rate_fpm(airplane: str, cas_kt: float, altitude_ft: float) -> float:
    """Return the rate of climb at standard weight and full power, at one calibrated airspeed."""
    energy_fpm, tas_fps = _energy(airplane, cas_kt, altitude_ft)
    above, below = (_true_fps(cas_kt, altitude_ft + d) for d in (100.0, -100.0))
    return energy_fpm / (1 + tas_fps / _G_FPS2 * (above - below) / 200)


def _standard_k(altitude_ft: float) -> float:
    return 288.15 - 6.5e-3 * altitude_ft / _FT_PER_M


def _true_fps(cas_kt: float, altitude_ft: float) -> float:
    """Return the true airspeed by the Mach number of an impact pressure."""
    ratio = impact_pressure_pa(cas_kt) / pressure_pa(altitude_ft)
    mach = math.sqrt(5 * ((ratio + 1) ** (2 / 7) - 1))
    return mach * math.sqrt(1.4 * 287.0529 * _standard_k(altitude_ft)) * _FT_PER_M


def _energy(airplane: str, cas_kt: float, altitude_ft: float) -> tuple[float, float]:
    """Return thrust less drag, times speed, over weight [ft/min], and the true airspeed [ft/s]."""
    engine = ENGINES[airplane]
    area_ft2, _, weight_lb = GEOMETRY[airplane]
    tas_fps = _true_fps(cas_kt, altitude_ft)
    density = pressure_pa(altitude_ft) / (287.0529 * _standard_k(altitude_ft))
    pressure_psf = density * (tas_fps / _FT_PER_M) ** 2 / 2 / _PA_PER_PSF
    efficiency = engine.propeller_efficiency * (1 - math.exp(-tas_fps / KT_FPS / engine.efficiency_speed_kt))
    power_hp = engine.rated_hp * (1.132 * density / 1.225 - 0.132)
    thrust_lb = 550 * power_hp * efficiency / tas_fps
    sine = 0.0
    for _ in range(20):
        lift = weight_lb * math.sqrt(1 - sine**2) / (pressure_psf * area_ft2)
        drag_lb = drag_coefficient(airplane, lift) * pressure_psf * area_ft2
        sine = (thrust_lb - drag_lb) / weight_lb
    return 60 * sine * tas_fps, tas_fps
