"""What a model says where observations were made: one row for each, draws in the last axis."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import fpm
from flyoff.model import envelope, performance, propulsion
from flyoff.model.configuration import Configuration, configured
from flyoff.model.evidence import ClimbPath, Evidence, Kind, Observation
from flyoff.model.parameters import Model
from flyoff.model.performance import Air

_REFINED = 4
_LEAST_RATE_M_S = 100 * fpm
"""Below the service ceiling's rate a printed climb no longer goes on."""


@dataclass(frozen=True)
class Batch:
    """Observations of one kind and evidence as columns, their rows in the whole list."""

    kind: Kind
    evidence: Evidence
    rows: Array
    air: Air
    power_ratio: Array
    fuel_flow_kg_s: Array
    true_airspeed_m_s: Array
    rotation_speed_hz: Array
    path: ClimbPath | None
    configuration: Configuration


def batches_of(observations: Sequence[Observation]) -> list[Batch]:
    """Return observations sorted into batches that can be predicted at once."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for row, o in enumerate(observations):
        finite = np.isfinite(o.true_airspeed_m_s), np.isfinite(o.rotation_speed_hz)
        groups.setdefault((o.kind, o.evidence, o.configuration, id(o.path), *finite), []).append(row)
    return [_batch([observations[row] for row in rows], rows) for rows in groups.values()]


def _batch(members: Sequence[Observation], rows: list[int]) -> Batch:
    def column(name: str) -> Array:
        return np.array([[getattr(o, name)] for o in members], dtype=np.float64)

    air = Air(column("pressure_altitude_m"), column("temperature_k"), column("mass_kg"))
    first = members[0]
    return Batch(
        first.kind,
        first.evidence,
        np.array(rows),
        air,
        column("power_ratio"),
        column("fuel_flow_kg_s"),
        column("true_airspeed_m_s"),
        column("rotation_speed_hz"),
        first.path,
        first.configuration,
    )


def predictions(model: Model, batches: Sequence[Batch], count: int) -> Array:
    """Return what a model predicts of each observation [SI], shape (count, draws)."""
    handbook = _as_printed(model)
    width = max(np.size(value) for value in model.values.values())
    found = np.empty((count, width))
    for batch in batches:
        asked = handbook if batch.evidence == "handbook" else model
        found[batch.rows.astype(int)] = predict(configured(asked, batch.configuration), batch)
    return found


def _as_printed(model: Model) -> Model:
    """Return the handbook's airplane, where it differs from the flown one."""
    if "handbook_drag_factor" not in model.values:
        return model
    values = dict(model.values)
    values["drag_area_m2"] = np.asarray(values["drag_area_m2"]) * values["handbook_drag_factor"]
    factor = values["handbook_consumption_factor"]
    values["specific_consumption_kg_j"] = np.asarray(values["specific_consumption_kg_j"]) * factor
    return Model(model.known, values)


def predict(model: Model, batch: Batch) -> Array:
    """Return what a model predicts of one batch [SI], shape (rows, draws)."""
    power = batch.power_ratio * model.known.rated_power_w
    kind, air = batch.kind, batch.air
    if kind == "speed at power":
        return performance.level_speed(model, power, air, _rotation(batch))
    if kind == "speed at fuel flow":
        flown = performance.power_at_fuel_flow(model, batch.fuel_flow_kg_s)
        return performance.level_speed(model, flown, air, _rotation(batch))
    if kind == "fuel flow":
        return performance.cruise_fuel_flow(model, power)
    if kind == "full-throttle speed":
        return performance.full_throttle_speed(model, air)
    if kind == "rotation speed":
        speed = performance.level_speed(model, power, air)
        return propulsion.fixed_pitch_rotation(model, power, air.density_kg_m3, speed)
    if kind in {"climb fuel", "climb time"}:
        return _climb_sums(model, batch)
    return _rates(model, batch)


def _rotation(batch: Batch) -> Array | None:
    return batch.rotation_speed_hz if np.all(np.isfinite(batch.rotation_speed_hz)) else None


def _rates(model: Model, batch: Batch) -> Array:
    flown = batch.evidence == "flight"
    if batch.kind == "rate at fuel flow":
        power = performance.power_at_fuel_flow(model, batch.fuel_flow_kg_s)
        where = (batch.true_airspeed_m_s, batch.air, power, _rotation(batch))
        return performance.rate_of_climb(model, *where, accelerating=flown)
    speed_given = bool(np.all(np.isfinite(batch.true_airspeed_m_s)))
    if batch.kind == "rate of climb":
        if not speed_given:
            return envelope.best_rate_of_climb(model, batch.air).value
        return performance.rate_of_climb(model, batch.true_airspeed_m_s, batch.air, accelerating=flown)
    if batch.kind == "glide ratio" and not speed_given:
        return performance.best_glide(model, batch.air.mass_kg)[0]
    sink = performance.sink_rate(model, batch.true_airspeed_m_s, batch.air, accelerating=flown)
    return sink if batch.kind == "sink rate" else np.asarray(batch.true_airspeed_m_s / sink)


def _climb_sums(model: Model, batch: Batch) -> Array:
    path = batch.path
    assert path is not None  # every sum has one
    nodes = np.arange(path.altitudes_m.size)
    fine = np.linspace(0, nodes[-1], nodes[-1] * _REFINED + 1)
    altitude, temperature = (np.interp(fine, nodes, y) for y in (path.altitudes_m, path.temperatures_k))
    speeds = path.equivalent_airspeeds_m_s
    held = None if speeds is None else np.interp(fine, nodes, speeds)
    profile = envelope.climb_path(model, altitude, temperature, path.mass_kg, held, _LEAST_RATE_M_S)
    sums = profile.fuel_kg if batch.kind == "climb fuel" else profile.time_s
    rows = np.searchsorted(altitude, np.ravel(batch.air.pressure_altitude_m) - 1e-6)
    return np.asarray(sums[rows])
