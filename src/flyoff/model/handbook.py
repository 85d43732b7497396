"""What the handbook says an airplane does, read as a careful reader would.

Values are interpolated between printed ones, never beyond them: where the
handbook prints nothing there is no answer, and the reason is given. The doubt
of a value is half of its last printed digit, and what the dossier declares
besides; whether the airplane makes book is not part of it.
"""

from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.draws import COVERAGE_95, Draws
from flyoff.core.figure import Input, format_number
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import fpm, ft
from flyoff.dossier.read import Dossier, cruise_key
from flyoff.dossier.tables import Corner, Table
from flyoff.physics import atmosphere
from flyoff.physics.climb import SERVICE_CEILING_RATE_M_S, ceiling

_WEIGHT_APART = 0.02
"""Share of its weight beyond which a table is said to be used for another; common practice, no source."""
_SETTINGS = ("rpm", "manifold pressure")


@dataclass(frozen=True)
class Value:
    """A value read from the handbook: nominal, draws, and what it rests on.

    `si` is None where there is no answer; `missing` then says why.
    """

    si: float | None
    draws: Array | None
    inputs: tuple[Input, ...] = ()
    remarks: tuple[str, ...] = ()
    missing: str = ""
    extrapolated: bool = False


def sample_of(value: Value) -> Array | None:
    """Return a value with its nominal first and its draws after, or None where it is missing."""
    if value.si is None or value.draws is None:
        return None
    return np.concatenate([[value.si], value.draws])


@dataclass(frozen=True)
class Cruise:
    """Cruise at one condition: true airspeed [m/s] and fuel flow [kg/s]."""

    true_airspeed: Value
    fuel_flow: Value


@dataclass(frozen=True)
class Climb:
    """From one altitude to another: time [s], fuel [kg], distance [m]."""

    time: Value
    fuel: Value
    distance: Value


@dataclass(frozen=True)
class ClimbOut:
    """The climb at one condition: rate of climb and true airspeed [m/s]."""

    rate: Value
    true_airspeed: Value


@dataclass(frozen=True)
class Glide:
    """The glide without power: distance over height lost, and equivalent airspeed [m/s]."""

    ratio: Value
    equivalent_airspeed: Value


@dataclass(frozen=True)
class Handbook:
    """An airplane's handbook, with the fuel density that turns volumes into weights."""

    dossier: Dossier
    fuel_density_kg_m3: float
    draws: Draws

    def cruise(
        self,
        power_ratio: float,
        pressure_altitude_m: float,
        isa_deviation_k: float,
        mass_kg: float,
        *,
        mixture: str = "",
    ) -> Cruise:
        """Return cruise at a share of rated power; with the first table's mixture where none is given."""
        table = self.dossier.tables.get("cruise")
        lacking = "the handbook has no cruise table"
        if table is not None and mixture and table.record.mixture != mixture:
            printed = table.record.mixture or "no mixture that is named"
            lacking = f"{lacking} for {mixture}: it is for {printed}"
            table = self.dossier.tables.get(cruise_key(mixture))
        if table is None:
            none = Value(None, None, missing=lacking)
            return Cruise(none, none)
        entry, remarks = _enter(table, pressure_altitude_m, isa_deviation_k, mass_kg)
        where = _set_power(table, entry, power_ratio)
        wanted = f"{format_number(100 * power_ratio, 0)} % at {_altitude(pressure_altitude_m)}"
        doubt = self.dossier.airplane.cruise
        return Cruise(
            self._value(table, "true airspeed", where, remarks, wanted, doubt.speed_u95),
            self._value(table, "fuel flow", where, remarks, wanted, doubt.fuel_u95),
        )

    def speed_at_fuel_flow(
        self, fuel_flow_kg_s: float, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float
    ) -> Value:
        """Return the true airspeed [m/s] the handbook prints for a fuel flow.

        As printed: what the dossier declares to doubt of it is not counted,
        for it is the printed value that flight is asked about.
        """
        table = self.dossier.tables.get("cruise")
        if table is None:
            return Value(None, None, missing="the handbook has no cruise table")
        settings = [axis for name in ("percent power", *_SETTINGS) if (axis := table.axis(name))]
        if len(settings) != 1 or "fuel flow" not in table.results:
            lacking = "by one setting" if "fuel flow" in table.results else "with a fuel flow"
            return Value(None, None, missing=f"the cruise table is not printed {lacking}")
        axis, key = settings[0], settings[0].name.replace(" ", "_")
        where, remarks = _enter(table, pressure_altitude_m, isa_deviation_k, mass_kg)
        flows = self._in_mass(table, "fuel flow", table.read("fuel flow", **where, **{key: axis.si}))
        setting = _crossing(axis.si, flows, fuel_flow_kg_s)
        wanted = f"this fuel flow at {_altitude(pressure_altitude_m)}"
        if setting is None:
            return Value(None, None, missing=f"the handbook does not print {wanted}")
        at = {**where, key: setting}
        speed = self._value(table, "true airspeed", at, remarks, wanted, None)
        flow = self._value(table, "fuel flow", at, remarks, wanted, None)
        if speed.draws is None or flow.draws is None or flow.si is None:
            return speed
        # The printed flow that the setting was looked up by is rounded too.
        speeds = table.read("true airspeed", **where, **{key: axis.si})
        known = np.isfinite(flows) & np.isfinite(speeds)
        draws = speed.draws - _slope(flows[known], speeds[known], flow.si) * (flow.draws - flow.si)
        return Value(speed.si, draws, speed.inputs + flow.inputs, speed.remarks)

    def printed(
        self, kind: str, result: str, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float
    ) -> Value:
        """Return what a table prints at a condition, where that is all it is entered with."""
        table = self.dossier.tables.get(kind)
        if table is None:
            return Value(None, None, missing=f"the handbook has no {kind} table")
        where, remarks = _enter(table, pressure_altitude_m, isa_deviation_k, mass_kg)
        unsaid = [name for name in table.axis_names if name.replace(" ", "_") not in where]
        if unsaid:
            return Value(None, None, missing=f"the {kind} table is entered by {' and '.join(unsaid)}")
        wanted = f"{result} at {_altitude(pressure_altitude_m)}"
        return self._value(table, result, where, remarks, wanted, None)

    def climb(self, from_m: float, to_m: float, isa_deviation_k: float, mass_kg: float) -> Climb:
        """Return the climb between two pressure altitudes; the table begins at sea level."""
        table = self.dossier.tables.get("climb")
        if table is None:
            none = Value(None, None, missing="the handbook has no climb table")
            return Climb(none, none, none)
        if to_m < from_m:
            none = Value(None, None, missing="the departure lies above the altitude of the terms")
            return Climb(none, none, none)
        time, fuel, distance = (
            self._climbed(table, result, from_m, to_m, isa_deviation_k, mass_kg)
            for result in ("time", "fuel", "distance")
        )
        return Climb(time, fuel, distance)

    def climb_out(self, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float) -> ClimbOut:
        """Return the printed rate of climb, and the speed it is printed for or else the listed one."""
        at = (pressure_altitude_m, isa_deviation_k, mass_kg)
        rate = self._rate(*at)
        speed = self.printed("climb", "calibrated airspeed", *at)
        if speed.si is None:
            speed = self.listed("best_rate", "the climb table has no speed, and the dossier no best rate's")
        density = atmosphere.density_at_altitude(pressure_altitude_m, isa_deviation_k)
        return ClimbOut(rate, _scaled(speed, float(np.sqrt(SEA_LEVEL_DENSITY_KG_M3 / density))))

    def _rate(self, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return the printed rate of climb, doubted by the step that it is printed in."""
        rate = self.printed("climb", "rate of climb", pressure_altitude_m, isa_deviation_k, mass_kg)
        if rate.draws is None or rate.si is None:
            return rate
        step = self.dossier.tables["climb"].results["rate of climb"].digits_in_step
        return replace(rate, draws=rate.si + (rate.draws - rate.si) * step)

    def service_ceiling(self, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return the pressure altitude [m] at which 100 ft/min are left, by the climb table's rates.

        Beyond the table's last altitude its last two rates are carried on by no more than
        half of its height again (common practice, no source).
        """
        table = self.dossier.tables.get("climb")
        axis = table.axis("pressure altitude") if table else None
        if axis is None:
            lacking = "is not entered by altitude" if table else "is missing"
            return Value(None, None, missing=f"the climb table {lacking}")
        every = [self._rate(float(h), isa_deviation_k, mass_kg) for h in axis.si]
        known = [(h, v) for h, v in zip(axis.si, every, strict=True) if v.si is not None]
        if len(known) < 2:
            return Value(None, None, missing=every[0].missing or "the climb table prints one rate alone")
        altitudes_m = np.array([h for h, _ in known])
        rates = np.stack([s for _, value in known if (s := sample_of(value)) is not None])
        span_m = float(altitudes_m[-1] - altitudes_m[0])
        top_m = float(altitudes_m[-1] + span_m)
        fall = (rates[-1] - rates[-2]) / (altitudes_m[-1] - altitudes_m[-2])
        carried = rates[-1] + fall * (top_m - altitudes_m[-1])
        found = np.asarray(
            ceiling(np.append(altitudes_m, top_m), np.vstack([rates, carried]), SERVICE_CEILING_RATE_M_S)
        )
        inputs = tuple(dict.fromkeys(i for _, value in known[-2:] for i in value.inputs))
        remarks = tuple(dict.fromkeys(r for _, value in known for r in value.remarks))
        if not found[0] <= altitudes_m[-1] + span_m / 2:
            last = f"{format_number(float(rates[-1, 0]) / fpm, 0)} ft/min at {_altitude(altitudes_m[-1])}"
            why = f"the climb table ends at {last}, too far below the ceiling to carry it on"
            return Value(None, None, inputs, remarks, missing=why)
        beyond = bool(found[0] > altitudes_m[-1])
        if beyond:
            remarks = (
                *remarks,
                f"the last two rates carried on beyond the table, {_altitude(altitudes_m[-1])}",
            )
        return Value(float(found[0]), found[1:], inputs, remarks, extrapolated=beyond)

    def best_glide(self, mass_kg: float) -> Glide:
        """Return the printed glide ratio, and the speed at which it is had at a weight.

        The ratio of a glide does not change with weight; its speed does, with the square root.
        """
        table = self.dossier.tables.get("glide")
        if table is None:
            none = Value(None, None, missing="the handbook has no glide table")
            return Glide(none, none)
        axis, weight = table.axis("weight"), table.record.weight
        printed_kg = weight.si if weight else mass_kg
        if axis is not None:
            printed_kg = float(np.clip(mass_kg, axis.si[0], axis.si[-1]))
        ratio = self.printed("glide", "glide ratio", 0.0, 0.0, printed_kg)
        speed = self.printed("glide", "calibrated airspeed", 0.0, 0.0, printed_kg)
        if speed.si is None:
            speed = self.listed("best_glide", "the glide table has no speed, and the dossier no best glide's")
        return Glide(ratio, _scaled(speed, (mass_kg / printed_kg) ** 0.5))

    def listed(self, name: str, missing: str) -> Value:
        """Return one of the dossier's listed speeds."""
        speeds = self.dossier.airplane.speeds
        quantity: Quantity | None = getattr(speeds, name)
        if quantity is None:
            return Value(None, None, missing=missing)
        sample = self.draws.sample(quantity)
        said = () if speeds.kind == "calibrated" else (f"{quantity} is {speeds.kind}: taken as calibrated",)
        label = f"{name.replace('_', ' ')} speed"
        inputs = (Input(label, str(quantity), quantity.place, quantity.source),)
        return Value(float(sample[0]), sample[1:], inputs, said)

    def value_at(self, kind: str, result: str, where: dict[str, float], wanted: str) -> Value:
        """Return what a table prints where it is entered so; each axis in SI, its name with underscores.

        Its doubt is that of the step that the column is printed in, and of a curve between its values.
        """
        table = self.dossier.tables[kind]
        value = self._value(table, result, where, (), wanted, None)
        if value.draws is None or value.si is None:
            return value
        off = table.bend(result, **where)
        bent = off * self.draws.normal(f"{table.file}#{result}#bend") / COVERAGE_95
        rounded = (value.draws - value.si) * table.results[result].digits_in_step
        return replace(value, draws=value.si + rounded + bent)

    def _climbed(
        self, table: Table, result: str, from_m: float, to_m: float, isa_deviation_k: float, mass_kg: float
    ) -> Value:
        values = []
        for altitude_m in (max(from_m, 0.0), to_m):
            where, remarks = _enter(table, altitude_m, isa_deviation_k, mass_kg)
            wanted = f"{result} to climb to {_altitude(altitude_m)}"
            values.append(self._value(table, result, where, remarks, wanted, None))
        low, high = values
        if low.si is None or high.si is None or low.draws is None or high.draws is None:
            return Value(None, None, missing=low.missing or high.missing)
        return Value(
            high.si - low.si,
            high.draws - low.draws,
            tuple(dict.fromkeys(low.inputs + high.inputs)),
            tuple(dict.fromkeys(low.remarks + high.remarks)),
        )

    def _value(
        self,
        table: Table,
        result: str,
        where: dict[str, float] | None,
        remarks: tuple[str, ...],
        wanted: str,
        doubt: Quantity | None,
    ) -> Value:
        if result not in table.results:
            return Value(None, None, missing=f"the {table.record.kind} table has no column '{result}'")
        corners = table.corners(result, **where) if where is not None else ()
        if not corners:
            return Value(None, None, missing=f"the handbook prints no {wanted}")
        # Each printed value has its own rounding, shared by all that is read beside it; a printed
        # zero is where a climb begins, not a rounded number.
        name = f"{table.file}#{result}"
        draws = sum(
            (
                c.weight
                * (c.si + (c.half_digit_si if c.si else 0.0) * self.draws.rectangular(f"{name}#{c.where}"))
                for c in corners
            ),
            np.zeros(self.draws.count),
        )
        draws = self._in_mass(table, result, draws)
        si = float(self._in_mass(table, result, np.array(sum(c.weight * c.si for c in corners))))
        inputs = _inputs(table, result, corners, self.dossier.airplane.source)
        if doubt is not None:
            draws = draws * (
                1 + doubt.si / COVERAGE_95 * self.draws.normal(f"{self.dossier.key}#{result}#declared")
            )
            inputs = (*inputs, Input("declared doubt of the handbook", f"± {doubt}", doubt.place))
        return Value(si, draws, inputs, remarks)

    def _in_mass(self, table: Table, result: str, si: Array) -> Array:
        """Return a fuel volume as mass; anything else as it is."""
        if table.results[result].dimension in {"volume", "volume_flow"}:
            return si * self.fuel_density_kg_m3
        return si


def _scaled(value: Value, factor: float) -> Value:
    """Return a value times a factor."""
    if value.si is None or value.draws is None:
        return value
    return replace(value, si=value.si * factor, draws=value.draws * factor)


def _altitude(altitude_m: float) -> str:
    return f"{format_number(altitude_m / ft, 0)} ft"


def _inputs(table: Table, result: str, corners: tuple[Corner, ...], default_source: str) -> tuple[Input, ...]:
    source = table.record.source or default_source
    page = f", p. {table.record.page}" if table.record.page else ""
    label = f"{table.record.kind} table: {result}"
    return tuple(
        Input(label, table.printed(result, c.line), Place(table.file, c.line, result), f"{source}{page}")
        for c in corners
    )


def _enter(
    table: Table, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return where to enter a table, and what had to be assumed."""
    where: dict[str, float] = {}
    remarks: list[str] = []
    altitude_m = pressure_altitude_m
    temperature_k = float(atmosphere.temperature_at_altitude(pressure_altitude_m)) + isa_deviation_k
    if table.axis("ISA deviation"):
        where["ISA_deviation"] = isa_deviation_k
    elif table.axis("temperature"):
        where["temperature"] = temperature_k
    else:
        printed = table.record.isa_deviation.si if table.record.isa_deviation else 0.0
        if abs(printed - isa_deviation_k) > 0.05:
            altitude_m = float(atmosphere.density_altitude(pressure_altitude_m, temperature_k - printed))
            remarks.append(
                f"the {table.record.kind} table is for one temperature only: entered at the density altitude"
            )
    if table.axis("pressure altitude"):
        where["pressure_altitude"] = altitude_m
    if table.axis("weight"):
        where["weight"] = mass_kg
    elif table.record.weight and abs(mass_kg / table.record.weight.si - 1) > _WEIGHT_APART:
        unit = table.record.weight.unit
        asked = f"{format_number(unit.from_si(mass_kg), 0)} {unit.label}"
        kind = table.record.kind
        remarks.append(f"the {kind} table is for {table.record.weight}, used at {asked} without correction")
    if table.axis("wind"):
        where["wind"] = 0.0
    return where, tuple(remarks)


def _set_power(table: Table, where: dict[str, float], power_ratio: float) -> dict[str, float] | None:
    """Return `where` with the setting that gives a share of rated power, or None."""
    if table.axis("percent power"):
        return {**where, "percent_power": power_ratio}
    settings = [name for name in _SETTINGS if table.axis(name)]
    if "percent power" not in table.results or not settings:
        return None
    if len(settings) == 1:
        return _solve_setting(table, where, settings[0], power_ratio)
    # The lowest speed of rotation that gives the power: common practice, no source.
    rpm_axis = table.axis("rpm")
    for rotation_speed in rpm_axis.si if rpm_axis else ():
        found = _solve_setting(
            table, {**where, "rpm": float(rotation_speed)}, "manifold pressure", power_ratio
        )
        if found is not None:
            return found
    return None


def _solve_setting(
    table: Table, where: dict[str, float], setting: str, power_ratio: float
) -> dict[str, float] | None:
    axis = table.axis(setting)
    if axis is None:
        return None
    key = setting.replace(" ", "_")
    ratios = table.read("percent power", **where, **{key: axis.si})
    found = _crossing(axis.si, ratios, power_ratio)
    return None if found is None else {**where, key: found}


def _slope(x: Array, y: Array, at: float) -> float:
    """Return the slope of y, linear between the printed x, at a point; 0 where x does not change."""
    left = int(np.clip(np.searchsorted(x, at) - 1, 0, x.size - 2))
    run = float(x[left + 1] - x[left])
    return float(y[left + 1] - y[left]) / run if run > 0 else 0.0


def _crossing(x: Array, y: Array, wanted: float) -> float | None:
    """Return where y, rising and linear between the printed x, passes a value; None where it does not."""
    known = np.isfinite(y)
    x, y = x[known], y[known]
    if x.size < 2 or not y.min() <= wanted <= y.max() or np.any(np.diff(y) < 0):
        return None
    return float(np.interp(wanted, y, x))
