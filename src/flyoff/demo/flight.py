"""The demo's flown day, as it really happened: a profile flown by a point mass through warm air and wind.

Deterministic. The airplane obeys the same physics as its handbook, with the
drag of the example that is flown; what its instruments made of it is in
`flyoff.demo.recorder`.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array, Floats
from flyoff.core.units import degree, fpm, ft, hpa, kt, litre
from flyoff.demo.designs import VADMEL_AS_FLOWN
from flyoff.demo.handbook import JET_KG_M3
from flyoff.physics import airspeed, altimetry
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude

ISA_DEVIATION_K = 8.0
ALTIMETER_SETTING_PA = 1008 * hpa
FIELD_ELEVATION_M = 52 * ft
START_LATITUDE_DEG, START_LONGITUDE_DEG = 55.0633, 14.7596
RAMP_MASS_KG = 872.0 + 82.0 + 76.0 + 11.0 + 120 * litre * JET_KG_M3

# Height above sea level [ft], and the wind there: from [°], speed [kt].
_WIND = ((0, 238, 9), (2000, 249, 15), (4000, 262, 20), (6000, 271, 24), (8000, 279, 29), (10_000, 283, 33))
_STEP_S = 0.5
_WINDMILLING = 1.25

Kind = Literal["level", "climb", "descent", ""]


@dataclass(frozen=True)
class Step:
    """One instruction of the profile.

    Either `hold_ft` is kept for `seconds`, or `calibrated_kt` is kept until
    `until_ft` is passed (pressure altitudes). A step with a `kind` is a test
    condition: its truth is noted from `settle_s` after its start.
    """

    name: str
    heading_deg: float
    power_ratio: float
    hold_ft: float = np.nan
    seconds: float = np.inf
    calibrated_kt: float = np.nan
    until_ft: float = np.nan
    kind: Kind = ""
    settle_s: float = 30.0
    group: str = ""


def profile() -> tuple[Step, ...]:
    """Return what was flown, from the runway's end to the circuit."""
    steps = [Step("climb out", 290, 1.0, calibrated_kt=78, until_ft=2000)]
    for number, speed in enumerate((70, 78, 88, 78)):
        heading = 330.0 if number % 2 == 0 else 150.0
        steps += [
            Step(
                f"sawtooth {speed} kt",
                heading,
                1.0,
                calibrated_kt=speed,
                until_ft=3600,
                kind="climb",
                settle_s=28,
            ),
            Step("down again", 480 - heading, 0.15, calibrated_kt=105, until_ft=2000),
        ]
    steps.append(Step("climb to 4,000 ft", 60, 1.0, calibrated_kt=82, until_ft=3960))
    steps += _level(4000, (0.55, 0.85, 0.75), (60, 60, 60))
    steps += _box(4000, 0.75, (180, 300, 60))
    steps.append(
        Step("climb to 7,500 ft", 240, 1.0, calibrated_kt=82, until_ft=7460, kind="climb", settle_s=60)
    )
    steps += _level(7500, (0.75, 0.65, 0.55), (240, 240, 240))
    steps += _box(7500, 0.55, (0, 120, 240))
    for speed, lower in ((78, 6000), (95, 4400)):
        steps.append(Step(f"glide {speed} kt", 240, 0.0, calibrated_kt=speed, until_ft=lower, kind="descent"))
    steps.append(Step("descent", 130, 0.45, calibrated_kt=120, until_ft=1300))
    steps.append(Step("circuit", 110, 0.35, hold_ft=1250, seconds=60))
    steps.append(Step("approach", 290, 0.06, calibrated_kt=68, until_ft=260))
    return tuple(steps)


def _level(altitude_ft: int, powers: tuple[float, ...], headings: tuple[float, ...]) -> list[Step]:
    return [
        Step(f"level {power:.0%} at {altitude_ft} ft", heading, power, hold_ft=altitude_ft, seconds=190,
             kind="level", settle_s=105)
        for power, heading in zip(powers, headings, strict=True)
    ]  # fmt: skip


def _box(altitude_ft: int, power: float, headings: tuple[float, ...]) -> list[Step]:
    return [
        Step(f"box {heading:03.0f}° at {altitude_ft} ft", heading, power, hold_ft=altitude_ft, seconds=150,
             kind="level", settle_s=70, group=f"box at {altitude_ft} ft")
        for heading in headings
    ]  # fmt: skip


@dataclass
class Flown:
    """The flight second by second, arrays of shape (n,) in SI; and where each step began and ended."""

    columns: dict[str, Array]
    steps: list[tuple[Step, int, int]] = field(default_factory=list)

    def __getitem__(self, name: str) -> Array:
        """Return one column."""
        return self.columns[name]


def wind_at(altitude_m: Floats) -> tuple[Array, Array]:
    """Return the wind's eastward and northward components [m/s] at a height above sea level."""
    heights, froms, speeds = np.array(_WIND, dtype=np.float64).T
    east, north = -speeds * np.sin(froms * degree) * kt, -speeds * np.cos(froms * degree) * kt
    return np.interp(altitude_m, heights * ft, east), np.interp(altitude_m, heights * ft, north)


def true_altitude(pressure_altitude_m: Floats) -> Array:
    """Return the height above sea level [m]: warm air stands taller than standard air."""
    sea_level = float(altimetry.pressure_altitude(0.0, ALTIMETER_SETTING_PA))
    grid = np.linspace(sea_level, 4000.0, 400)
    standard = np.asarray(temperature_at_altitude(grid))
    stretch = (standard + ISA_DEVIATION_K) / standard
    heights = np.concatenate([[0.0], np.cumsum(np.diff(grid) * (stretch[1:] + stretch[:-1]) / 2)])
    return np.asarray(np.interp(pressure_altitude_m, grid, heights))


@dataclass
class _State:
    time_s: float
    pressure_altitude_m: float
    true_airspeed_m_s: float
    heading_rad: float
    mass_kg: float
    east_m: float = 0.0
    north_m: float = 0.0
    climb_m_s: float = 0.0
    power_ratio: float = 0.0


def fly() -> Flown:
    """Return the whole flight."""
    start = float(altimetry.pressure_altitude(FIELD_ELEVATION_M, ALTIMETER_SETTING_PA))
    state = _State(0.0, start, 0.0, 290 * degree, RAMP_MASS_KG)
    rows: list[tuple[float, ...]] = []
    flown = Flown({})
    _ground(state, rows, 60, 0.0, 0.05)
    _ground(state, rows, 17, 70 * kt, 1.0)
    for step in profile():
        begin = len(rows)
        _fly_step(step, state, rows)
        flown.steps.append((step, begin, len(rows)))
    state.pressure_altitude_m = start
    _ground(state, rows, 22, 8 * kt, 0.05)
    _ground(state, rows, 40, 8 * kt, 0.05)
    names = (*_State.__dataclass_fields__, "fuel_flow_kg_s")
    flown.columns = dict(zip(names, np.array(rows).T, strict=True))
    return flown


def _row(state: _State) -> tuple[float, ...]:
    return (*vars(state).values(), _fuel_flow(state.power_ratio))


def _fuel_flow(power_ratio: float) -> float:
    design = VADMEL_AS_FLOWN
    # The idling engine burns a little without giving power; full power burns as in climb.
    consumption = float(design.specific_consumption(power_ratio))
    if power_ratio > 0.9:
        consumption = design.climb_consumption_kg_j
    return max(power_ratio * design.rated_power_w * consumption, 1.1e-3)


def _ground(
    state: _State, rows: list[tuple[float, ...]], seconds: int, to_m_s: float, power_ratio: float
) -> None:
    start = state.true_airspeed_m_s
    state.climb_m_s, state.power_ratio = 0.0, power_ratio
    for second in range(seconds):
        state.true_airspeed_m_s = start + (to_m_s - start) * second / seconds
        state.east_m += state.true_airspeed_m_s * float(np.sin(state.heading_rad))
        state.north_m += state.true_airspeed_m_s * float(np.cos(state.heading_rad))
        state.time_s += 1
        state.mass_kg -= _fuel_flow(power_ratio)
        rows.append(_row(state))


def _fly_step(step: Step, state: _State, rows: list[tuple[float, ...]]) -> None:
    began = state.time_s
    upward = state.pressure_altitude_m < step.until_ft * ft
    while state.time_s - began < step.seconds:
        for _ in range(int(1 / _STEP_S)):
            _advance(step, state)
        rows.append(_row(state))
        passed = state.pressure_altitude_m >= step.until_ft * ft
        if not np.isnan(step.until_ft) and passed == upward:
            return


def _advance(step: Step, state: _State) -> None:
    """Move the state by one step: power against drag, shared between speed and height."""
    design, altitude, speed = VADMEL_AS_FLOWN, state.pressure_altitude_m, state.true_airspeed_m_s
    kelvin = float(temperature_at_altitude(altitude, ISA_DEVIATION_K))
    state.power_ratio += float(np.clip(step.power_ratio - state.power_ratio, -0.15 * _STEP_S, 0.15 * _STEP_S))
    full_ratio = float(design.full_power(altitude, kelvin)) / design.rated_power_w
    state.power_ratio = min(state.power_ratio, full_ratio)
    turn = np.angle(np.exp(1j * (step.heading_deg * degree - state.heading_rad)))
    turn_rate = float(np.clip(turn / 4, -3 * degree, 3 * degree))
    excess = _excess_thrust(state, kelvin, float(np.hypot(1, speed * turn_rate / STANDARD_GRAVITY_M_S2)))
    # A pressure altitude is climbed slower than a height in warm air.
    stretch = kelvin / (kelvin - ISA_DEVIATION_K)
    if np.isnan(step.hold_ft):
        target = airspeed.true_airspeed(
            calibrated_airspeed_m_s=step.calibrated_kt * kt,
            pressure_altitude_m=altitude,
            temperature_k=kelvin,
        )
        acceleration = float(np.clip((target - speed) / 6, -1.0, 1.0))
        rise = speed * (excess - acceleration / STANDARD_GRAVITY_M_S2)
    else:
        rise = float(np.clip((step.hold_ft * ft - altitude) / 8, -600 * fpm, 600 * fpm)) * stretch
        acceleration = STANDARD_GRAVITY_M_S2 * (excess - rise / speed)
    # The hand on the stick takes seconds, not moments.
    state.climb_m_s += (rise / stretch - state.climb_m_s) * min(1.0, _STEP_S / 1.5)
    wind_east, wind_north = wind_at(float(true_altitude(altitude)))
    level = float(np.sqrt(max(speed**2 - (state.climb_m_s * stretch) ** 2, 0.0)))
    state.east_m += (level * float(np.sin(state.heading_rad)) + float(wind_east)) * _STEP_S
    state.north_m += (level * float(np.cos(state.heading_rad)) + float(wind_north)) * _STEP_S
    state.true_airspeed_m_s = speed + acceleration * _STEP_S
    state.pressure_altitude_m += state.climb_m_s * _STEP_S
    state.heading_rad = (state.heading_rad + turn_rate * _STEP_S) % (2 * np.pi)
    state.mass_kg -= _fuel_flow(state.power_ratio) * _STEP_S
    state.time_s += _STEP_S


def _excess_thrust(state: _State, kelvin: float, load_factor: float) -> float:
    """Return thrust less drag as a share of the weight."""
    design, speed = VADMEL_AS_FLOWN, state.true_airspeed_m_s
    sigma = float(density_ratio(state.pressure_altitude_m, kelvin))
    density = sigma * SEA_LEVEL_DENSITY_KG_M3
    power_w = state.power_ratio * design.rated_power_w
    drag_n = float(design.drag_force(speed * np.sqrt(sigma), state.mass_kg, load_factor))
    if power_w < 0.02 * design.rated_power_w:
        return -(drag_n + (_WINDMILLING - 1) * design.drag_area_m2 * 0.5 * density * speed**2) / (
            state.mass_kg * STANDARD_GRAVITY_M_S2
        )
    thrust_n = power_w * float(design.efficiency(power_w, density, speed)) / speed
    return (thrust_n - drag_n) / (state.mass_kg * STANDARD_GRAVITY_M_S2)
