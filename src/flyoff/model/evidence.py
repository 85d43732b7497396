"""What is known of an airplane as one list: each printed or flown value with its condition and its doubt."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeAlias

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.draws import COVERAGE_95
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import fpm, hour, hp, lb
from flyoff.dossier.read import Dossier
from flyoff.dossier.tables import Table
from flyoff.model.configuration import CLEAN, Configuration
from flyoff.model.parameters import Known
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.engine import gagg_farrar_ratio
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction

Kind: TypeAlias = Literal[
    "speed at power",
    "speed at fuel flow",
    "fuel flow",
    "full-throttle speed",
    "rate of climb",
    "rate at fuel flow",
    "climb fuel",
    "climb time",
    "glide ratio",
    "sink rate",
    "rotation speed",
]
Evidence: TypeAlias = Literal["handbook", "flight"]
_NONE = float("nan")
_STEPS = (5, 10, 50, 100)
_ENOUGH = 6
_SPEED_PER_POWER = 0.4
"""Relative change of level speed per relative change of power: a third where drag is all parasite."""
AIR_RISING_U_M_S = 20 * fpm
"""[m/s] Standard uncertainty of a rate for air that rises or sinks unseen; common practice, no source."""
_PART_POWER = 0.9
"""A climb that burns less than this share of what full power would, leaned, is one at cruise power."""
_LEAST_POWERED = 0.3
"""Least share of rated power that a fuel flow can tell: below it consumption is not known."""
_TYPICAL_EFFICIENCY = 0.8
IDLE_SHARE = 0.2
"""A glide burns less than this share of the fuel flow of rated power; common practice, no source."""
IDLE_ABOVE_LEAST = 1.15
"""A glide burns no more than this times the least flow of all descents; common practice, no source."""


@dataclass(frozen=True)
class ClimbPath:
    """A climb table's altitudes with the speeds to hold, None for those of best rate."""

    altitudes_m: Array
    temperatures_k: Array
    mass_kg: float
    equivalent_airspeeds_m_s: Array | None


@dataclass(frozen=True)
class Observation:
    """One value in SI with its standard uncertainty, where it holds, and where it is written.

    `shared` names the errors that it has in common with other values (a flight's
    calibration, the scale of its flow meter) and what one standard uncertainty
    of each adds to its value, beyond `u`. `stream` names the draws of a printed
    value's rounding.
    """

    kind: Kind
    evidence: Evidence
    value: float
    u: float
    pressure_altitude_m: float
    temperature_k: float
    mass_kg: float
    place: Place
    text: str = ""
    half_digit: float = 0.0
    shared: tuple[tuple[str, float], ...] = ()
    power_ratio: float = _NONE
    fuel_flow_kg_s: float = _NONE
    true_airspeed_m_s: float = _NONE
    rotation_speed_hz: float = _NONE
    path: ClimbPath | None = None
    source: str | None = None
    configuration: Configuration = CLEAN
    stream: str = ""

    @property
    def u_shared(self) -> float:
        """The standard uncertainty that it shares with other values."""
        return float(np.sqrt(sum(u**2 for _, u in self.shared)))

    def __str__(self) -> str:
        """Return where it is and what it says."""
        return f"{self.place}: {self.place.field or self.kind} {self.text}".rstrip()


def handbook_observations(dossier: Dossier, known: Known, fuel_density_kg_m3: float) -> list[Observation]:
    """Return every printed value of cruise, climb and glide tables that the model can speak of."""
    found: list[Observation] = []
    readers = {"cruise": _cruise, "climb": _climb, "glide": _glide}
    for kind, reader in readers.items():
        table = dossier.tables.get(kind)
        if table is not None:
            found += reader(_Rows(table, known, fuel_density_kg_m3, dossier.airplane.source))
    return [o for o in found if np.isfinite(o.value)]


def printed_rotation(dossier: Dossier) -> tuple[tuple[float, float], ...]:
    """Return pairs of power share and the propeller's speed that the cruise table prints with it [Hz]."""
    table = dossier.tables.get("cruise")
    if table is None:
        return ()
    rows = _Rows(table, None, 1.0)
    share, speed = rows.column("percent power"), rows.column("rpm")
    if share is None or speed is None:
        return ()
    known = np.isfinite(share) & np.isfinite(speed)
    shares = np.round(share[known], 3)
    return tuple((float(s), float(np.mean(speed[known][shares == s]))) for s in np.unique(shares))


class _Rows:
    """A table's grid as rows: axes and results alike as columns in SI."""

    def __init__(
        self, table: Table, known: Known | None, fuel_density_kg_m3: float, source: str | None = None
    ) -> None:
        self.table, self.known, self.density = table, known, fuel_density_kg_m3
        page = f", p. {table.record.page}" if table.record.page else ""
        self.source = f"{table.record.source or source}{page}"
        mesh = np.meshgrid(*(axis.si for axis in table.axes), indexing="ij")
        self.axes = {axis.name: grid.ravel() for axis, grid in zip(table.axes, mesh, strict=True)}
        self.size = table.lines.size
        self.order = np.argsort(table.lines)
        self.altitude_m = self._or("pressure altitude", 0.0)
        self.temperature_k = self._temperature()
        record = table.record.weight
        takeoff = known.takeoff_mass_kg if known else _NONE
        self.mass_kg = self._or("weight", record.si if record else takeoff)
        # a climb's consumption at full power is a parameter of its own, whatever the mixture
        mixture = (table.record.mixture or "") if table.record.kind == "cruise" else ""
        flaps = table.record.flaps
        self.configuration = Configuration(table.record.gear == "down", flaps.si if flaps else 0.0, mixture)

    def column(self, name: str) -> Array | None:
        if name in self.axes:
            return self.axes[name]
        return self.table.results[name].si if name in self.table.results else None

    def half_digit(self, name: str) -> Array:
        """Return half of the step that a column is printed in: 5 ft/min where all rates end in 0."""
        if name not in self.table.results:
            return np.zeros(self.size)
        column = self.table.results[name]
        return column.half_digit_si * column.digits_in_step

    def _or(self, name: str, otherwise: float) -> Array:
        found = self.column(name)
        return np.full(self.size, otherwise) if found is None else found

    def _temperature(self) -> Array:
        given = self.column("temperature")
        if given is not None:
            return given
        record = self.table.record.isa_deviation
        deviation = self._or("ISA deviation", record.si if record else 0.0)
        return np.asarray(temperature_at_altitude(self.altitude_m, deviation))

    def where(self, i: int) -> str:
        """Return the axis values of a row, as `Corner.where` has them."""
        return ";".join(f"{self.axes[axis.name][i]:.9g}" for axis in self.table.axes)

    def mass_of(self, name: str) -> float:
        """Return the factor from a fuel column's SI to mass."""
        volume = self.table.results[name].dimension in {"volume", "volume_flow"}
        return self.density if volume else 1.0

    def observation(self, i: int, kind: Kind, name: str, factor: float = 1.0, **more: Any) -> Observation:
        column = self.table.results[name]
        half_digit = float(self.half_digit(name)[i]) * factor
        value = float(column.si[i]) * factor
        line = int(self.table.lines[i])
        u = np.hypot(half_digit / 3**0.5, more.pop("u_more", 0.0))
        return Observation(
            kind, "handbook", value, float(u), float(self.altitude_m[i]), float(self.temperature_k[i]),
            float(self.mass_kg[i]), Place(self.table.file, line, name),
            self.table.printed(name, line), half_digit, source=self.source,
            configuration=self.configuration, stream=f"{self.table.file}#{name}#{self.where(i)}", **more,
        )  # fmt: skip


def _power_ratio(rows: _Rows) -> tuple[Array, Array] | None:
    """Return the share of rated power of each row and half of its last digit."""
    share = rows.column("percent power")
    if share is not None:
        return share, rows.half_digit("percent power")
    power = rows.column("power")
    assert rows.known is not None
    if power is None:
        return None
    return power / rows.known.rated_power_w, rows.half_digit("power") / rows.known.rated_power_w


def _cruise(rows: _Rows) -> Iterator[Observation]:
    results, share = rows.table.results, _power_ratio(rows)
    flow = rows.column("fuel flow")
    speed_hz = rows._or("rpm", _NONE)
    for i in rows.order:
        if share is not None and np.isfinite(share[0][i]):
            ratio = float(share[0][i])
            doubt = float(share[1][i]) / 3**0.5 / ratio
            where = {"power_ratio": ratio, "rotation_speed_hz": float(speed_hz[i])}
            if "true airspeed" in results:
                more = _SPEED_PER_POWER * doubt * float(results["true airspeed"].si[i])
                yield rows.observation(i, "speed at power", "true airspeed", u_more=more, **where)
            if "fuel flow" in results and flow is not None:
                factor = rows.mass_of("fuel flow")
                more = doubt * float(flow[i]) * factor
                yield rows.observation(i, "fuel flow", "fuel flow", factor, u_more=more, **where)
        elif share is None and flow is not None and "true airspeed" in results:
            factor = rows.mass_of("fuel flow") if "fuel flow" in results else rows.density
            doubt = float(rows.half_digit("fuel flow")[i] / 3**0.5 / flow[i])
            more = _SPEED_PER_POWER * doubt * float(results["true airspeed"].si[i])
            where = {"fuel_flow_kg_s": float(flow[i]) * factor}
            yield rows.observation(i, "speed at fuel flow", "true airspeed", u_more=more, **where)
        if rows.known and rows.known.propeller == "fixed pitch" and "rpm" in results and share is not None:
            yield rows.observation(i, "rotation speed", "rpm", power_ratio=float(share[0][i]))


def _climb(rows: _Rows) -> Iterator[Observation]:
    results = rows.table.results
    speed = rows.column("calibrated airspeed")
    if speed is None:
        speed = rows.column("indicated airspeed")
    sigma = np.asarray(density_ratio(rows.altitude_m, rows.temperature_k))
    true = np.full(rows.size, _NONE) if speed is None else speed / np.sqrt(sigma)
    for i in rows.order:
        if "rate of climb" in results:
            yield rows.observation(i, "rate of climb", "rate of climb", true_airspeed_m_s=float(true[i]))
    if rows.table.axis_names != ("pressure altitude",):
        return
    path = ClimbPath(rows.altitude_m, rows.temperature_k, float(rows.mass_kg[0]), speed)
    sums: list[tuple[Kind, str, float]] = []
    if "fuel" in results:
        sums.append(("climb fuel", "fuel", rows.mass_of("fuel")))
    if "time" in results and "rate of climb" not in results:
        sums.append(("climb time", "time", 1.0))
    for kind, name, factor in sums:
        for i in range(1, rows.size):
            found = rows.observation(i, kind, name, factor)
            # a sum printed from a rounded start carries the rounding of both ends
            yield Observation(**{**vars(found), "path": path, "u": found.u * 2**0.5})


def _glide(rows: _Rows) -> Iterator[Observation]:
    results = rows.table.results
    speed = rows.column("calibrated airspeed")
    if speed is None:
        speed = rows.column("indicated airspeed")
    for i in rows.order:
        eas = _NONE if speed is None else float(speed[i])
        sigma = float(density_ratio(float(rows.altitude_m[i]), float(rows.temperature_k[i])))
        true = eas / sigma**0.5
        if "glide ratio" in results:
            yield rows.observation(i, "glide ratio", "glide ratio", true_airspeed_m_s=true)
        elif "rate of descent" in results and np.isfinite(eas):
            yield rows.observation(i, "sink rate", "rate of descent", true_airspeed_m_s=true)


def flight_observations(
    reduction: Reduction, known: Known, fuel_density_kg_m3: float
) -> tuple[list[Observation], tuple[str, ...]]:
    """Return what the points of a flight say, and why the others say nothing.

    A climb counts as flown at full power unless its fuel flow says otherwise, a descent at idle
    fuel flow as a glide. Climbs and descents at cruise power weigh thrust against weight: with
    level flight they tell drag from power (the incremental drag method, SFTE Reference
    Handbook, 2013, ch. 11).
    """
    found: list[Observation] = []
    said: list[str] = []
    speeds = [p.air.true_airspeed.u for p in reduction.points if p.air.true_airspeed is not None]
    shared = min(speeds, default=0.0)
    idle_kg_s = _idle_flow(reduction, known, fuel_density_kg_m3)
    for number, point in enumerate(reduction.points, 1):
        if any("turn" in flag or "drift" in flag for flag in point.flags):
            said.append(f"condition {number}: left out: {', '.join(point.flags)}")
            continue
        observation = _flown(point, reduction, known, fuel_density_kg_m3, shared, idle_kg_s)
        if isinstance(observation, str):
            said.append(f"condition {number}: {observation}")
        else:
            found.append(observation)
    return found, tuple(said)


def _flown(
    point: Point,
    reduction: Reduction,
    known: Known,
    fuel_density_kg_m3: float,
    shared: float,
    idle_kg_s: float,
) -> Observation | str:
    altitude, speed, temperature = point.pressure_altitude, point.air.true_airspeed, point.air.temperature
    if altitude is None or speed is None or temperature is None:
        return "no pressure altitude, true airspeed or temperature"
    mass_kg = known.takeoff_mass_kg if point.mass_kg is None else point.mass_kg
    kind, rate, flight = point.condition.kind, point.steady_rate, reduction.flight
    volume, own_flow, scale = _flow(point, reduction)
    flow_kg_s = volume * fuel_density_kg_m3
    plain = Observation(
        "rate of climb", "flight", _NONE, _NONE, altitude.value, temperature.value, mass_kg,
        _place(reduction, point), kind, fuel_flow_kg_s=flow_kg_s,
        rotation_speed_hz=_NONE if point.rpm is None else point.rpm.value, source=flight.card.source,
    )  # fmt: skip
    shared_flow = f"{flight.name}#fuel flow"
    own = point.condition
    mixture = point.mixture or flight.card.airplane.mixture or ""
    set_as = Configuration(own.gear_down, own.flaps_rad, mixture, own.is_feathered)
    if kind == "level":
        if not flow_kg_s > 0:
            return "level without a fuel flow: no power is known"
        per_flow = _SPEED_PER_POWER * speed.value
        u_own = max(speed.u**2 - shared**2, (0.1 * shared) ** 2) ** 0.5
        together = ((f"{flight.name}#airspeed", shared), (shared_flow, per_flow * scale))
        u = float(np.hypot(u_own, per_flow * own_flow))
        known_parts = tuple(part for part in together if part[1] > 0)
        level = replace(plain, kind="speed at fuel flow", text="level speed", configuration=set_as)
        return replace(level, value=speed.value, u=u, shared=known_parts)
    if rate is None:
        return f"a {kind} without a rate"
    u_rate = float(np.hypot(rate.u, AIR_RISING_U_M_S))
    plain = replace(plain, value=abs(rate.value), u=u_rate, true_airspeed_m_s=speed.value)
    full = kind == "climb" and not _is_part_power(flow_kg_s, plain, known)
    if full or (kind == "descent" and (own.is_feathered or flow_kg_s <= idle_kg_s)):
        plain = replace(plain, configuration=set_as._replace(mixture=""))
        unpowered = replace(plain, fuel_flow_kg_s=_NONE, rotation_speed_hz=_NONE)
        return unpowered if full else replace(unpowered, kind="sink rate", text="glide")
    if not flow_kg_s >= _LEAST_POWERED * _typical_consumption(known) * known.rated_power_w:
        return f"a {kind} with too little power to know it by its fuel flow, and too much for a glide"
    per_flow = _TYPICAL_EFFICIENCY * flow_kg_s / _typical_consumption(known)
    per_flow = per_flow / (mass_kg * STANDARD_GRAVITY_M_S2)
    return replace(
        plain, kind="rate at fuel flow", value=rate.value, text=f"{kind} under power",
        u=float(np.hypot(u_rate, per_flow * own_flow)),
        shared=((shared_flow, per_flow * scale),) if scale > 0 else (), configuration=set_as,
    )  # fmt: skip


def _place(reduction: Reduction, point: Point) -> Place:
    """Return the first line of the log that a point rests on, the log beside its flight file."""
    folder, slash, _ = reduction.flight.name.rpartition("/")
    place = reduction.place(point)
    return Place(f"{folder}{slash}{place.file}", place.line, place.field)


def _flow(point: Point, reduction: Reduction) -> tuple[float, float, float]:
    """Return a point's fuel flow [m³/s], its own relative doubt, and that of the meter's scale in common."""
    if point.fuel_flow is None:
        return _NONE, 0.0, 0.0
    if point.fuel_flow.value <= 0:
        return 0.0, 0.0, 0.0
    stated = reduction.flight.card.instruments.fuel_flow_u95
    relative = point.fuel_flow.u / point.fuel_flow.value
    scale = 0.0 if stated is None else min(stated.si / COVERAGE_95, relative)
    return point.fuel_flow.value, float((relative**2 - scale**2) ** 0.5), scale


def _typical_consumption(known: Known) -> float:
    stated = known.specific_consumption_kg_j
    return stated or (0.37 if known.ignition == "compression" else 0.43) * lb / hp / hour


def _is_part_power(flow_kg_s: float, climb: Observation, known: Known) -> bool:
    """Tell whether a climb burns clearly less than full power would, even leaned; a flow unknown is full."""
    base_m = (known.critical_altitude_m or 5000.0) if known.turbocharged else 0.0
    base = density_ratio(base_m, float(temperature_at_altitude(base_m)))
    ratio = float(density_ratio(climb.pressure_altitude_m, climb.temperature_k) / base)
    full_w = known.rated_power_w * float(gagg_farrar_ratio(min(ratio, 1.0)))
    return flow_kg_s < _PART_POWER * _typical_consumption(known) * full_w


def _idle_flow(reduction: Reduction, known: Known, fuel_density_kg_m3: float) -> float:
    """Return the fuel flow up to which a descent is a glide: near the flight's least, and small [kg/s]."""
    flows = [p.fuel_flow.value for p in reduction.points if p.condition.kind == "descent" and p.fuel_flow]
    most = IDLE_SHARE * 0.43 * lb / hp / hour * known.rated_power_w
    return min(IDLE_ABOVE_LEAST * min(flows, default=0.0) * fuel_density_kg_m3, most)


def equivalent(observation: Observation) -> float:
    """Return the equivalent airspeed that an observation was made at or found [m/s]; NaN for none."""
    speeds = {"speed at power", "speed at fuel flow", "full-throttle speed"}
    true = observation.value if observation.kind in speeds else observation.true_airspeed_m_s
    density = SEA_LEVEL_DENSITY_KG_M3 * float(
        density_ratio(observation.pressure_altitude_m, observation.temperature_k)
    )
    return float(true * np.sqrt(density / SEA_LEVEL_DENSITY_KG_M3))
