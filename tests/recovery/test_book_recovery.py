"""A known difference from the handbook comes back, and its interval holds it as often as it says.

Each trial is a flight of the demo's conditions whose airplane differs from its
handbook by a known amount: what the handbook printed was rounded, the flight's
calibration, fuel flow and power indicator are off for all of it, each reading is
off for itself, and the airplane's span efficiency and propeller are its own.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from flyoff.core.draws import Draws, half_width_95
from flyoff.core.units import kt
from flyoff.demo.designs import VADMEL, VADMEL_AS_FLOWN
from flyoff.flights.read import read_flight
from flyoff.model.book import beside_handbook
from flyoff.model.book_cruise import PROPELLER_EFFICIENCY, cruise_points
from flyoff.model.handbook import Handbook
from flyoff.model.overall import taken_together
from flyoff.model.statement import STATEMENTS, Flown, statement_of
from flyoff.physics.atmosphere import density_at_altitude
from flyoff.physics.drag import level_speed
from flyoff.reduction.airplane import SPAN_EFFICIENCY
from flyoff.reduction.power import RECORD_U
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.uncertainty import DrawnPoint
from helpers.airplanes import FOLDER, dossier_of

TRIALS = 120
FUEL_KG_M3 = 800.0
TABLE_KG = 1240.0
CALIBRATION_U, OWN_U, FLOW_SCALE_U, FLOW_OWN_U = 0.5 * kt, 0.3 * kt, 0.02 / 1.96, 0.004
CRUISE = ("cruise_speed", "cruise_speed_at_power", "fuel_flow_at_power")


@cache
def demo():
    name = "flights/2026-06-02.toml"
    return reduce_flight(read_flight(FOLDER / name, name), dossier=dossier_of("vadmel"))


def levels():
    """Return one point of each power and altitude of the demo's levels."""
    found = {}
    for point in demo().points:
        share = point.readings.mean("power_percent")
        if point.condition.kind == "level" and share is not None:
            found.setdefault((round(point.pressure_altitude.value / 1000), round(20 * share.value)), point)
    return list(found.values())


def unrounded(handbook, rng):
    """Return the handbook before it was rounded for printing."""
    table = handbook.dossier.tables["cruise"]
    results = {
        name: replace(column, si=column.si + column.half_digit_si * rng.uniform(-1, 1, column.si.size))
        for name, column in table.results.items()
    }
    tables = {**handbook.dossier.tables, "cruise": replace(table, results=results)}
    return replace(handbook, dossier=replace(handbook.dossier, tables=tables))


def condition(point, book, rng, off_kt, efficiency, propeller):
    """Return a level condition's truth: fuel flow, power, speed as flown, and differences by statement."""
    altitude_m, kelvin = point.pressure_altitude.value, point.air.temperature.value
    deviation_k = kelvin - float(288.15 - 0.0065 * altitude_m)
    flow_kg_s = point.fuel_flow.value * FUEL_KG_M3 * rng.uniform(0.99, 1.01)
    ratio = point.readings.mean("power_percent").value
    at_table = book.speed_at_fuel_flow(flow_kg_s, altitude_m, deviation_k, TABLE_KG).si + off_kt * kt
    span_m = 11.9 * efficiency**0.5
    density = float(density_at_altitude(altitude_m, deviation_k))
    thrust_w = propeller * ratio * 120e3
    induced_w = 2 * (TABLE_KG * 9.80665 / span_m) ** 2 / (np.pi * density * at_table)
    flown = level_speed(
        thrust_power_w=thrust_w, density_kg_m3=density, mass_kg=point.mass_kg, effective_span_m=span_m,
        drag_area_m2=(thrust_w - induced_w) / (density * at_table**3 / 2),
    )  # fmt: skip
    said = book.cruise(ratio, altitude_m, deviation_k, TABLE_KG)
    apart = (off_kt * kt, at_table - said.true_airspeed.si, (flow_kg_s - said.fuel_flow.si) / FUEL_KG_M3)
    return flow_kg_s / FUEL_KG_M3, ratio, float(flown), dict(zip(CRUISE, apart, strict=True))


def read(point, truth, errors, rng):
    """Return a point as it is read, with the errors that its flight shares and its own."""
    flow, ratio, speed, _ = truth
    calibration, scale, indicator = errors
    seen = speed + calibration + OWN_U * rng.standard_normal()
    flow = flow * (1 + scale + FLOW_OWN_U * rng.standard_normal())
    means = {**point.readings.means, "power_percent": Estimate(ratio * (1 + indicator), 1e-4)}
    return replace(
        point,
        readings=replace(point.readings, means=means),
        air=replace(point.air, true_airspeed=Estimate(seen, float(np.hypot(CALIBRATION_U, OWN_U)))),
        fuel_flow=Estimate(flow, flow * float(np.hypot(FLOW_SCALE_U, FLOW_OWN_U))),
    )


@cache
def trials():
    """Return, by statement, whether each trial's interval held the truth, and its error."""
    held = {key: [] for key in CRUISE}
    errors = {key: [] for key in CRUISE}
    template = levels()
    for number in range(TRIALS):
        rng = np.random.default_rng(number)
        draws = Draws(400, seed=str(number))
        handbook = Handbook(replace(dossier_of("vadmel")), FUEL_KG_M3, draws)
        book = unrounded(handbook, rng)
        low, more = rng.uniform(-6, 3), rng.uniform(-2, 2)
        efficiency = SPAN_EFFICIENCY.value + SPAN_EFFICIENCY.u * rng.standard_normal()
        propeller = PROPELLER_EFFICIENCY.value + PROPELLER_EFFICIENCY.u * rng.standard_normal()
        shared = rng.standard_normal(3) * (CALIBRATION_U, FLOW_SCALE_U, RECORD_U)
        truths = [
            condition(p, book, rng, low + more * (p.pressure_altitude.value > 2000), efficiency, propeller)
            for p in template
        ]
        points = tuple(read(p, t, shared, rng) for p, t in zip(template, truths, strict=True))
        flown = Flown(replace(demo(), points=points, standard=replace(demo().standard, polar=None)), draws)
        common = CALIBRATION_U * draws.normal("common")
        flown.__dict__["drawn"] = tuple(
            DrawnPoint(
                None, None, p.air.true_airspeed.value + common + OWN_U * draws.normal(f"own {i}"), None, None
            )
            for i, p in enumerate(points)
        )
        found = list(cruise_points(flown, handbook, TABLE_KG))
        for key in CRUISE:
            own = [p for p in found if p.statement == statement_of(key)]
            altitudes = [p.pressure_altitude_m for p in own]
            difference = taken_together([p.difference for p in own], altitudes, key, draws).difference
            error = difference[0] - np.mean([t[3][key] for t in truths])
            errors[key].append(float(error))
            held[key].append(abs(error) <= half_width_95(difference[1:], float(difference[0])))
    return held, errors


@pytest.mark.parametrize("key", CRUISE)
def test_the_interval_of_the_overall_difference_holds_the_truth(key):
    held, errors = trials()
    assert 0.92 <= np.mean(held[key]) <= 0.98
    assert abs(np.mean(errors[key])) < 3 * np.std(errors[key]) / TRIALS**0.5


def test_the_demo_is_slower_than_its_book_by_what_it_was_made_to_be():
    """Its flown example has 15 % more zero-lift drag; log, reduction, correction and pooling as a user's."""
    draws = Draws(2000)
    book = beside_handbook(Handbook(dossier_of("vadmel"), FUEL_KG_M3, draws), [demo()], 1200.0, draws)
    points = book.about(statement_of("cruise_speed"))
    truths = []
    for point in points:
        own = demo().points[point.number]
        deviation_k = own.air.temperature.value - float(288.15 - 0.0065 * own.pressure_altitude.value)
        density = float(density_at_altitude(own.pressure_altitude.value, deviation_k))
        power_w = own.readings.mean("power_percent").value * VADMEL.rated_power_w
        speeds = [float(d.level_speed(power_w, density, TABLE_KG)) for d in (VADMEL_AS_FLOWN, VADMEL)]
        truths.append(speeds[0] - speeds[1])
    pooled = taken_together(
        [p.difference for p in points], [p.pressure_altitude_m for p in points], "x", draws
    )
    half = half_width_95(pooled.difference[1:], float(pooled.difference[0]))
    assert abs(pooled.difference[0] - np.mean(truths)) < half < 2 * kt
    assert np.mean(truths) < -half
    assert {p.statement for p in book.points} | {statement_of(k) for k in book.notes} == set(STATEMENTS)
