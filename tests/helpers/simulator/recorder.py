"""What the recorder wrote of a flight, and what its crew wrote down."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np

from helpers.simulator.fly import FUEL_LB_GAL, Trace
from helpers.simulator.instruments import KT_FPS, wander
from helpers.simulator.scenario import Fault, Scenario

START = datetime(2031, 5, 12, 8, 0, 0, tzinfo=UTC)
LOG_NAME = "log.csv"
VARIATION_DEG = 2.4
GEOMETRY = {"parabola": (160, 34, 2250), "table": (142, 33, 2850)}
"""Wing area [ft²], span [ft] and standard weight [lb] of each airplane."""
_DECIMALS = {
    "latitude_deg": 6, "longitude_deg": 6, "gps_altitude_ft": 0, "ground_speed_kt": 1, "ground_track_deg": 0,
    "indicated_airspeed_kt": 0, "pressure_altitude_ft": 0, "outside_air_temp_c": 1, "magnetic_heading_deg": 0,
    "manifold_pressure_inhg": 1, "rpm": 0, "fuel_flow_gph": 1, "vertical_speed_fpm": 0,
}  # fmt: skip
_CHANNELS = {
    "latitude": ("latitude_deg", "deg"), "longitude": ("longitude_deg", "deg"),
    "gps_altitude": ("gps_altitude_ft", "ft"), "ground_speed": ("ground_speed_kt", "kt"),
    "ground_track": ("ground_track_deg", "deg"), "indicated_airspeed": ("indicated_airspeed_kt", "kt"),
    "pressure_altitude": ("pressure_altitude_ft", "ft"),
    "outside_air_temperature": ("outside_air_temp_c", "°C"),
    "magnetic_heading": ("magnetic_heading_deg", "deg"),
    "manifold_pressure": ("manifold_pressure_inhg", "inHg"), "rpm": ("rpm", "rpm"),
    "fuel_flow": ("fuel_flow_gph", "gal/h"), "vertical_speed": ("vertical_speed_fpm", "ft/min"),
}  # fmt: skip
_SATELLITE = ("latitude_deg", "longitude_deg", "gps_altitude_ft", "ground_speed_kt", "ground_track_deg")


def log_text(scenario: Scenario, trace: Trace) -> str:
    """Return the recorder's file."""
    rng = np.random.default_rng((scenario.seed, 2))
    readings = _readings(scenario, trace, rng)
    cells = {
        name: [f"{value:.{_DECIMALS[name]}f}" for value in values + 0.0] for name, values in readings.items()
    }
    times = [f"{START + timedelta(seconds=i):%Y-%m-%dT%H:%M:%SZ}" for i in range(len(trace["cas_kt"]))]
    left_out = _spoil(scenario, trace, cells, times)
    _blank(scenario, cells, rng)
    lines = [
        ",".join([times[i], *(column[i] for column in cells.values())])
        for i in range(len(times))
        if i not in left_out
    ]
    if scenario.recorder.cut_last_line:
        lines[-1] = lines[-1][: len(lines[-1]) // 2]
    return "\n".join([",".join(["time_utc", *cells]), *lines]) + (
        "" if scenario.recorder.cut_last_line else "\n"
    )


def _stepped(values: np.ndarray, step: float) -> np.ndarray:
    return values if step == 0 else np.asarray(np.round(values / step) * step)


def _readings(scenario: Scenario, trace: Trace, rng: np.random.Generator) -> dict[str, np.ndarray]:
    recorder, count = scenario.recorder, len(trace["cas_kt"])

    def noise(deviation: float) -> np.ndarray:
        return rng.normal(0, deviation, count)

    north, east = trace["north_fps"] / KT_FPS, trace["east_fps"] / KT_FPS
    over_ground = np.hypot(north, east) + noise(recorder.speed_noise_kt)
    shown = trace["ias_kt"] + noise(recorder.ias_noise_kt)
    heading = np.degrees(trace["heading_rad"]) - VARIATION_DEG
    heading += 1.5 * np.sin(np.radians(heading) + 0.7)
    idle = trace["throttle"] < 0.05
    rpm = np.where(idle, 15.0 * trace["ias_kt"], np.where(trace["throttle"] > 0.95, 2600.0, 2400.0))
    ambient_inhg = 29.921 * (1 - 6.8756e-6 * trace["pressure_altitude_ft"]) ** 5.2559
    manifold = ambient_inhg * (0.33 + 0.63 * trace["throttle"])
    drift = wander(rng, count, 1.5, 60.0)  # metres: a satellite position errs slowly
    return {
        "latitude_deg": trace["latitude_deg"] + (drift + noise(0.4)) / 111_200,
        "longitude_deg": trace["longitude_deg"]
        + (wander(rng, count, 1.5, 60.0) + noise(0.4)) / (111_200 * math.cos(math.radians(51))),
        "gps_altitude_ft": trace["height_ft"] + wander(rng, count, 12.0, 60.0) + noise(2.0),
        "ground_speed_kt": _stepped(over_ground, recorder.speed_step_kt),
        "ground_track_deg": _stepped(
            np.degrees(np.arctan2(east, north)) + noise(0.1), recorder.track_step_deg
        ) % 360,
        "indicated_airspeed_kt": _stepped(shown, recorder.ias_step_kt),
        "pressure_altitude_ft": _stepped(
            trace["indicated_altitude_ft"] + recorder.altimeter_error_ft + noise(recorder.altitude_noise_ft),
            recorder.altitude_step_ft,
        ),
        "outside_air_temp_c": _stepped(
            trace["probe_c"] + recorder.temperature_error_c + noise(recorder.temperature_noise_c),
            recorder.temperature_step_c,
        ),
        "magnetic_heading_deg": np.round(heading + noise(0.8)) % 360,
        "manifold_pressure_inhg": manifold + noise(0.05),
        "rpm": _stepped(rpm + noise(4.0), 10.0),
        "fuel_flow_gph": trace["fuel_flow_lb_h"] / FUEL_LB_GAL + noise(0.06),
        "vertical_speed_fpm": _stepped(trace["climb_fps"] * 60 + noise(20.0), 10.0),
    }  # fmt: skip


def _spoil(scenario: Scenario, trace: Trace, cells: dict[str, list[str]], times: list[str]) -> set[int]:
    """Put the faults in; return the rows that the recorder left out."""
    left_out: set[int] = set()
    for fault in scenario.faults:
        start = trace.stretches[fault.step][1] + int(fault.offset_s)
        rows = range(start, start + fault.seconds)
        _spoil_one(fault, rows, cells, times, left_out)
    return left_out


def _spoil_one(
    fault: Fault, rows: range, cells: dict[str, list[str]], times: list[str], left_out: set[int]
) -> None:
    match fault.kind:
        case "gap":
            left_out.update(rows)
        case "frozen":
            for name in _SATELLITE:
                cells[name][rows.start : rows.stop] = [cells[name][rows.start - 1]] * len(rows)
        case "spike":
            cells[fault.column][rows.start] = "251"
        case "blank":
            cells[fault.column][rows.start : rows.stop] = [""] * len(rows)
        case "repeat":
            times[rows.start] = times[rows.start - 1]


def _blank(scenario: Scenario, cells: dict[str, list[str]], rng: np.random.Generator) -> None:
    names = list(cells)
    count = len(cells[names[0]])
    for _ in range(scenario.recorder.blanks):
        cells[names[int(rng.integers(len(names)))]][int(rng.integers(count))] = ""


def flight_text(scenario: Scenario) -> str:
    """Return the flight file: what the columns are, and what the crew knew of airplane and instruments."""
    empty = {"parabola": 1450.0, "table": 1950.0}[scenario.airplane]
    area, span, weight = GEOMETRY[scenario.airplane]
    lines = [
        f'date = "{START:%Y-%m-%d}"',
        "[airplane]",
        f'wing_area = "{area} ft²"',
        f'span = "{span} ft"',
        f'standard_weight = "{weight} lb"',
        "[loading]",
        f'ramp_weight = "{empty + scenario.load_lb:.1f} lb"',
        f'fuel_density = "{FUEL_LB_GAL} lb/gal"',
        "[instruments]",
        f'magnetic_variation = "{VARIATION_DEG} deg"',
    ]
    if scenario.recorder.says_instruments:
        lines += ['oat_recovery = "80 %"', 'oat_u95 = "0.6 °C"', 'pressure_altitude_u95 = "30 ft"']
    lines += ["[[logs]]", f'file = "{LOG_NAME}"', "[logs.clock]", 'columns = ["time_utc"]', "[logs.columns]"]
    lines += [
        f'{name} = {{ column = "{column}", unit = "{unit}" }}' for name, (column, unit) in _CHANNELS.items()
    ]
    return "\n".join(lines) + "\n"
