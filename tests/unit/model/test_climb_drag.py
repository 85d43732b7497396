"""Extra drag in full-power climbs: taken where the evidence asks for it, left out where not."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.draws import Draws
from flyoff.core.units import fpm, kt
from flyoff.model import performance
from flyoff.model.climb_drag import score_drop
from flyoff.model.fit import fit_observations
from flyoff.model.parameters import Model
from flyoff.model.performance import Air, standard_air
from helpers.invented import climb_speed, flown, invent, printed, standard
from helpers.invented_fixed import invent_fixed

NAME = "climb_drag_area_m2"
LEVELS_FT = (2000, 8000)
ELSEWHERE_FT = (0, 5000, 10_000)
SEEDS = range(7100, 7116)


@cache
def fits(share):
    """Return airplanes with an extra drag in climbs and the fits to a flight of each."""
    found = []
    for seed in SEEDS:
        airplane = replace(invent(seed), climb_drag=share)
        found.append(
            (airplane, fit_observations(airplane.known, flown(airplane, LEVELS_FT, seed), draws=Draws(200)))
        )
    return found


def taken(share):
    return [(airplane, fit) for airplane, fit in fits(share) if NAME in fit.nominal.values]


def off_and_held(airplane, fit):
    """Return errors of the rate of climb at other levels [ft/min], and whether bands held the truth."""
    errors, held, mass = [], [], airplane.known.takeoff_mass_kg
    for altitude_ft in ELSEWHERE_FT:
        altitude, kelvin, density = standard(altitude_ft)
        speed = climb_speed(airplane, altitude_ft, mass) / np.sqrt(density / 1.225)
        truth = float(airplane.rate_of_climb(speed, altitude, kelvin, density, mass))
        rate = performance.rate_of_climb(fit.model, speed, Air(altitude, kelvin, mass))
        sample = fit.with_model_error(rate, "rate of climb", fit.largest("rate of climb"))
        low, high = np.quantile(sample[1:], [0.025, 0.975])
        errors.append((float(sample[0]) - truth) / fpm)
        held.append(low <= truth <= high)
    return errors, held


def test_it_takes_of_climbs_at_full_power_alone():
    fit = fits(0.0)[0][1]
    clean, air, speed, area_m2 = fit.nominal, standard_air(1000.0, 1200.0), 50.0, 0.05
    dragging = Model(clean.known, {**clean.values, NAME: area_m2})
    force = float(air.density_kg_m3) / 2 * speed**2 * area_m2
    loss = float(
        performance.rate_of_climb(clean, speed, air) - performance.rate_of_climb(dragging, speed, air)
    )
    assert loss == pytest.approx(force * speed / (1200.0 * STANDARD_GRAVITY_M_S2))
    power_w = 0.6 * clean.known.rated_power_w
    for function in (
        lambda m: performance.level_speed(m, power_w, air),
        lambda m: performance.full_throttle_speed(m, air),
        lambda m: performance.rate_of_climb(m, speed, air, power_w),
        lambda m: performance.sink_rate(m, speed, air),
    ):
        assert float(function(dragging)) == float(function(clean))


def test_a_fifth_of_the_drag_is_found_in_most_flights():
    found = taken(0.2)
    assert len(found) > len(SEEDS) / 2
    areas = np.array([float(fit.nominal[NAME]) for _, fit in found])
    truths = np.array([0.2 * a.zero_lift * a.known.wing_area_m2 for a, _ in found])
    assert np.mean(areas) == pytest.approx(np.mean(truths), rel=0.4)


def test_nothing_is_found_where_there_is_nothing():
    assert len(taken(0.0)) <= len(SEEDS) // 10


@pytest.mark.parametrize("share", [0.0, 0.2])
def test_rates_of_climb_stay_in_their_bands(share):
    errors, held = zip(*(off_and_held(*pair) for pair in fits(share)), strict=True)
    print(share, len(taken(share)), float(np.sqrt(np.mean(np.square(errors)))), np.mean(held))  # noqa: T201
    assert float(np.sqrt(np.mean(np.square(errors)))) < 25.0
    assert np.mean(held) >= 0.9


def test_level_speeds_are_as_good_with_it():
    errors = []
    for airplane, fit in taken(0.2):
        altitude, kelvin, density = standard(5000)
        mass, power = 0.95 * airplane.known.takeoff_mass_kg, 0.65 * airplane.known.rated_power_w
        truth = float(airplane.level_speed(power, density, mass))
        flow = power * airplane.specific_consumption(0.65)
        asked = performance.power_at_fuel_flow(fit.nominal, flow)
        rotation = float(airplane.rotation(power))
        found = performance.level_speed(fit.nominal, asked, Air(altitude, kelvin, mass), rotation)
        errors.append((float(found) - truth) / kt)
    assert float(np.sqrt(np.mean(np.square(errors)))) < 1.5


def test_the_fit_says_that_it_took_it_and_how_large():
    _, fit = taken(0.2)[0]
    (said,) = [remark for remark in fit.remarks if "extra drag area" in remark]
    assert f"{float(fit.nominal[NAME]):.3f} ± " in said


@pytest.mark.parametrize(
    ("airplane", "observations"),
    [
        (replace(invent(7100), climb_drag=0.3), lambda a: printed(a, LEVELS_FT)),
        (invent_fixed(7100), lambda a: flown(a, LEVELS_FT, 7100)),
    ],
    ids=["climbs at one speed", "fixed pitch"],
)
def test_what_cannot_tell_it_from_power_is_not_asked(airplane, observations):
    fit = fit_observations(airplane.known, observations(airplane), draws=Draws(20))
    assert NAME not in fit.nominal.values
    assert score_drop(fit.problem, fit.solution) == 0.0
