"""Printed and flown values as one list of observations."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from flyoff.core.units import fpm, ft, kt, lb, minute
from flyoff.demo.designs import VADMEL_AS_FLOWN
from flyoff.flights.log import utc
from flyoff.flights.read import parse_flight, read_flight
from flyoff.model.configuration import CLEAN, Configuration, needed
from flyoff.model.diagnostics import unlikely
from flyoff.model.evidence import flight_observations, handbook_observations, printed_rotation
from flyoff.model.fit import fit_airplane
from flyoff.model.parameters import known_of
from flyoff.model.statement import unfit
from flyoff.physics.atmosphere import density_at_altitude
from flyoff.reduction.run import reduce_flight
from helpers.airplanes import FOLDER, dossier_of, edited, handbook_fit


def observations_of(dossier):
    return handbook_observations(dossier, known_of(dossier), 720.0)


@cache
def demo_reduction():
    return reduce_flight(read_flight(FOLDER / "flights/2026-06-02.toml", "flights/2026-06-02.toml"))


def test_each_printed_value_keeps_its_condition_rounding_and_place():
    found = observations_of(dossier_of("kattun"))
    first = found[0]
    assert (first.kind, first.evidence, str(first)) == (
        "speed at power", "handbook", "aircraft/kattun/cruise.csv:2: true airspeed 105 kt",
    )  # fmt: skip
    assert first.value == pytest.approx(105 * kt)
    assert first.u == pytest.approx(0.5 * kt / 3**0.5)
    assert (first.pressure_altitude_m, first.temperature_k, first.power_ratio) == (0.0, 268.15, 0.45)
    assert first.mass_kg == pytest.approx(3000 * lb)
    assert first.rotation_speed_hz == pytest.approx(2250 / 60)
    kinds = {o.kind for o in found}
    assert kinds == {"speed at power", "fuel flow", "rate of climb", "climb fuel", "glide ratio"}
    assert all(np.isfinite([o.value, o.u, o.temperature_k, o.mass_kg]).all() for o in found)


def test_the_propeller_s_speed_is_read_beside_the_power():
    pairs = printed_rotation(dossier_of("kattun"))
    assert [(round(100 * share), round(60 * speed)) for share, speed in pairs] == [
        (45, 2250), (55, 2350), (65, 2450), (75, 2550),
    ]  # fmt: skip


def test_a_table_without_power_is_entered_by_fuel_flow_and_time_stands_in_for_rate():
    no_power = edited(
        "musselin", "climb.csv", lambda text: text.replace("rate of climb [ft/min]", "wind [kt]")
    )
    times = [o for o in observations_of(no_power) if o.kind == "climb time"]
    assert [round(o.value / minute) for o in times] == [2, 4, 6, 9, 12, 15, 20]
    assert not [o for o in observations_of(no_power) if o.kind == "rate of climb"]


def test_flown_conditions_become_observations_or_say_why_not():
    known = known_of(dossier_of("vadmel"))
    found, said = flight_observations(demo_reduction(), known, 800.0)
    kinds = {kind: [o for o in found if o.kind == kind] for kind in {o.kind for o in found}}
    assert set(kinds) == {"speed at fuel flow", "rate of climb", "rate at fuel flow", "sink rate"}
    for level in kinds["speed at fuel flow"]:
        assert 90 * kt < level.value < 140 * kt
        assert 0 < level.u_shared < 2 * kt
        # calibration and the flow meter's scale err alike all day
        assert [name.split("#")[1] for name, _ in level.shared] == ["airspeed", "fuel flow"]
        assert level.fuel_flow_kg_s > 0.003
    assert all(o.value > 200 * fpm for o in (*kinds["rate of climb"], *kinds["sink rate"]))
    assert all(o.u >= 20 * fpm for o in kinds["sink rate"])
    assert len(found) + len(said) == len(demo_reduction().points)


def test_one_call_fits_the_handbook_the_flight_or_both():
    """The demo's flown example has 15 % more drag than its handbook's."""
    dossier, flights = dossier_of("vadmel"), [demo_reduction()]
    both = fit_airplane(dossier, flights, fuel_density_kg_m3=800.0)
    alone = fit_airplane(dossier, flights, fuel_density_kg_m3=800.0, use_handbook=False)
    speeds = {}
    for name, fit in (("book", handbook_fit("vadmel")), ("both", both), ("flight", alone)):
        value = fit.cruise(0.65, 6000 * ft, 0.0, 1240.0).true_airspeed
        speeds[name] = value.si / kt, float(np.std(value.draws)) / kt
    density = float(density_at_altitude(6000 * ft))
    truth = float(VADMEL_AS_FLOWN.level_speed(0.65 * VADMEL_AS_FLOWN.rated_power_w, density, 1240.0)) / kt
    assert speeds["book"][0] == pytest.approx(120.8, abs=0.3)
    for name in ("both", "flight"):
        assert abs(speeds[name][0] - truth) < 2.0 * speeds[name][1]
    assert speeds["both"][1] < 0.6 * speeds["flight"][1]
    assert float(both.nominal["handbook_drag_factor"]) == pytest.approx(1 / 1.15, abs=0.03)
    assert float(alone.nominal["drag_area_m2"]) == pytest.approx(VADMEL_AS_FLOWN.drag_area_m2, rel=0.05)
    assert {i.label.split()[0] for i in both.inputs} == {"printed", "flown"}
    assert all(i.place.line > 0 and i.source for i in both.inputs)


def test_descents_with_a_little_power_left_on_are_told_from_glides():
    """Four descents at 15 % power and the approach burn like the two glides; no log says which."""
    fit = fit_airplane(dossier_of("vadmel"), [demo_reduction()], fuel_density_kg_m3=800.0, use_handbook=False)
    out = [text for text in fit.remarks if "sinks less than the airplane can without power" in text]
    assert len(out) == 5
    assert len([o for o in fit.observations if o.kind == "sink rate"]) == 2
    assert unlikely(fit) == () == fit.bad_points


def test_gear_flaps_mixture_and_feathered_propeller_of_a_condition_reach_the_fit():
    """Said of a level, a climb and a glide of the log; what is not said stays clean."""
    whole = demo_reduction()
    chosen = {kind: next(p for p in whole.points if p.condition.kind == kind) for kind in ("level", "climb")}
    known = known_of(dossier_of("vadmel"))
    glide = next(o for o in flight_observations(whole, known, 800.0)[0] if o.kind == "sink rate")
    chosen["descent"] = next(p for p in whole.points if whole.place(p).line == glide.place.line)
    said = {
        "level": 'gear = "down"\nmixture = "best power"',
        "climb": 'flaps = "15 °"',
        "descent": 'propeller = "feathered"',
    }
    text = (FOLDER / "flights/2026-06-02.toml").read_text("utf-8")
    for kind, point in chosen.items():
        start, end = (utc(t)[11:19] for t in (point.condition.start_s, point.condition.end_s))
        times = f'start = "{start}"\nend = "{end}"'
        text += f'[[conditions]]\n{times}\ndecision = "accept"\nkind = "{kind}"\n{said[kind]}\n'
    again = reduce_flight(
        parse_flight(text, "flights/2026-06-02.toml", FOLDER / "flights"), dossier=dossier_of("vadmel")
    )
    found, _ = flight_observations(again, replace(known, retractable=True), 800.0)
    told = {o.configuration for o in found}
    flaps = float(np.radians(15.0))
    assert {c for c in told if c.gear_down} == {Configuration(gear_down=True, mixture="best power")}
    assert [c.flaps_rad for c in told if c.flaps_rad] == pytest.approx([flaps])
    feathered = [o for o in found if o.configuration.feathered]
    assert [o.kind for o in feathered] == ["sink rate"]
    assert CLEAN in told
    shown = {p.name for p in needed(replace(known, retractable=True), told)}
    assert {"gear_drag_area_m2", "flap_drag_area_m2", "feathered_drag_area_m2"} <= shown
    dirty = {i for i, p in enumerate(again.points) if not p.condition.is_clean}
    assert len(dirty) == 2
    assert not {level.point for level in again.standard.speed_power.points} & dirty
    assert not {climb.point for climb in again.standard.climbs.climbs} & dirty
    assert all(unfit(again.points[i]).endswith("gear or flaps down") for i in dirty)
