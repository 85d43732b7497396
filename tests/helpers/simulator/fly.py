"""Fly a scenario: the library's equations of motion, the pilot's hands, the engine's thrust, the wind."""

import math
from dataclasses import dataclass, field
from pathlib import Path

import jsbsim
import numpy as np

from helpers.simulator import instruments
from helpers.simulator.instruments import KT_FPS
from helpers.simulator.pilot import Cues, Pilot
from helpers.simulator.scenario import ENGINES, Scenario, Step

AIRPLANES = Path(__file__).with_name("airplanes")
RATE_HZ = 20
LONGEST_S = 5400
FUEL_LB_GAL = 6.0
_PROPERTIES = {
    "latitude_deg": "position/lat-geod-deg",
    "longitude_deg": "position/long-gc-deg",
    "height_ft": "position/geod-alt-ft",
    "north_fps": "velocities/v-north-fps",
    "east_fps": "velocities/v-east-fps",
    "climb_fps": "velocities/h-dot-fps",
    "tas_fps": "velocities/vt-fps",
    "cas_kt": "velocities/vc-kts",
    "mach": "velocities/mach",
    "wind_north_fps": "atmosphere/total-wind-north-fps",
    "wind_east_fps": "atmosphere/total-wind-east-fps",
    "wind_down_fps": "atmosphere/total-wind-down-fps",
    "temperature_r": "atmosphere/T-R",
    "pressure_altitude_ft": "atmosphere/pressure-altitude",
    "density_altitude_ft": "atmosphere/density-altitude",
    "density_slug_ft3": "atmosphere/rho-slugs_ft3",
    "heading_rad": "attitude/psi-rad",
    "bank_rad": "attitude/phi-rad",
    "pitch_rad": "attitude/theta-rad",
    "pitch_rate": "velocities/q-rad_sec",
    "roll_rate": "velocities/p-rad_sec",
    "drag_lb": "forces/fwx-aero-lbs",
    "lift_lb": "forces/fwz-aero-lbs",
    "cl": "aero/cl",
    "cd": "aero/cd",
    "weight_lb": "inertia/weight-lbs",
}
_CONTROLS = {
    "elevator": "fcs/elevator-pos-rad",
    "aileron": "fcs/left-aileron-pos-rad",
    "thrust": "external_reactions/thrust/magnitude",
    "wind_north": "atmosphere/wind-north-fps",
    "wind_east": "atmosphere/wind-east-fps",
    "wind_down": "atmosphere/wind-down-fps",
    "load": "inertia/pointmass-weight-lbs",
}


@dataclass
class Trace:
    """Second by second what really happened: columns of shape (n,), and each step's first and last second."""

    columns: dict[str, np.ndarray]
    stretches: list[tuple[Step, int, int]]

    def __getitem__(self, name: str) -> np.ndarray:
        """Return one column."""
        return self.columns[name]


class Air:
    """The moving air: layers, a slow wander, gusts with a memory, waves and changes on order."""

    def __init__(self, scenario: Scenario) -> None:
        layers = scenario.wind
        self._heights = [layer.altitude_ft for layer in layers]
        blow = [(layer.speed_kt * KT_FPS, math.radians(layer.from_deg)) for layer in layers]
        self._north = [-speed * math.cos(angle) for speed, angle in blow]
        self._east = [-speed * math.sin(angle) for speed, angle in blow]
        rng = np.random.default_rng((scenario.seed, 1))
        count = LONGEST_S * 4
        gust, vertical = scenario.gust_kt * KT_FPS, scenario.vertical_gust_kt * KT_FPS
        slow = scenario.wander_kt * KT_FPS
        self._gusts = np.array(
            [
                instruments.wander(rng, count, deviation, 4 * memory)
                for deviation, memory in ((gust, 5.0), (gust, 5.0), (vertical, 3.0))
            ]
        )
        self._gusts[0] += instruments.wander(rng, count, slow, 4 * 300.0)
        self._gusts[1] += instruments.wander(rng, count, slow, 4 * 300.0)
        self._changed = [0.0, 0.0]

    def change(self, toward_north_kt: float, toward_east_kt: float) -> None:
        """Add to the wind for good."""
        self._changed[0] += toward_north_kt * KT_FPS
        self._changed[1] += toward_east_kt * KT_FPS

    def at(self, time_s: float, height_ft: float, rising_fps: float) -> tuple[float, float, float]:
        """Return the wind towards north, east and down [ft/s]."""
        north, east, down = self._gusts[:, int(time_s * 4)]
        return (
            float(np.interp(height_ft, self._heights, self._north) + north + self._changed[0]),
            float(np.interp(height_ft, self._heights, self._east) + east + self._changed[1]),
            float(down - rising_fps),
        )


@dataclass
class Flying:
    """The airplane in the air, one second at a time."""

    scenario: Scenario
    rows: list[list[float]] = field(default_factory=list)
    time_s: float = 0.0
    rising_fps: float = 0.0

    def __post_init__(self) -> None:
        scenario = self.scenario
        self.engine = ENGINES[scenario.airplane]
        jsbsim.FGJSBBase().debug_lvl = 0
        fdm = self._fdm = jsbsim.FGFDMExec(None)
        fdm.set_debug_level(0)
        if not fdm.load_model_with_paths(scenario.airplane, str(AIRPLANES), "", ""):
            raise RuntimeError(f"cannot load airplane {scenario.airplane}")
        fdm.set_dt(1 / RATE_HZ)
        first = scenario.steps[0]
        for name, value in (
            ("ic/lat-geod-deg", 51.0), ("ic/long-gc-deg", 8.5), ("ic/h-sl-ft", first.altitude_ft - 500),
            ("ic/psi-true-deg", first.heading_deg), ("ic/vc-kts", 95.0), ("ic/alpha-deg", 3.0),
            ("atmosphere/delta-T", scenario.isa_deviation_c * 1.8),
            ("atmosphere/P-sl-psf", scenario.altimeter_setting_hpa * 100 / 47.88025898),
        ):  # fmt: skip
            fdm[name] = value
        nodes = fdm.get_property_manager()
        self._get = {name: nodes.get_node(path).get_double_value for name, path in _PROPERTIES.items()}
        self._set = {name: nodes.get_node(path).set_double_value for name, path in _CONTROLS.items()}
        self._set["load"](scenario.load_lb)
        if not fdm.run_ic():
            raise RuntimeError("the flight cannot start")
        self.load_lb = scenario.load_lb
        self.air = Air(scenario)
        self.pilot = Pilot(1 / RATE_HZ)
        self.power_hp = self.thrust_lb = self.fuel_flow_lb_h = 0.0
        self.probe_c = math.nan
        self.cues = self._look()

    def _look(self) -> Cues:
        get, error = self._get, self.scenario.error
        cas = get["cas_kt"]()
        ias = instruments.indicated_kt(error, cas)
        altitude = instruments.indicated_altitude_ft(error, get["pressure_altitude_ft"](), cas)
        return Cues(
            get["pitch_rad"](), get["bank_rad"](), get["heading_rad"](),
            get["pitch_rate"](), get["roll_rate"](), ias, altitude, get["climb_fps"](),
        )  # fmt: skip

    def _run_engine(self) -> None:
        engine, tas = self.engine, max(self._get["tas_fps"](), 60.0)
        density = self._get["density_slug_ft3"]()
        sigma = density / 0.00237689
        throttle = self.pilot.throttle
        self.power_hp = throttle * engine.rated_hp * (1.132 * sigma - 0.132)
        efficiency = engine.propeller_efficiency * (1 - math.exp(-tas / KT_FPS / engine.efficiency_speed_kt))
        windmilling = engine.windmilling_drag_area_ft2 * density / 2 * tas**2 * max(0.0, 1 - 4 * throttle)
        self.thrust_lb = 550 * self.power_hp * efficiency / tas - windmilling
        self.fuel_flow_lb_h = engine.specific_consumption_lb_hp_h * self.power_hp + 6.0
        self._set["thrust"](self.thrust_lb)

    def second(
        self, mode: str, target: float, heading_deg: float, throttle: float | None = None,
        chase_kt: float | None = None,
    ) -> None:  # fmt: skip
        """Fly one second: `mode` holds an ``altitude`` or an ``airspeed``.

        The throttle goes where it is said, or chases an airspeed, or is left alone.
        """
        for substep in range(RATE_HZ):
            cues = self.cues
            self.pilot.see(cues)
            hold = self.pilot.pitch_for_airspeed(target) if mode == "airspeed" else None
            pitch = self.pilot.pitch_for_altitude(cues, target) if hold is None else hold
            elevator, aileron = self.pilot.surfaces(cues, pitch, heading_deg)
            if throttle is not None:
                self.pilot.set_throttle(throttle)
            if chase_kt is not None:
                self.pilot.chase_airspeed(chase_kt)
            self._set["elevator"](elevator)
            self._set["aileron"](aileron)
            if substep % 5 == 0:
                wind = self.air.at(self.time_s, self._get["height_ft"](), self.rising_fps)
                for name, value in zip(("wind_north", "wind_east", "wind_down"), wind, strict=True):
                    self._set[name](value)
                self._run_engine()
            self._fdm.run()
            self.time_s += 1 / RATE_HZ
            self.cues = self._look()
        self.load_lb -= self.fuel_flow_lb_h / 3600
        self._set["load"](self.load_lb)
        self._note()

    def _note(self) -> None:
        values = {name: get() for name, get in self._get.items()}
        kelvin = values["temperature_r"] / 1.8
        probe = instruments.probe_c(kelvin, values["mach"], self.scenario.recorder.recovery)
        lag = self.scenario.recorder.probe_lag_s
        self.probe_c = probe if math.isnan(self.probe_c) else self.probe_c + (probe - self.probe_c) / lag
        self.rows.append(
            [*values.values(), self.cues.ias_kt, self.cues.altitude_ft, self.probe_c, kelvin,
             self.pilot.throttle, self.power_hp, self.thrust_lb, self.fuel_flow_lb_h]
        )  # fmt: skip


_NOTED = (
    *_PROPERTIES, "ias_kt", "indicated_altitude_ft", "probe_c", "static_k",
    "throttle", "power_hp", "thrust_lb", "fuel_flow_lb_h",
)  # fmt: skip


def fly_steps(scenario: Scenario) -> Trace:
    """Return what really happens in a scenario."""
    flying = Flying(scenario)
    stretches = []
    for step in scenario.steps:
        flying.air.change(*step.wind_change_kt)
        _get_there(flying, step)
        start, end = (_level if step.kind == "level" else _slope)(flying, step)
        stretches.append((step, start, end))
    for _ in range(20):
        flying.second("altitude", flying.cues.altitude_ft, scenario.steps[-1].heading_deg, 0.5)
    table = np.array(flying.rows)
    return Trace(dict(zip(_NOTED, table.T, strict=True)), stretches)


def _tick(flying: Flying) -> None:
    if flying.time_s > LONGEST_S - 60:
        raise RuntimeError(f"{flying.scenario.name}: a condition is never reached")


def _get_there(flying: Flying, step: Step) -> None:
    """Climb or descend to where a step begins, turning on the way and slowing down for a slope."""
    before = {"level": 0.0, "climb": -450.0, "glide": 450.0}[step.kind]
    target = step.altitude_ft + before
    while True:
        _tick(flying)
        wrong = target - flying.cues.altitude_ft
        turn = abs(math.remainder(math.radians(step.heading_deg) - flying.cues.heading, 2 * math.pi))
        near = step.kind == "level" or abs(flying.cues.ias_kt - step.ias_kt) < 6
        if abs(wrong) < 60 and turn < math.radians(4) and near:
            return
        if wrong > 150:
            flying.second("airspeed", 88.0, step.heading_deg, 1.0)
        elif wrong < -150:
            flying.second("airspeed", 115.0, step.heading_deg, 0.12)
        else:
            flying.second("altitude", target, step.heading_deg, chase_kt=step.ias_kt)


def _level(flying: Flying, step: Step) -> tuple[int, int]:
    until = flying.time_s + step.settle_s
    flying.rising_fps = step.rising_fpm / 60
    while flying.time_s < until:
        settling = flying.time_s < until - 12
        if not settling:
            flying.pilot.let_go_of_throttle()
        _wave(flying, step, flying.time_s - until)
        chase = step.ias_kt if settling else None
        flying.second("altitude", step.altitude_ft, step.heading_deg, chase_kt=chase)
    start = len(flying.rows)
    while len(flying.rows) < start + step.hold_s:
        _wave(flying, step, len(flying.rows) - start)
        flying.second("altitude", step.altitude_ft, step.heading_deg)
    flying.rising_fps = 0.0
    return start, len(flying.rows) - 1


def _wave(flying: Flying, step: Step, seconds: float) -> None:
    """Let the air rise evenly, and swell and ebb over the step from ten seconds before it."""
    phase = (seconds + 10) / (step.hold_s + 20)
    swell = step.wave_fpm * math.sin(math.pi * phase) if 0 < phase < 1 else 0.0
    flying.rising_fps = (step.rising_fpm + swell) / 60


def _slope(flying: Flying, step: Step) -> tuple[int, int]:
    """Climb or glide through the band; the wave swells from its beginning on."""
    sign, throttle = (1, 1.0) if step.kind == "climb" else (-1, 0.0)
    begun = len(flying.rows)
    start = -1
    flying.rising_fps = step.rising_fpm / 60
    while sign * (step.until_ft - flying.cues.altitude_ft) > 0:
        _tick(flying)
        inside = sign * (flying.cues.altitude_ft - step.altitude_ft) >= 0
        if start < 0 and inside and len(flying.rows) - begun > 20:
            start = len(flying.rows)
        if start >= 0:
            _wave(flying, step, len(flying.rows) - start)
        flying.second("airspeed", step.ias_kt, step.heading_deg, throttle)
    flying.rising_fps = 0.0
    return start, len(flying.rows) - 1
