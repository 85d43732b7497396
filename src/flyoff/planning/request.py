"""What a plan is asked for: airplane, time, fuel, altitudes, figures, instruments."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from flyoff.core.draws import COVERAGE_95
from flyoff.core.units import fpm, kt, minute
from flyoff.dossier.airplane import Airplane
from flyoff.model.fit import Fit

Wanted: TypeAlias = Literal["range", "cruise speed", "rate of climb", "glide ratio", "fuel flow"]
USUAL: tuple[Wanted, ...] = ("range", "cruise speed", "rate of climb")


@dataclass(frozen=True)
class Accuracy:
    """Standard uncertainties of the instruments and of a reading in still air.

    `u_calibration_m_s` and `u_flow_scale_ratio` are common to a whole flight. Defaults:
    airspeed, 5 kt at 95 % is what 14 CFR 23.1323 (as of 2011, from memory) lets a system be off;
    the others are common practice, no source.
    """

    u_calibration_m_s: float = 5 * kt / COVERAGE_95
    u_airspeed_m_s: float = 0.5 * kt
    u_temperature_k: float = 1.0
    u_flow_scale_ratio: float = 0.02
    u_flow_ratio: float = 0.005
    u_legs_m_s: float = 0.4 * kt
    u_rate_m_s: float = 20 * fpm


@dataclass(frozen=True)
class Practice:
    """Times and rates of flying a condition; common practice, no source."""

    before_takeoff_s: float = 5 * minute
    landing_s: float = 6 * minute
    stabilise_s: float = 120.0
    record_s: float = 60.0
    legs: int = 4
    leg_turn_s: float = 30.0
    leg_stabilise_s: float = 40.0
    climb_settle_s: float = 30.0
    climb_record_s: float = 90.0
    climb_turn_s: float = 30.0
    glide_settle_s: float = 30.0
    glide_record_s: float = 75.0
    glide_turn_s: float = 20.0
    descent_m_s: float = 700 * fpm
    descent_power_ratio: float = 0.35
    step_s: float = 5 * minute


@dataclass(frozen=True)
class Request:
    """All that decides a plan, SI. `fuel_kg` is aboard before start; `reserve_kg` stays in the tanks."""

    fit: Fit
    airplane: Airplane
    time_s: float
    fuel_kg: float
    reserve_kg: float
    taxi_fuel_kg: float
    usable_fuel_kg: float
    fuel_density_kg_m3: float
    ramp_mass_kg: float
    field_m: float
    lowest_m: float
    highest_m: float
    cruise_altitude_m: float
    cruise_power_ratio: float
    isa_deviation_k: float = 0.0
    figures: tuple[Wanted, ...] = USUAL
    accuracy: Accuracy = Accuracy()
    practice: Practice = Practice()

    @property
    def mass_kg(self) -> float:
        """The mass half way through the fuel that may be burned."""
        return self.ramp_mass_kg - max(self.fuel_kg - self.reserve_kg, 0.0) / 2
