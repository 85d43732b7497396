"""The four invented airplanes as they really are: what their handbooks were made from.

No airplane, maker, place or engine here exists. The numbers are chosen to be
plausible for their class (common practice, no source) and to contradict
nothing in physics: every printed table follows from them.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array, Floats
from flyoff.core.units import ft, hour, hp, inch, lb, rpm
from flyoff.physics import drag, engine, propeller


@dataclass(frozen=True)
class Design:
    """One airplane's physics.

    `consumption` pairs share of rated power with specific consumption [kg/J]
    in cruise; `climb_consumption_kg_j` is that of full power.
    """

    key: str
    takeoff_mass_kg: float
    wing_area_m2: float
    span_m: float
    zero_lift_drag_coefficient: float
    span_efficiency: float
    lift_coefficient_clean: float
    lift_coefficient_takeoff: float
    lift_coefficient_landing: float
    law: Literal["normal", "turbocharged", "compression"]
    rated_power_w: float
    rated_rotation_speed_hz: float
    critical_altitude_m: float
    propeller_diameter_m: float
    figure_of_merit: float
    consumption: tuple[tuple[float, float], ...]
    climb_consumption_kg_j: float

    @property
    def drag_area_m2(self) -> float:
        """Zero-lift drag area. [m²]."""
        return self.zero_lift_drag_coefficient * self.wing_area_m2

    @property
    def effective_span_m(self) -> float:
        """Span that drag due to lift goes by. [m]."""
        return float(drag.effective_span(self.span_m, self.span_efficiency))

    def full_power(self, pressure_altitude_m: Floats, temperature_k: Floats) -> Array:
        """Return the most power at rated speed [W]."""
        where = (self.rated_power_w, pressure_altitude_m, temperature_k)
        if self.law == "normal":
            return np.asarray(engine.full_throttle_power(*where))
        if self.law == "turbocharged":
            return np.asarray(engine.turbocharged_power(*where, self.critical_altitude_m))
        return np.asarray(engine.compression_ignition_power(*where, self.critical_altitude_m))

    def specific_consumption(self, power_ratio: Floats) -> Array:
        """Return the specific consumption in cruise [kg/J]."""
        shares, values = zip(*self.consumption, strict=True)
        return np.asarray(np.interp(power_ratio, shares, values))

    def efficiency(self, power_w: Floats, density_kg_m3: Floats, true_airspeed_m_s: Floats) -> Array:
        """Return the propeller's efficiency."""
        return np.asarray(
            propeller.constant_speed_efficiency(
                power_w, density_kg_m3, true_airspeed_m_s, self.propeller_diameter_m, self.figure_of_merit
            )
        )

    def level_speed(self, power_w: Floats, density_kg_m3: Floats, mass_kg: Floats) -> Array:
        """Return the fast level true airspeed at a shaft power [m/s]; NaN where it does not suffice."""
        speed = np.full(np.broadcast(power_w, density_kg_m3, mass_kg).shape, 65.0)
        # Efficiency depends on speed and hardly moves: the steps shrink tenfold each time.
        for _ in range(12):
            thrust_power_w = np.asarray(power_w) * self.efficiency(power_w, density_kg_m3, speed)
            speed = np.asarray(
                drag.level_speed(
                    thrust_power_w=thrust_power_w,
                    density_kg_m3=density_kg_m3,
                    mass_kg=mass_kg,
                    drag_area_m2=self.drag_area_m2,
                    effective_span_m=self.effective_span_m,
                )
            )
        return speed

    def drag_force(
        self, equivalent_airspeed_m_s: Floats, mass_kg: Floats, load_factor: Floats = 1.0
    ) -> Array:
        """Return the drag [N]."""
        return np.asarray(
            drag.level_drag(
                equivalent_airspeed_m_s=equivalent_airspeed_m_s,
                mass_kg=mass_kg,
                drag_area_m2=self.drag_area_m2,
                effective_span_m=self.effective_span_m,
                load_factor=load_factor,
            )
        )

    def stall_speed(self, lift_coefficient: float, mass_kg: float | None = None) -> float:
        """Return the equivalent airspeed of a lift coefficient, at takeoff mass by default [m/s]."""
        weight_n = (self.takeoff_mass_kg if mass_kg is None else mass_kg) * STANDARD_GRAVITY_M_S2
        return float(np.sqrt(2 * weight_n / (SEA_LEVEL_DENSITY_KG_M3 * self.wing_area_m2 * lift_coefficient)))


PER_HP_H = lb / hp / hour

VADMEL = Design(
    key="vadmel",
    takeoff_mass_kg=1310.0,
    wing_area_m2=16.6,
    span_m=11.9,
    zero_lift_drag_coefficient=0.0258,
    span_efficiency=0.80,
    lift_coefficient_clean=1.45,
    lift_coefficient_takeoff=1.65,
    lift_coefficient_landing=2.0,
    law="compression",
    rated_power_w=120e3,
    rated_rotation_speed_hz=2300 * rpm,
    critical_altitude_m=8000 * ft,
    propeller_diameter_m=1.90,
    figure_of_merit=0.885,
    consumption=((0.45, 0.372 * PER_HP_H), (0.65, 0.360 * PER_HP_H), (0.85, 0.364 * PER_HP_H)),
    climb_consumption_kg_j=0.375 * PER_HP_H,
)

KATTUN = Design(
    key="kattun",
    takeoff_mass_kg=3150 * lb,
    wing_area_m2=174.0 * ft**2,
    span_m=36.2 * ft,
    zero_lift_drag_coefficient=0.0282,
    span_efficiency=0.78,
    lift_coefficient_clean=1.50,
    lift_coefficient_takeoff=1.75,
    lift_coefficient_landing=2.15,
    law="normal",
    rated_power_w=230 * hp,
    rated_rotation_speed_hz=2700 * rpm,
    critical_altitude_m=0.0,
    propeller_diameter_m=80 * inch,
    figure_of_merit=0.87,
    consumption=((0.45, 0.445 * PER_HP_H), (0.65, 0.428 * PER_HP_H), (0.75, 0.435 * PER_HP_H)),
    climb_consumption_kg_j=0.53 * PER_HP_H,
)

MUSSELIN = Design(
    key="musselin",
    takeoff_mass_kg=1247.0,
    wing_area_m2=15.9,
    span_m=10.9,
    zero_lift_drag_coefficient=0.0222,
    span_efficiency=0.77,
    lift_coefficient_clean=1.42,
    lift_coefficient_takeoff=1.60,
    lift_coefficient_landing=1.95,
    law="normal",
    rated_power_w=200 * hp,
    rated_rotation_speed_hz=2700 * rpm,
    critical_altitude_m=0.0,
    propeller_diameter_m=1.88,
    figure_of_merit=0.87,
    consumption=((0.45, 0.432 * PER_HP_H), (0.65, 0.415 * PER_HP_H), (0.75, 0.422 * PER_HP_H)),
    climb_consumption_kg_j=0.52 * PER_HP_H,
)

DAMAST = Design(
    key="damast",
    takeoff_mass_kg=3800 * lb,
    wing_area_m2=17.6,
    span_m=11.6,
    zero_lift_drag_coefficient=0.0325,
    span_efficiency=0.79,
    lift_coefficient_clean=1.55,
    lift_coefficient_takeoff=1.85,
    lift_coefficient_landing=2.30,
    law="turbocharged",
    rated_power_w=285 * hp,
    rated_rotation_speed_hz=2500 * rpm,
    critical_altitude_m=17000 * ft,
    propeller_diameter_m=2.08,
    figure_of_merit=0.87,
    consumption=((0.45, 0.462 * PER_HP_H), (0.65, 0.452 * PER_HP_H), (0.75, 0.458 * PER_HP_H)),
    climb_consumption_kg_j=0.56 * PER_HP_H,
)

DESIGNS = {design.key: design for design in (VADMEL, KATTUN, MUSSELIN, DAMAST)}

AIRSPEED_CORRECTION_KT = ((60, 2.6), (80, 1.2), (100, 0.1), (120, -1.1), (140, -2.0), (160, -2.6))
"""Indicated airspeed and what to add for the calibrated one, of the diesel tourer as type-tested."""

AIRSPEED_CORRECTION_AS_FLOWN_KT = tuple((at, add - 0.7) for at, add in AIRSPEED_CORRECTION_KT)
"""The same of the example that the demo flies."""

VADMEL_AS_FLOWN = replace(VADMEL, zero_lift_drag_coefficient=VADMEL.zero_lift_drag_coefficient * 1.15)
"""The example that the demo flies: about four in a hundred slower than its handbook says."""
