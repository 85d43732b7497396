"""A flown scenario: the recorder's file, the flight file and the truth."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from helpers.simulator.fly import FUEL_LB_GAL, Trace, fly_steps
from helpers.simulator.instruments import KT_FPS, correction_kt
from helpers.simulator.recorder import LOG_NAME, START, flight_text, log_text
from helpers.simulator.scenario import Scenario, Step

START_S = START.timestamp()
KINDS = {"level": "level", "climb": "climb", "glide": "descent"}
_MEANS = {
    "cas_kt": "cas_kt", "ias_kt": "ias_kt", "pressure_altitude_ft": "pressure_altitude_ft",
    "density_altitude_ft": "density_altitude_ft", "drag_lb": "drag_lb", "lift_lb": "lift_lb",
    "thrust_lb": "thrust_lb", "power_hp": "power_hp", "weight_lb": "weight_lb", "cl": "cl", "cd": "cd",
}  # fmt: skip


@dataclass(frozen=True)
class Scripted:
    """One scripted condition as flown: when, and the truth over it."""

    step: Step
    start_s: float
    end_s: float
    truth: dict[str, float]

    @property
    def kind(self) -> str:
        """The kind by the names of the flight file."""
        return KINDS[self.step.kind]

    def overlap_s(self, start_s: float, end_s: float) -> float:
        """Return the seconds shared with another stretch."""
        return max(0.0, min(self.end_s, end_s) - max(self.start_s, start_s))


@dataclass(frozen=True)
class SimulatedFlight:
    """What was recorded and written down of a scenario, and what really happened."""

    scenario: Scenario
    trace: Trace
    log: str
    file: str

    def write(self, folder: Path) -> Path:
        """Write the log and the flight file into a folder and return the latter's path."""
        (folder / LOG_NAME).write_text(self.log, encoding="utf-8")
        path = folder / "flight.toml"
        path.write_text(self.file, encoding="utf-8")
        return path

    def truth(self, start_s: float, end_s: float) -> dict[str, float]:
        """Return what really happened between two times, both included: means, and the tapeline rate."""
        first, last = round(start_s - START_S), round(end_s - START_S)
        part = {name: values[first : last + 1] for name, values in self.trace.columns.items()}
        minutes = np.arange(last - first + 1) / 60
        slope, middle = np.polyfit(minutes, part["cas_kt"], 1)
        excess = (part["thrust_lb"] - np.abs(part["drag_lb"])) * part["tas_fps"] / part["weight_lb"]
        rise = (part["height_ft"][-1] - part["height_ft"][0]) / max(minutes[-1], 1e-9)
        return {
            **{name: float(part[column].mean()) for name, column in _MEANS.items()},
            "tas_kt": float(part["tas_fps"].mean()) / KT_FPS,
            "outside_air_temp_c": float(part["static_k"].mean()) - 273.15,
            "fuel_flow_gph": float(part["fuel_flow_lb_h"].mean()) / FUEL_LB_GAL,
            "wind_north_kt": float(part["wind_north_fps"].mean()) / KT_FPS,
            "wind_east_kt": float(part["wind_east_fps"].mean()) / KT_FPS,
            "vertical_air_fpm": -60 * float(part["wind_down_fps"].mean()),
            "rate_of_climb_fpm": float(rise),
            "excess_power_fpm": 60 * float(excess.mean()),
            "cas_slope_kt_min": float(slope),
            "cas_scatter_kt": float((part["cas_kt"] - slope * minutes - middle).std()),
            "bank_deg": float(np.degrees(np.abs(part["bank_rad"]).mean())),
        }

    @property
    def scripted(self) -> tuple[Scripted, ...]:
        """The scripted conditions in order."""
        return tuple(
            Scripted(step, START_S + a, START_S + b, self.truth(START_S + a, START_S + b))
            for step, a, b in self.trace.stretches
        )

    @property
    def groups(self) -> dict[str, tuple[Scripted, ...]]:
        """The legs of each group by its name."""
        names = dict.fromkeys(s.step.group for s in self.scripted if s.step.group)
        return {name: tuple(s for s in self.scripted if s.step.group == name) for name in names}

    def correction_kt(self, ias_kt: float) -> float:
        """Return the true calibrated minus indicated airspeed at an indicated one."""
        return correction_kt(self.scenario.error, ias_kt)


@cache
def fly(scenario: Scenario) -> SimulatedFlight:
    """Return a scenario flown; flown once in a session."""
    trace = fly_steps(scenario)
    return SimulatedFlight(scenario, trace, log_text(scenario, trace), flight_text(scenario))
