"""A pilot: holds altitude, indicated airspeed and heading by attitude, as smoothly as the air lets."""

import math
from dataclasses import dataclass

from helpers.simulator.instruments import KT_FPS


def _clip(value: float, limit: float) -> float:
    return max(-limit, min(limit, value))


@dataclass
class Cues:
    """What the pilot sees: attitude [rad], its rates [rad/s], airspeed, altitude and climb."""

    pitch: float
    bank: float
    heading: float
    pitch_rate: float
    roll_rate: float
    ias_kt: float
    altitude_ft: float
    climb_fps: float


@dataclass
class Pilot:
    """Attitude loops inside, altitude or airspeed outside; `dt` is the control period."""

    dt: float
    throttle: float = 0.6
    pitch_wanted: float = 0.03
    _elevator_trim: float = 0.0
    _ias_kt: float = 0.0
    _throttle_trim: float = 0.6
    _throttle_mean: float = 0.6

    def see(self, cues: Cues) -> None:
        """Take in the airspeed, smoothed as an eye does."""
        if self._ias_kt == 0:
            self._ias_kt = cues.ias_kt
        self._ias_kt += (cues.ias_kt - self._ias_kt) * self.dt / 1.5

    def surfaces(self, cues: Cues, pitch_rad: float, heading_deg: float) -> tuple[float, float]:
        """Return elevator and aileron [rad] for a pitch attitude and a heading."""
        wrong = cues.pitch - pitch_rad
        self._elevator_trim = _clip(self._elevator_trim + 0.5 * wrong * self.dt, 0.3)
        elevator = _clip(self._elevator_trim + 1.2 * wrong + 0.5 * cues.pitch_rate, 0.4)
        turn = math.remainder(math.radians(heading_deg) - cues.heading, 2 * math.pi)
        bank = _clip(1.2 * turn, math.radians(22))
        aileron = _clip(0.5 * (bank - cues.bank) - 0.25 * cues.roll_rate, 0.3)
        return elevator, aileron

    def pitch_for_altitude(self, cues: Cues, altitude_ft: float) -> float:
        """Return the pitch attitude that brings and keeps an altitude."""
        wanted_fps = _clip(0.10 * (altitude_ft - cues.altitude_ft), 9.0)
        wrong = (wanted_fps - cues.climb_fps) / (max(cues.ias_kt, 50) * KT_FPS)
        self.pitch_wanted = _clip(self.pitch_wanted + 0.25 * wrong * self.dt, 0.25)
        return _clip(self.pitch_wanted + 0.7 * wrong, 0.3)

    def pitch_for_airspeed(self, ias_kt: float) -> float:
        """Return the pitch attitude that brings and keeps an indicated airspeed."""
        fast = _clip(self._ias_kt - ias_kt, 15.0)
        self.pitch_wanted = _clip(self.pitch_wanted + 0.0015 * fast * self.dt, 0.25)
        return _clip(self.pitch_wanted + 0.012 * fast, 0.3)

    def chase_airspeed(self, ias_kt: float) -> None:
        """Work the throttle towards an indicated airspeed, in level flight."""
        slow = _clip(ias_kt - self._ias_kt, 10.0)
        self._throttle_trim = max(0.05, min(1.0, self._throttle_trim + 0.002 * slow * self.dt))
        self.throttle = max(0.05, min(1.0, self._throttle_trim + 0.025 * slow))
        self._throttle_mean += (self.throttle - self._throttle_mean) * self.dt / 30

    def set_throttle(self, throttle: float) -> None:
        """Move the throttle there in a few seconds."""
        self.throttle += _clip(throttle - self.throttle, 0.25 * self.dt)

    def let_go_of_throttle(self) -> None:
        """Leave the throttle where it was on average: from here on the power is constant."""
        self.throttle = self._throttle_mean
