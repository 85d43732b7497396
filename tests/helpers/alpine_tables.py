"""The handbook tables of the alpine study, printed from invented physics.

``cd tests && python -m helpers.alpine_tables`` writes them. Two of the three invented makers print
in metres, kilometres an hour and litres, the third in feet, knots and gallons. No airplane, maker
or place here exists; consumptions and powers are plausible for their class (common practice, no
source).
"""

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import numpy as np

from flyoff.core.files import write_text
from flyoff.core.units import find_unit, hp, lb, litre, metric_hp, rpm
from flyoff.demo.designs import Design
from flyoff.demo.handbook import best_climb, cruise_power, landing_distances, takeoff_distances
from flyoff.physics.atmosphere import density_at_altitude, density_ratio, temperature_at_altitude
from flyoff.physics.mixture import consumption_ratio
from flyoff.physics.optimum import best_lift_to_drag, best_lift_to_drag_speed

FOLDER = Path(__file__).parents[1] / "studies" / "alpine" / "aircraft"
G_PER_KWH = find_unit("g/kWh").factor
AVGAS_KG_M3, MOGAS_KG_M3 = 0.72 / litre, 0.745 / litre
WINDMILLING = 1.25
"""Drag area of a gliding airplane over that in cruise (common practice, no source)."""

STEINKAR = Design(
    key="steinkar", takeoff_mass_kg=980.0, wing_area_m2=13.2, span_m=10.8, zero_lift_drag_coefficient=0.0255,
    span_efficiency=0.79, lift_coefficient_clean=1.45, lift_coefficient_takeoff=1.7,
    lift_coefficient_landing=2.05, law="turbocharged", rated_power_w=115 * metric_hp,
    rated_rotation_speed_hz=2400 * rpm, critical_altitude_m=4500.0, propeller_diameter_m=1.78,
    figure_of_merit=0.87,
    consumption=((0.45, 292 * G_PER_KWH), (0.65, 284 * G_PER_KWH), (0.75, 290 * G_PER_KWH)),
    climb_consumption_kg_j=320 * G_PER_KWH,
)  # fmt: skip
COMBREL = Design(
    key="combrel", takeoff_mass_kg=1080.0, wing_area_m2=14.6, span_m=10.2, zero_lift_drag_coefficient=0.0275,
    span_efficiency=0.78, lift_coefficient_clean=1.48, lift_coefficient_takeoff=1.72,
    lift_coefficient_landing=2.1, law="normal", rated_power_w=118e3, rated_rotation_speed_hz=2700 * rpm,
    critical_altitude_m=0.0, propeller_diameter_m=1.85, figure_of_merit=0.86,
    consumption=((0.45, 272 * G_PER_KWH), (0.65, 262 * G_PER_KWH), (0.75, 268 * G_PER_KWH)),
    climb_consumption_kg_j=322 * G_PER_KWH,
)  # fmt: skip
BRINJAK = Design(
    key="brinjak", takeoff_mass_kg=2550 * lb, wing_area_m2=16.4, span_m=11.0,
    zero_lift_drag_coefficient=0.0295, span_efficiency=0.77, lift_coefficient_clean=1.5,
    lift_coefficient_takeoff=1.75, lift_coefficient_landing=2.15, law="normal", rated_power_w=180 * hp,
    rated_rotation_speed_hz=2700 * rpm, critical_altitude_m=0.0, propeller_diameter_m=1.93,
    figure_of_merit=0.87,
    consumption=((0.45, 270 * G_PER_KWH), (0.65, 259 * G_PER_KWH), (0.75, 265 * G_PER_KWH)),
    climb_consumption_kg_j=320 * G_PER_KWH,
)  # fmt: skip


@dataclass(frozen=True)
class Print:
    """How one maker prints: units, steps of print, altitudes and the share of rated speed in cruise."""

    altitude: str
    altitudes: range
    speed: str
    flow: str
    climb: tuple[str, float]
    runway: tuple[str, float]
    fuel_kg_m3: float
    cruise_mass_kg: float
    cruise_rpm: tuple[tuple[int, int], ...]


_METRIC = ("m", range(0, 4001, 500), "km/h", "L/h", ("m/s", 0.1), ("m", 5.0))
_RPM = ((55, 2400), (65, 2550), (75, 2650))
PRINTS = {
    "steinkar": (STEINKAR, Print(*_METRIC, MOGAS_KG_M3, 930.0, ((55, 2100), (65, 2200), (75, 2300)))),
    "combrel": (COMBREL, Print(*_METRIC, AVGAS_KG_M3, 1030.0, _RPM)),
    "brinjak": (
        BRINJAK,
        Print("ft", range(0, 14_001, 2000), "kt", "US gal/h", ("ft/min", 10.0), ("ft", 10.0),
              AVGAS_KG_M3, 2400 * lb, _RPM),
    ),
}  # fmt: skip


def tables(key: str) -> dict[str, str]:
    """Return the CSV text of each table that an airplane's handbook prints, by file name."""
    design, book = PRINTS[key]
    found = {
        "cruise.csv": cruise(design, book),
        "climb.csv": climb(design, book),
        "takeoff.csv": runway(design, book, takeoff_distances),
    }
    if key == "combrel":  # which alone prints two mixtures
        richer = consumption_ratio("best power", over="best economy")
        rich = tuple((share, richer * burnt) for share, burnt in design.consumption)
        found["cruise-best-power.csv"] = cruise(replace(design, consumption=rich), book)
    if key != "brinjak":  # whose handbook prints neither
        found |= {"landing.csv": runway(design, book, landing_distances), "glide.csv": glide(design)}
    return found


def cruise(design: Design, book: Print) -> str:
    """Return cruise over pressure altitude, deviation from standard and power; empty where not reached."""
    rows = []
    for altitude, deviation, (percent, shaft_rpm) in product(
        book.altitudes, (-15, 0, 15, 30), book.cruise_rpm
    ):
        altitude_m = altitude * find_unit(book.altitude).factor
        kelvin = temperature_at_altitude(altitude_m, deviation)
        power_w = float(cruise_power(design, percent / 100, shaft_rpm, altitude_m, kelvin))
        speed, flow = float("nan"), power_w * float(design.specific_consumption(percent / 100))
        if not np.isnan(power_w):
            density = density_at_altitude(altitude_m, deviation)
            speed = float(design.level_speed(power_w, density, book.cruise_mass_kg))
        printed = (speed / find_unit(book.speed).factor, flow / book.fuel_kg_m3 / find_unit(book.flow).factor)
        rows.append([altitude, deviation, percent, *printed])
    header = [f"pressure altitude [{book.altitude}]", "ISA deviation [°C]", "percent power [%]"]
    header += [f"true airspeed [{book.speed}]", f"fuel flow [{book.flow}]"]
    return text(header, (1, 1, 1, 1, 0.1), rows)


def climb(design: Design, book: Print) -> str:
    """Return the climb at full power and takeoff weight from sea level: speed, rate, time, fuel, distance."""
    factor = find_unit(book.altitude).factor
    fine = np.linspace(book.altitudes[0], book.altitudes[-1], 20 * (len(book.altitudes) - 1) + 1) * factor
    rate, speed, power_w = np.array([best_climb(design, design.takeoff_mass_kg, h) for h in fine]).T
    root = np.sqrt(np.asarray(density_ratio(fine, temperature_at_altitude(fine))))
    flow = power_w * design.climb_consumption_kg_j / book.fuel_kg_m3
    each = (1 / rate, flow / rate, np.sqrt(speed**2 - rate**2) / rate)
    time, fuel, distance = (
        np.concatenate([[0.0], np.cumsum(np.diff(fine) * (y[1:] + y[:-1]) / 2)]) for y in each
    )
    distance_unit = "km" if book.altitude == "m" else "nmi"
    volume_unit = book.flow.removesuffix("/h")
    columns = (
        ("pressure altitude", book.altitude, fine, 1),
        ("calibrated airspeed", book.speed, speed * root, 1),
        ("rate of climb", book.climb[0], rate, book.climb[1]),
        ("time", "min", time, 1),
        ("fuel", volume_unit, fuel, 0.1),
        ("distance", distance_unit, distance, 1),
    )
    header = [f"{name} [{unit}]" for name, unit, _, _ in columns]
    values = [values[::20] / find_unit(unit).factor for _, unit, values, _ in columns]
    return text(header, [step for *_, step in columns], zip(*values, strict=True))


def runway(
    design: Design, book: Print, distances: Callable[[Design, float, float, float], tuple[float, float]]
) -> str:
    """Return ground roll and total distance over altitude and deviation from standard."""
    factor, (unit, step) = find_unit(book.altitude).factor, book.runway
    rows = []
    for altitude, deviation in product(book.altitudes[:6], (-15, 0, 15, 30)):
        altitude_m = altitude * factor
        kelvin = float(temperature_at_altitude(altitude_m, deviation))
        both = distances(design, design.takeoff_mass_kg, altitude_m, kelvin)
        rows.append([altitude, deviation, *(metres / find_unit(unit).factor for metres in both)])
    header = [f"pressure altitude [{book.altitude}]", "ISA deviation [°C]"]
    header += [f"ground roll [{unit}]", f"total distance [{unit}]"]
    return text(header, (1, 1, step, step), rows)


def glide(design: Design) -> str:
    """Return the best glide, propeller windmilling, at two weights."""
    drag_area = WINDMILLING * design.drag_area_m2
    ratio = float(best_lift_to_drag(drag_area, design.effective_span_m))
    rows = []
    for mass in (round(0.8 * design.takeoff_mass_kg, -1), design.takeoff_mass_kg):
        speed = float(best_lift_to_drag_speed(mass, drag_area, design.effective_span_m))
        rows.append([mass, speed / find_unit("km/h").factor, ratio])
    return text(("weight [kg]", "calibrated airspeed [km/h]", "glide ratio"), (1, 1, 0.1), rows)


def text(header: Sequence[str], steps: Sequence[float], rows: Iterable[Sequence[float]]) -> str:
    """Return a CSV table, each column rounded to its step of print; an empty cell for no number."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([
            "" if np.isnan(value) else f"{round(value / step) * step:.{1 if step < 1 else 0}f}"
            for value, step in zip(row, steps, strict=True)
        ])  # fmt: skip
    return stream.getvalue()


def made() -> dict[str, str]:
    """Return the text of every table by its path below the study's ``aircraft``."""
    return {f"{key}/{name}": made for key in PRINTS for name, made in tables(key).items()}


if __name__ == "__main__":
    for path, words in made().items():
        write_text(FOLDER / path, words)
