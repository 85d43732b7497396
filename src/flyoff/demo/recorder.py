"""What the instruments and the recorder made of the demo's flight: errors, noise, resolution and faults.

The recorder is invented: Danish names, semicolons, decimal commas, local time
and a preamble, so that the flight file shows what a mapping is for. `record`
returns the log; `truth` what really happened, for the tests.
"""

from datetime import datetime, timedelta
from typing import Any

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import degree, fpm, ft, hour, hpa, kt, litre, nmi
from flyoff.demo.designs import AIRSPEED_CORRECTION_AS_FLOWN_KT, VADMEL_AS_FLOWN
from flyoff.demo.flight import (
    ALTIMETER_SETTING_PA,
    ISA_DEVIATION_K,
    START_LATITUDE_DEG,
    START_LONGITUDE_DEG,
    Flown,
    Step,
    true_altitude,
    wind_at,
)
from flyoff.demo.handbook import HANDBOOKS, JET_KG_M3
from flyoff.physics.airspeed import calibrated_airspeed
from flyoff.physics.atmosphere import temperature_at_altitude
from flyoff.physics.mach import mach_at_true_airspeed, probe_temperature

START_LOCAL = datetime(2026, 6, 2, 10, 4, 12)
LOCAL_AHEAD = timedelta(hours=2)
RECOVERY = 0.80
VARIATION_DEG = 5.0
_PROBE_LAG_S = 12.0
_SEED = 20260602
_PREAMBLE = (
    "Skriver Fjeldrap 2, udgave 1.4",
    "Luftfartøj: Vadmel 160, eksempel 7",
    "Tid er dansk sommertid (UTC+2); QNH 1008 hPa",
)
_COLUMNS: tuple[tuple[str, str, int], ...] = (
    # column, name of the reading, decimals
    ("Bredde [°]", "latitude", 5),
    ("Længde [°]", "longitude", 5),
    ("Højde GPS [m]", "gps_altitude", 0),
    ("Fart o. grund [kt]", "ground_speed", 1),
    ("Kurs o. grund [°]", "ground_track", 1),
    ("Vist fart [kt]", "indicated_airspeed", 0),
    ("Trykhøjde [ft]", "pressure_altitude", 0),
    ("Udetemp. [°C]", "temperature", 1),
    ("Styret kurs mag. [°]", "heading", 0),
    ("Ladetryk [hPa]", "boost", 0),
    ("Omdr. [1/min]", "rpm", 0),
    ("Forbrug [L/h]", "fuel_flow", 1),
    ("Ydelse [%]", "power", 0),
    ("Stig [ft/min]", "vertical_speed", 0),
)
_SATELLITE = ("latitude", "longitude", "gps_altitude", "ground_speed", "ground_track")
DROP_OUT = (770, 796)
"""Seconds of the flight that the recorder lost."""
FROZEN = (2300, 2331)
"""Seconds of the flight with a satellite receiver that repeats itself."""
SPIKE = 1702
"""Second of the flight with an airspeed that cannot be."""


def calibrated(flown: Flown) -> Array:
    """Return the calibrated airspeed of each second [m/s], shape (n,)."""
    altitude = flown["pressure_altitude_m"]
    kelvin = np.asarray(temperature_at_altitude(altitude, ISA_DEVIATION_K))
    return np.asarray(
        calibrated_airspeed(
            true_airspeed_m_s=flown["true_airspeed_m_s"], pressure_altitude_m=altitude, temperature_k=kelvin
        )
    )


def indicated(calibrated_kt: Array) -> Array:
    """Return what the example's airspeed indicator shows [kt], any shape."""
    shown, add = np.array(AIRSPEED_CORRECTION_AS_FLOWN_KT, dtype=np.float64).T
    return np.asarray(np.interp(calibrated_kt, [0.0, *(shown + add)], [0.0, *shown]))


def record(flown: Flown) -> str:
    """Return the recorder's file."""
    readings = _faulty(_readings(flown))
    header = ";".join(["Dato", "Tid", *(column for column, _, _ in _COLUMNS)])
    lines = [*_PREAMBLE, header]
    for second, time_s in enumerate(flown["time_s"]):
        if DROP_OUT[0] <= second < DROP_OUT[1]:
            continue
        clock = START_LOCAL + timedelta(seconds=round(float(time_s)))
        cells = [_cell(float(readings[name][second]), decimals) for _, name, decimals in _COLUMNS]
        lines.append(";".join([f"{clock:%d-%m-%Y}", f"{clock:%H:%M:%S}", *cells]).replace(".", ","))
    return "\n".join(lines) + "\n"


def _cell(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text


def _readings(flown: Flown) -> dict[str, Array]:
    noise = np.random.default_rng(_SEED)
    count = flown["time_s"].size
    altitude = flown["pressure_altitude_m"]
    east, north = np.gradient(flown["east_m"]), np.gradient(flown["north_m"])
    latitude = START_LATITUDE_DEG + flown["north_m"] / nmi / 60
    longitude = START_LONGITUDE_DEG + flown["east_m"] / nmi / 60 / np.cos(latitude * degree)
    height = true_altitude(altitude)
    heading = np.degrees(flown["heading_rad"]) - VARIATION_DEG
    power = flown["power_ratio"]
    percents, speeds = zip(*HANDBOOKS["vadmel"].rpm_at, strict=True)
    shaft = np.interp(power * 100, [0, *percents, 100], [1750, *speeds, 2300])
    track = np.degrees(np.arctan2(east, north)) + noise.normal(0, 0.25, count)
    probe = _lagged(_probe_temperature(flown), _PROBE_LAG_S) - 273.15
    return {
        "latitude": latitude + noise.normal(0, 6e-6, count),
        "longitude": longitude + noise.normal(0, 1e-5, count),
        "gps_altitude": height + noise.normal(0, 1.5, count),
        "ground_speed": np.abs(np.hypot(east, north) / kt + noise.normal(0, 0.2, count)),
        "ground_track": track % 360,
        "indicated_airspeed": np.abs(indicated(calibrated(flown) / kt) + _gusts(noise, count, 0.45, 4.0)),
        "pressure_altitude": altitude / ft + _gusts(noise, count, 4.0, 6.0),
        "temperature": _stepped(probe + noise.normal(0, 0.12, count), 0.5),
        "heading": (heading + _gusts(noise, count, 0.5, 5.0)) % 360,
        "boost": 950 + 1350 * power + noise.normal(0, 4.0, count),
        "rpm": _stepped(shaft + noise.normal(0, 4.0, count), 5.0),
        "fuel_flow": _stepped(
            flown["fuel_flow_kg_s"] / JET_KG_M3 / (litre / hour) + noise.normal(0, 0.15, count), 0.2
        ),
        "power": np.abs(100 * power + noise.normal(0, 0.3, count)),
        "vertical_speed": _stepped(flown["climb_m_s"] / fpm + _gusts(noise, count, 25.0, 3.0), 10.0),
    }


def _probe_temperature(flown: Flown) -> Array:
    kelvin = np.asarray(temperature_at_altitude(flown["pressure_altitude_m"], ISA_DEVIATION_K))
    mach = mach_at_true_airspeed(flown["true_airspeed_m_s"], kelvin)
    return np.asarray(probe_temperature(kelvin, mach, RECOVERY))


def _lagged(values: Array, lag_s: float) -> Array:
    out = values.copy()
    for i in range(1, out.size):
        out[i] = out[i - 1] + (values[i] - out[i - 1]) / lag_s
    return out


def _gusts(noise: np.random.Generator, count: int, deviation: float, memory_s: float) -> Array:
    """Return noise of a standard deviation that is remembered for some seconds."""
    keep = float(np.exp(-1 / memory_s))
    kicks = noise.normal(0, deviation * np.sqrt(1 - keep**2), count)
    out = np.zeros(count)
    for i in range(1, count):
        out[i] = keep * out[i - 1] + kicks[i]
    return out


def _stepped(values: Array, step: float) -> Array:
    return np.asarray(np.round(values / step) * step)


def _faulty(readings: dict[str, Array]) -> dict[str, Array]:
    for name in _SATELLITE:
        readings[name][slice(*FROZEN)] = readings[name][FROZEN[0] - 1]
    readings["indicated_airspeed"][SPIKE] = 241.0
    return readings


def truth(flown: Flown) -> dict[str, Any]:
    """Return what really happened in each test condition."""
    conditions = [_condition(flown, *span) for span in flown.steps if span[0].kind]
    return {
        "isa_deviation_c": ISA_DEVIATION_K,
        "altimeter_setting_hpa": ALTIMETER_SETTING_PA / hpa,
        "recovery": RECOVERY,
        "airspeed_correction_kt": [list(pair) for pair in AIRSPEED_CORRECTION_AS_FLOWN_KT],
        "drag_area_m2": round(VADMEL_AS_FLOWN.drag_area_m2, 5),
        "effective_span_m": round(VADMEL_AS_FLOWN.effective_span_m, 4),
        "conditions": conditions,
    }


def _condition(flown: Flown, step: Step, begin: int, end: int) -> dict[str, Any]:
    begin, end = begin + int(step.settle_s), end - 3
    mean = {name: float(column[begin:end].mean()) for name, column in flown.columns.items()}
    east, north = wind_at(float(true_altitude(mean["pressure_altitude_m"])))
    utc = START_LOCAL - LOCAL_AHEAD
    start, stop = (utc + timedelta(seconds=float(flown["time_s"][i])) for i in (begin, end - 1))
    cas = float(calibrated(flown)[begin:end].mean()) / kt
    temperature_k = float(temperature_at_altitude(mean["pressure_altitude_m"], ISA_DEVIATION_K))
    return {
        "name": step.name,
        "kind": step.kind,
        "group": step.group,
        "start_utc": f"{start:%Y-%m-%dT%H:%M:%SZ}",
        "end_utc": f"{stop:%Y-%m-%dT%H:%M:%SZ}",
        "pressure_altitude_ft": round(mean["pressure_altitude_m"] / ft, 1),
        "outside_air_temp_c": round(temperature_k - 273.15, 2),
        "ias_kt": round(float(indicated(np.array(cas))), 2),
        "cas_kt": round(cas, 2),
        "tas_kt": round(mean["true_airspeed_m_s"] / kt, 2),
        "wind_from_deg": round(float(np.degrees(np.arctan2(-east, -north))) % 360, 1),
        "wind_kt": round(float(np.hypot(east, north)) / kt, 2),
        "rate_of_climb_fpm": round(mean["climb_m_s"] / fpm, 1),
        "power_percent": round(mean["power_ratio"] * 100, 2),
        "fuel_flow_lph": round(mean["fuel_flow_kg_s"] / JET_KG_M3 / (litre / hour), 2),
        "mass_kg": round(mean["mass_kg"], 1),
    }
