"""Engine power of each point by the handbook's chart, by manifold pressure and by fuel flow, side by side.

Sources: SFTE Reference Handbook (2013), 10.2. Uncertainties of the ways
themselves are common practice, no source.
"""

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from flyoff.core.constants import SEA_LEVEL_PRESSURE_PA
from flyoff.core.units import hp, inhg, rpm
from flyoff.dossier.tables import Table
from flyoff.physics.atmosphere import temperature_at_altitude, temperature_deviation
from flyoff.physics.engine import power_at_manifold_pressure
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.points import Point
from flyoff.reduction.statistics import Estimate

CHART_U = 0.02
LAW_U = 0.08
RECORD_U = 0.03
MANIFOLD_U_PA = 0.2 * inhg
SPEED_U_HZ = 10 * rpm
RATED_MANIFOLD_SHARE = 0.96
"""Manifold pressure at full throttle over that of the air: losses of the intake, little ram."""
FRICTION_PRESSURE_PA = 5.1 * inhg
"""From the two sea-level readings of SFTE Reference Handbook, Fig. 10.2a: 210 hp and 158 hp at 24.3 inHg."""


@dataclass(frozen=True)
class PowerReading:
    """A power by one way and what it rests on.

    Ways are ``recorded share``, ``chart``, ``manifold pressure`` and ``fuel flow``.
    """

    way: str
    power_w: Estimate
    basis: str


@dataclass(frozen=True)
class Powers:
    """All powers of a point, the surest first; `conflict` where two disagree beyond their uncertainty."""

    readings: tuple[PowerReading, ...] = ()
    conflict: str = ""

    @property
    def best(self) -> PowerReading | None:
        """The reading with the smallest uncertainty."""
        return self.readings[0] if self.readings else None

    @property
    def by_levers(self) -> PowerReading | None:
        """The surest reading that does not rest on the fuel flow."""
        return next((r for r in self.readings if r.way != "fuel flow"), None)


def powers_of(point: Point, airplane: Airplane) -> Powers:
    """Return what each way says of a point's power."""
    ways = (
        _by_record(point, airplane),
        _by_chart(point, airplane),
        _by_manifold(point, airplane),
        _by_flow(point, airplane),
    )
    readings = sorted((way for way in ways if way is not None), key=lambda r: r.power_w.u)
    return Powers(tuple(readings), _conflict(readings))


def _conflict(readings: list[PowerReading]) -> str:
    said = []
    for one, other in combinations(readings, 2):
        apart = one.power_w.value - other.power_w.value
        u95 = math.hypot(one.power_w.u95, other.power_w.u95)
        if abs(apart) > u95:
            said.append(
                f"power by {one.way} is {apart / hp:+.0f} hp from {other.way}, beyond ± {u95 / hp:.0f} hp"
            )
    return "; ".join(said)


def _by_record(point: Point, airplane: Airplane) -> PowerReading | None:
    share = point.readings.mean("power_percent")
    if share is None or airplane.rated_power_w is None or share.value <= 0:
        return None
    power = share.scaled(airplane.rated_power_w).widened(RECORD_U * share.value * airplane.rated_power_w)
    return PowerReading("recorded share", power, "share of rated power as the engine's own computer shows it")


def _by_chart(point: Point, airplane: Airplane) -> PowerReading | None:
    table = airplane.tables.get("power")
    if table is None or point.pressure_altitude is None or point.air.temperature is None:
        return None
    altitude_m, temperature_k = point.pressure_altitude.value, point.air.temperature.value
    where = {
        "pressure_altitude": altitude_m,
        "rpm": None if point.rpm is None else point.rpm.value,
        "manifold_pressure": None if point.manifold_pressure is None else point.manifold_pressure.value,
        "temperature": temperature_k,
        "ISA_deviation": float(temperature_deviation(altitude_m, temperature_k)),
    }
    asked = [name.replace(" ", "_") for name in table.axis_names]
    if any(where.get(name) is None for name in asked):
        return None
    known = {name: value for name in asked if (value := where[name]) is not None}
    read = _chart(table, known, airplane)
    if read is None or math.isnan(read[0]):
        return None
    parts = [read[1] / math.sqrt(3), CHART_U * read[0]]
    for name, step in (("manifold_pressure", MANIFOLD_U_PA), ("rpm", SPEED_U_HZ)):
        parts += [_sensitivity(table, known, airplane, name, step, read[0])] if name in known else []
    power = read[0]
    if "temperature" not in known and "ISA_deviation" not in known and airplane.is_throttled:
        printed = table.record.isa_deviation
        reference = float(temperature_at_altitude(altitude_m)) + (printed.si if printed else 0.0)
        power = power * math.sqrt(reference / temperature_k)
    return PowerReading(
        "chart", Estimate(power, math.hypot(*parts)), f"{table.file}, {table.record.page}".rstrip(", ")
    )


def _chart(table: Table, where: dict[str, float], airplane: Airplane) -> tuple[float, float] | None:
    """Return the chart's power and half of its last digit."""
    if "power" in table.results:
        name, scale = "power", 1.0
    elif "percent power" in table.results and airplane.rated_power_w is not None:
        name, scale = "percent power", airplane.rated_power_w
    else:
        return None
    half_digit = float(np.nanmax(table.results[name].half_digit_si))
    return float(table.read(name, **where)) * scale, half_digit * scale


def _sensitivity(
    table: Table, where: dict[str, float], airplane: Airplane, name: str, step: float, power_w: float
) -> float:
    """Return the change of the chart's power for a change of one reading; 0 at the chart's edge."""
    for sign in (1, -1):
        moved = _chart(table, {**where, name: where[name] + sign * step}, airplane)
        if moved is not None and not math.isnan(moved[0]):
            return abs(moved[0] - power_w)
    return 0.0


def _by_manifold(point: Point, airplane: Airplane) -> PowerReading | None:
    pressure, speed, altitude = point.manifold_pressure, point.rpm, point.pressure_altitude
    rated_w, rated_hz = airplane.rated_power_w, airplane.rated_speed_hz
    temperature = point.air.temperature
    if (
        pressure is None or speed is None or altitude is None or temperature is None
        or rated_w is None or rated_hz is None or not airplane.is_throttled
    ):  # fmt: skip
        return None
    rated_pa = RATED_MANIFOLD_SHARE * SEA_LEVEL_PRESSURE_PA

    def power(manifold_pa: float, speed_hz: float) -> float:
        return float(
            power_at_manifold_pressure(
                manifold_pressure_pa=min(max(manifold_pa, FRICTION_PRESSURE_PA), rated_pa),
                rotation_speed_hz=speed_hz,
                pressure_altitude_m=altitude.value,
                temperature_k=temperature.value,
                rated_power_w=rated_w,
                rated_rotation_speed_hz=rated_hz,
                rated_manifold_pressure_pa=rated_pa,
                friction_pressure_pa=FRICTION_PRESSURE_PA,
            )
        )

    if speed.value <= 0.2 * rated_hz or pressure.value <= FRICTION_PRESSURE_PA + MANIFOLD_U_PA:
        return None
    value = power(pressure.value, speed.value)
    parts = (
        power(pressure.value + MANIFOLD_U_PA, speed.value) - value,
        power(pressure.value, speed.value + SPEED_U_HZ) - value,
        LAW_U * value,
    )
    return PowerReading(
        "manifold pressure", Estimate(value, math.hypot(*parts)), "law of manifold pressure and speed"
    )


def _by_flow(point: Point, airplane: Airplane) -> PowerReading | None:
    flow, density, consumption = point.fuel_flow, airplane.fuel_density_kg_m3, airplane.consumption_kg_j
    if flow is None or density is None or consumption is None or flow.value <= 0:
        return None
    value = flow.value * density / consumption.value
    u = value * math.hypot(flow.u / flow.value, consumption.u / consumption.value)
    return PowerReading(
        "fuel flow", Estimate(value, u), f"specific consumption: {airplane.consumption_basis}"
    )


@dataclass(frozen=True)
class EnginePoint:
    """Fuel flow and power of one point; the consumption rests on a power that is not by fuel flow."""

    point: int
    kind: str
    mixture: str
    powers: Powers
    fuel_flow: Estimate | None
    consumption_kg_j: Estimate | None


def engine_points(
    points: tuple[Point, ...], powers: list[Powers], airplane: Airplane
) -> tuple[EnginePoint, ...]:
    """Return the points that show fuel flow or power, ordered by mixture, then by fuel flow."""
    found = []
    for index, (point, own) in enumerate(zip(points, powers, strict=True)):
        if point.fuel_flow is None and own.best is None:
            continue
        mixture = point.mixture or airplane.mixture or "not noted"
        consumption = _consumption(point, own, airplane)
        found.append(EnginePoint(index, point.condition.kind, mixture, own, point.fuel_flow, consumption))
    return tuple(sorted(found, key=lambda e: (e.mixture, e.fuel_flow.value if e.fuel_flow else 0.0)))


def _consumption(point: Point, powers: Powers, airplane: Airplane) -> Estimate | None:
    flow, density, power = point.fuel_flow, airplane.fuel_density_kg_m3, powers.by_levers
    if flow is None or density is None or power is None or flow.value <= 0:
        return None
    if power.power_w.value <= power.power_w.u95:  # a glide's power is nothing that fuel can be divided by
        return None
    value = flow.value * density / power.power_w.value
    return Estimate(value, value * math.hypot(flow.u / flow.value, power.power_w.u / power.power_w.value))
