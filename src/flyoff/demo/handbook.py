"""The demo's handbook tables: an invented airplane's physics, printed as handbooks print.

The files under ``files/`` hold exactly what `tables` returns; a test keeps
them so. Runway distances use the textbook's mean-acceleration method, with
factors that are common practice, no source. The tables are for the demo, not for
flight planning or operational use.
"""

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.optimize import brentq

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.typing import Array, Floats
from flyoff.core.units import celsius, find_unit, fpm, ft, hp, inhg, kt, lb, litre, minute, nmi, rpm
from flyoff.demo.designs import AIRSPEED_CORRECTION_KT, DAMAST, KATTUN, MUSSELIN, VADMEL, Design
from flyoff.physics.atmosphere import (
    density_at_altitude,
    density_ratio,
    pressure_at_altitude,
    temperature_at_altitude,
)
from flyoff.physics.engine import power_at_manifold_pressure
from flyoff.physics.optimum import best_lift_to_drag, best_lift_to_drag_speed

AVGAS_KG_M3 = 0.72 / litre
JET_KG_M3 = 0.80 / litre
RATED_MANIFOLD_PRESSURE_PA = 29.0 * inhg
FRICTION_PRESSURE_PA = 5.0 * inhg
_RUNWAY_ALTITUDES_FT = (0, 2000, 4000, 6000)
_ROLLING_SHARE, _CLIMBING_SHARE = 0.84, 0.94
_OBSTACLE_M = 50 * ft
_ROLLING_FRICTION, _BRAKING_FRICTION = 0.04, 0.30
_GROUND_LIFT_COEFFICIENT, _GEAR_AND_FLAP_DRAG = 0.5, 1.25
_LEAST_CLIMB_M_S = 100 * fpm


@dataclass(frozen=True)
class Handbook:
    """How one maker prints: weights, grids and units. `rpm_at` pairs percent power with cruise rpm."""

    design: Design
    cruise_mass_kg: float
    fuel_density_kg_m3: float
    rpm_at: tuple[tuple[int, int], ...]
    altitudes_ft: tuple[int, ...]
    speed: str = "kt"
    flow: str = "gal/h"
    distance: str = "ft"
    fuel: str = "gal"
    deviations_c: tuple[int, ...] = (-20, 0, 20)
    manifold_pressure: bool = False
    climb_to_ft: int = 14_000
    runway_temperature: bool = False
    runway_masses: tuple[str, ...] = ()
    glide_weights: tuple[str, ...] = ()


_TO_12 = tuple(range(0, 12_001, 2_000))
_TO_14 = tuple(range(0, 14_001, 2_000))
_TO_16 = tuple(range(0, 16_001, 2_000))
_TO_20 = tuple(range(0, 20_001, 2_000))

HANDBOOKS = {
    "vadmel": Handbook(
        VADMEL, 1240.0, JET_KG_M3,
        ((45, 1800), (55, 1900), (65, 2000), (75, 2100), (85, 2200), (95, 2300)), _TO_16,
        flow="L/h", distance="m", fuel="L", runway_temperature=True,
        glide_weights=("1,000 kg", "1,310 kg"),
    ),
    "kattun": Handbook(
        KATTUN, 3000 * lb, AVGAS_KG_M3, ((45, 2250), (55, 2350), (65, 2450), (75, 2550)), _TO_14,
        manifold_pressure=True, runway_temperature=True, runway_masses=("2,800 lb", "3,150 lb"),
        glide_weights=("2,400 lb", "3,150 lb"),
    ),
    "musselin": Handbook(
        MUSSELIN, 1200.0, AVGAS_KG_M3, ((55, 2350), (65, 2450), (75, 2550)), _TO_12,
        speed="km/h", flow="L/h", distance="m", fuel="L",
    ),
    "damast": Handbook(
        DAMAST, 3600 * lb, AVGAS_KG_M3, ((55, 2200), (65, 2300), (75, 2400)), _TO_20, climb_to_ft=20_000,
    ),
}  # fmt: skip


def tables(key: str) -> dict[str, str]:
    """Return the CSV text of each handbook table of an airplane, by file name."""
    book = HANDBOOKS[key]
    found = {
        "cruise.csv": _cruise(book),
        "takeoff.csv": _runway(book, takeoff_distances),
        "landing.csv": _runway(book, landing_distances),
        "climb.csv": _climb(book),
    }
    if book.manifold_pressure:
        found["power.csv"] = _power(book)
    if key == "vadmel":
        rows = [(at, at + add) for at, add in AIRSPEED_CORRECTION_KT]
        found["airspeed.csv"] = _text(("indicated airspeed [kt]", "calibrated airspeed [kt]"), (1, 1), rows)
    if book.glide_weights:
        found["glide.csv"] = _glide(book)
    return found


def _printed(value: float, step: float) -> str:
    """Return a number rounded to a step as print shows it; nothing for no number."""
    if np.isnan(value):
        return ""
    decimals = max(0, int(np.ceil(-np.log10(step) - 1e-9)))
    return f"{round(value / step) * step:.{decimals}f}"


def _text(header: Sequence[str], steps: Sequence[float], rows: Iterable[Sequence[float]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([_printed(float(value), step) for value, step in zip(row, steps, strict=True)])
    return stream.getvalue()


def cruise_power(
    design: Design, share: Floats, shaft_rpm: Floats, altitude_m: Floats, kelvin: Floats
) -> Array:
    """Return a share of rated power [W], NaN where the engine cannot give it at that speed of rotation."""
    wanted_w = np.asarray(share) * design.rated_power_w
    limit_w = design.full_power(altitude_m, kelvin)
    if design.law == "normal":
        limit_w = limit_w * np.asarray(shaft_rpm) * rpm / design.rated_rotation_speed_hz
    return np.where(wanted_w <= limit_w, wanted_w, np.nan)


def _cruise(book: Handbook) -> str:
    design = book.design
    percents, speeds = zip(*book.rpm_at, strict=True)
    grid = np.meshgrid(book.altitudes_ft, book.deviations_c, percents, indexing="ij")
    altitude_ft, deviation, percent = (axis.ravel().astype(float) for axis in grid)
    shaft_rpm = np.interp(percent, percents, speeds)
    altitude_m = altitude_ft * ft
    kelvin = np.asarray(temperature_at_altitude(altitude_m, deviation))
    power_w = cruise_power(design, percent / 100, shaft_rpm, altitude_m, kelvin)
    reached = ~np.isnan(power_w)
    density = np.asarray(density_at_altitude(altitude_m, deviation))
    speed = np.full_like(altitude_m, np.nan)
    speed[reached] = design.level_speed(power_w[reached], density[reached], book.cruise_mass_kg)
    flow = power_w * design.specific_consumption(percent / 100) / book.fuel_density_kg_m3
    header = ["pressure altitude [ft]", "ISA deviation [°C]", "percent power [%]", "rpm [rpm]"]
    columns, steps = [altitude_ft, deviation, percent, np.where(reached, shaft_rpm, np.nan)], [1.0, 1, 1, 10]
    if book.manifold_pressure:
        header.append("manifold pressure [inHg]")
        columns.append(_manifold_pressures(design, power_w, shaft_rpm, altitude_m, kelvin) / inhg)
        steps.append(0.1)
    header += [f"true airspeed [{book.speed}]", f"fuel flow [{book.flow}]"]
    columns += [speed / find_unit(book.speed).factor, flow / find_unit(book.flow).factor]
    steps += [1, 0.1 if book.flow == "gal/h" else 0.5]
    return _text(header, steps, zip(*columns, strict=True))


def _manifold_power(
    design: Design, inches: Floats, shaft_rpm: Floats, altitude_m: Floats, kelvin: Floats
) -> Array:
    return np.asarray(
        power_at_manifold_pressure(
            manifold_pressure_pa=inches * inhg,
            rotation_speed_hz=shaft_rpm * rpm,
            pressure_altitude_m=altitude_m,
            temperature_k=kelvin,
            rated_power_w=design.rated_power_w,
            rated_rotation_speed_hz=design.rated_rotation_speed_hz,
            rated_manifold_pressure_pa=RATED_MANIFOLD_PRESSURE_PA,
            friction_pressure_pa=FRICTION_PRESSURE_PA,
        )
    )


def full_throttle_manifold_pressure(altitude_m: Floats) -> Array:
    """Return the manifold pressure with the throttle open, normally aspirated [Pa]."""
    here, sea_level = pressure_at_altitude(altitude_m), pressure_at_altitude(0.0)
    return np.asarray(RATED_MANIFOLD_PRESSURE_PA * np.asarray(here) / sea_level)


def _manifold_pressures(
    design: Design, power_w: Array, shaft_rpm: Array, altitude_m: Array, kelvin: Array
) -> Array:
    found = np.full_like(power_w, np.nan)
    highest = full_throttle_manifold_pressure(altitude_m) / inhg
    for i in np.flatnonzero(~np.isnan(power_w)):

        def excess(inches: float, at: int = int(i)) -> float:
            power = _manifold_power(design, inches, shaft_rpm[at], altitude_m[at], kelvin[at])
            return float(power - power_w[at])

        found[i] = brentq(excess, 8.0, float(highest[i])) * inhg
    return found


def _power(book: Handbook) -> str:
    design = book.design
    axes = ([0, 4000, 8000, 12_000], [2250, 2350, 2450, 2550], [17, 19, 21, 23, 25])
    altitude_ft, shaft_rpm, inches = (a.ravel().astype(float) for a in np.meshgrid(*axes, indexing="ij"))
    altitude_m = altitude_ft * ft
    kelvin = np.asarray(temperature_at_altitude(altitude_m))
    open_throttle = full_throttle_manifold_pressure(altitude_m) / inhg
    held = inches <= open_throttle
    power_w = np.where(
        held,
        _manifold_power(design, np.minimum(inches, open_throttle), shaft_rpm, altitude_m, kelvin),
        np.nan,
    )
    share = power_w / design.rated_power_w
    flow = power_w * design.specific_consumption(share) / book.fuel_density_kg_m3
    header = (
        "pressure altitude [ft]", "rpm [rpm]", "manifold pressure [inHg]", "percent power [%]", "power [hp]",
        "fuel flow [gal/h]",
    )  # fmt: skip
    columns = (altitude_ft, shaft_rpm, inches, share * 100, power_w / hp, flow / find_unit("gal/h").factor)
    return _text(header, (1, 10, 1, 1, 1, 0.1), zip(*columns, strict=True))


def best_climb(
    design: Design, mass_kg: float, altitude_m: float, deviation_c: float = 0.0
) -> tuple[float, float, float]:
    """Return the best rate of climb, its true airspeed [m/s] and the shaft power [W] at full power."""
    kelvin = float(temperature_at_altitude(altitude_m, deviation_c))
    density = float(density_at_altitude(altitude_m, deviation_c))
    power_w = float(design.full_power(altitude_m, kelvin))
    slowest = 1.15 * design.stall_speed(design.lift_coefficient_clean, mass_kg)
    equivalent = np.linspace(slowest, 75.0, 400)
    speed = equivalent / np.sqrt(float(density_ratio(altitude_m, kelvin)))
    thrust_power_w = power_w * design.efficiency(power_w, density, speed)
    excess_w = thrust_power_w - design.drag_force(equivalent, mass_kg) * speed
    best = int(np.argmax(excess_w))
    return float(excess_w[best]) / (mass_kg * STANDARD_GRAVITY_M_S2), float(speed[best]), power_w


def _climb(book: Handbook) -> str:
    design = book.design
    fine_m = np.arange(0, book.climb_to_ft + 1, 100, dtype=np.float64) * ft
    rate, speed, power_w = np.array([best_climb(design, design.takeoff_mass_kg, h) for h in fine_m]).T
    sigma = np.asarray(density_ratio(fine_m, temperature_at_altitude(fine_m)))
    pace = 1 / np.maximum(rate, _LEAST_CLIMB_M_S)
    flow = power_w * design.climb_consumption_kg_j / book.fuel_density_kg_m3
    ground: Array = np.sqrt(np.maximum(speed**2 - rate**2, 0.0))
    totals = [_integral(fine_m, y) for y in (pace, flow * pace, ground * pace)]
    printed = slice(None, None, 20)
    columns = [fine_m / ft, speed * np.sqrt(sigma) / kt, rate / fpm]
    columns += [
        total / unit for total, unit in zip(totals, (minute, find_unit(book.fuel).factor, nmi), strict=True)
    ]
    header = (
        "pressure altitude [ft]", "calibrated airspeed [kt]", "rate of climb [ft/min]", "time [min]",
        f"fuel [{book.fuel}]", "distance [nmi]",
    )  # fmt: skip
    steps = (1, 1, 10, 1, 0.1 if book.fuel == "gal" else 0.5, 1)
    return _text(header, steps, zip(*(column[printed] for column in columns), strict=True))


def _integral(x: Array, y: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2)])


def takeoff_distances(
    design: Design, mass_kg: float, altitude_m: float, temperature_k: float
) -> tuple[float, float]:
    """Return ground roll and total distance over 50 ft [m], no wind, level dry asphalt."""
    sigma = float(density_ratio(altitude_m, temperature_k))
    density, weight = sigma * SEA_LEVEL_DENSITY_KG_M3, mass_kg * STANDARD_GRAVITY_M_S2
    stall = design.stall_speed(design.lift_coefficient_takeoff, mass_kg) / np.sqrt(sigma)
    lift_off, screen = 1.12 * stall, 1.25 * stall
    power_w = float(design.full_power(altitude_m, temperature_k))

    def net_thrust(speed: float, share: float, resistance: float) -> float:
        # Below flying speed blades stall in part and do less than a share of the ideal.
        thrust_n = share * power_w * float(design.efficiency(power_w, density, speed)) / speed
        return thrust_n - resistance

    mean = 0.7 * lift_off
    pressure = 0.5 * density * mean**2
    air_drag = pressure * design.drag_area_m2 * _GEAR_AND_FLAP_DRAG
    wheels = _ROLLING_FRICTION * (weight - pressure * design.wing_area_m2 * _GROUND_LIFT_COEFFICIENT)
    ground = mass_kg * lift_off**2 / (2 * net_thrust(mean, _ROLLING_SHARE, air_drag + wheels))
    drag = float(design.drag_force(screen * np.sqrt(sigma), mass_kg)) * _GEAR_AND_FLAP_DRAG
    gradient = net_thrust(screen, _CLIMBING_SHARE, drag) / weight
    air = (_OBSTACLE_M + (screen**2 - lift_off**2) / (2 * STANDARD_GRAVITY_M_S2)) / gradient
    return ground, ground + air


def landing_distances(
    design: Design, mass_kg: float, altitude_m: float, temperature_k: float
) -> tuple[float, float]:
    """Return ground roll and total distance over 50 ft [m], no wind, level dry asphalt."""
    sigma = float(density_ratio(altitude_m, temperature_k))
    stall = design.stall_speed(design.lift_coefficient_landing, mass_kg) / np.sqrt(sigma)
    approach, touchdown = 1.3 * stall, 1.15 * stall
    ground = touchdown**2 / (2 * _BRAKING_FRICTION * STANDARD_GRAVITY_M_S2) + touchdown
    steepness = 0.11
    air = (_OBSTACLE_M + (approach**2 - touchdown**2) / (2 * STANDARD_GRAVITY_M_S2)) / steepness
    return ground, ground + air


def _glide(book: Handbook) -> str:
    design = book.design
    weights = [parse_quantity(text, "mass") for text in book.glide_weights]
    # A windmilling propeller brakes: a quarter more drag area, common practice, no source.
    drag_area_m2 = 1.25 * design.drag_area_m2
    ratio = float(best_lift_to_drag(drag_area_m2, design.effective_span_m))
    speeds = [
        float(best_lift_to_drag_speed(weight.si, drag_area_m2, design.effective_span_m)) for weight in weights
    ]
    header = (f"weight [{weights[0].unit.label}]", "calibrated airspeed [kt]", "glide ratio")
    return _text(
        header, (1, 1, 0.1), [(w.number, v / kt, ratio) for w, v in zip(weights, speeds, strict=True)]
    )


def _runway(book: Handbook, distances: Callable[[Design, float, float, float], tuple[float, float]]) -> str:
    temperatures = (-20, -10, 0, 10, 20, 30, 40) if book.runway_temperature else book.deviations_c
    name = "temperature" if book.runway_temperature else "ISA deviation"
    masses: list[Quantity | None] = [parse_quantity(text, "mass") for text in book.runway_masses]
    rows = []
    for altitude_ft, mass, degrees in product(_RUNWAY_ALTITUDES_FT, masses or [None], temperatures):
        altitude_m = altitude_ft * ft
        standard = float(temperature_at_altitude(altitude_m))
        kelvin = celsius(degrees) if book.runway_temperature else standard + degrees
        mass_kg = mass.si if mass else book.design.takeoff_mass_kg
        ground_m, total_m = distances(book.design, mass_kg, altitude_m, kelvin)
        factor = find_unit(book.distance).factor
        weight = [mass.number] if mass else []
        rows.append([altitude_ft, *weight, degrees, ground_m / factor, total_m / factor])
    weight_header = [f"weight [{mass.unit.label}]" for mass in masses[:1] if mass]
    header = ["pressure altitude [ft]", *weight_header, f"{name} [°C]"]
    header += [f"ground roll [{book.distance}]", f"total distance [{book.distance}]"]
    step = 5.0 if book.distance == "m" else 10.0
    return _text(header, [1.0] * (len(header) - 2) + [step, step], rows)
