"""Airplanes invented at random, with physics that is not the model's, come back as often as stated.

None of these seeds was looked at while the model was made.
"""

from functools import cache

import numpy as np
import pytest

from flyoff.core.draws import Draws
from flyoff.core.units import fpm, ft
from flyoff.model import performance
from flyoff.model.diagnostics import drag_doubt
from flyoff.model.fit import fit_observations
from flyoff.model.performance import Air
from helpers.invented import G, climb_speed, flown, invent, printed, standard
from helpers.invented_fixed import invent_fixed

COUNT = 60
FIRST = 9000
FITTED_FT = (2000, 8000)
ELSEWHERE_FT = (0, 4000, 6000, 10_000, 12_000)
BEYOND_FT = (11_000, 12_000)
SHARES = (0.45, 0.55, 0.65, 0.75)


def rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


def _held(sample, truth):
    low, high = np.nanquantile(sample[1:], [0.025, 0.975])
    return low <= truth <= high


def _is_cruise(airplane, speed, density, mass):
    """Tell whether a speed is a tenth above that of best lift to drag: nobody cruises slower."""
    known = airplane.known
    aspect = known.span_m**2 / known.wing_area_m2
    lift = np.sqrt(np.pi * aspect * airplane.span_efficiency * airplane.zero_lift)
    return speed > 42.5 and speed > 1.1 * np.sqrt(2 * mass * G / (density * known.wing_area_m2 * lift))


def _speeds(airplane, fit, evidence):
    """Return relative errors of level speed at altitudes not fitted, and whether each band held the truth."""
    known, errors, held = airplane.known, [], []
    mass = 0.95 * known.takeoff_mass_kg
    for altitude_ft in ELSEWHERE_FT:
        altitude, kelvin, density = standard(altitude_ft)
        for share in SHARES:
            power = share * known.rated_power_w
            truth = float(airplane.level_speed(power, density, mass))
            if power > airplane.full_power(altitude, kelvin) or not _is_cruise(
                airplane, truth, density, mass
            ):
                continue
            asked = power
            if evidence == "flight":  # nobody knows the power in flight, but the fuel flow
                flow = power * airplane.specific_consumption(share)
                asked = performance.power_at_fuel_flow(fit.model, flow)
            air = Air(altitude, kelvin, mass)
            sample = fit.level_speed(asked, air, float(airplane.rotation(power)))
            errors.append(float(sample[0] / truth - 1))
            held.append(_held(sample, truth))
    return errors, held


def _climbs(airplane, fit):
    known, errors, held = airplane.known, [], []
    mass = known.takeoff_mass_kg
    for altitude_ft in ELSEWHERE_FT:
        altitude, kelvin, density = standard(altitude_ft)
        speed = climb_speed(airplane, altitude_ft, mass) / np.sqrt(density / 1.225)
        truth = float(airplane.rate_of_climb(speed, altitude, kelvin, density, mass))
        rate = performance.rate_of_climb(fit.model, speed, Air(altitude, kelvin, mass))
        sample = fit.with_model_error(rate, "rate of climb", fit.largest("rate of climb"))
        errors.append((float(sample[0]) - truth) / fpm)
        held.append(_held(sample, truth))
    return errors, held


def _best_climbs(airplane, fit):
    """Return whether bands of the best rate of climb well beyond the evidence held the truth.

    Where the propeller's charts and the drag's table end, nobody knows the truth.
    """
    known, held = airplane.known, []
    mass = known.takeoff_mass_kg
    for altitude_ft in BEYOND_FT:
        altitude, kelvin, density = standard(altitude_ft)
        slowest = 0.45 * known.rated_rotation_speed_hz * known.diameter_m
        slowest = max(slowest, np.sqrt(2 * mass * G / (density * known.wing_area_m2 * 1.2)))
        speeds = np.linspace(slowest, 75, 90)
        truth = float(np.max(airplane.rate_of_climb(speeds, altitude, kelvin, density, mass)))
        rate = fit.rate_of_climb(float(altitude), 0.0, mass)
        held.append(_held(np.concatenate([[rate.si], rate.draws]), truth))
    return held


def _drag(airplane, fit):
    """Return the relative error of the drag coefficient under power, and in a glide, over the lift flown."""
    known, mass = airplane.known, airplane.known.takeoff_mass_kg
    lift = np.linspace(0.3, 1.0, 15)
    q = mass * G / (known.wing_area_m2 * lift)
    speed = np.sqrt(2 * q / 1.225)
    truth = airplane.drag_coefficient(lift)
    powered = performance.drag_force(fit.nominal, speed, 1.225, mass) / (q * known.wing_area_m2)
    sink = performance.sink_rate(fit.nominal, speed, Air(0.0, 288.15, mass))
    gliding = sink * mass * G / speed / (q * known.wing_area_m2)
    windmilling = truth + (airplane.windmill - 1) * airplane.zero_lift
    return rms(powered / truth - 1), rms(gliding / windmilling - 1)


def _flows(airplane, fit):
    """Return relative errors of fuel flow amid the evidence and beyond it, and what each band held."""
    errors, held = [], []
    for share in (*SHARES, 0.85):
        flow = fit.cruise(share, *standard_place(), 0.95 * airplane.known.takeoff_mass_kg).fuel_flow
        if flow.si is None:
            continue
        truth = share * airplane.known.rated_power_w * airplane.specific_consumption(share)
        errors.append(flow.si / truth - 1)
        held.append(_held(np.concatenate([[flow.si], flow.draws]), truth))
    return errors, held


def standard_place():
    """Return 2,000 ft and a standard day, where every invented airplane makes 85 %."""
    return 2000 * ft, 0.0


@cache
def results(evidence, tabulated, fixed=False):
    speeds, climbs, drags, held_speeds, held_climbs, held_flows, held_best = [], [], [], [], [], [], []
    for seed in range(FIRST, FIRST + (COUNT // 2 if fixed and evidence == "flight" else COUNT)):
        airplane = (invent_fixed if fixed else invent)(seed, tabulated=tabulated)
        observations = (
            printed(airplane, FITTED_FT) if evidence == "handbook" else flown(airplane, FITTED_FT, seed)
        )
        fit = fit_observations(airplane.known, observations, draws=Draws(400))
        errors, held = _speeds(airplane, fit, evidence)
        speeds, held_speeds = [*speeds, *errors], [*held_speeds, *held]
        errors, held = _climbs(airplane, fit)
        climbs, held_climbs = [*climbs, *errors], [*held_climbs, *held]
        held_flows += _flows(airplane, fit)[1]
        held_best += [] if fixed else _best_climbs(airplane, fit)
        drags.append((*_drag(airplane, fit), drag_doubt(fit).u_ratio))
    found = {
        "speed": rms(speeds), "climb": rms(climbs),
        "drag": rms([d[0] for d in drags]), "glide drag": rms([d[1] for d in drags]),
        "speed held": float(np.mean(held_speeds)), "climb held": float(np.mean(held_climbs)),
        "drag foretold": rms([d[2] for d in drags]), "flow held": float(np.mean(held_flows)),
        "held": float(np.mean([*held_speeds, *held_climbs])),
        "best climb held": float(np.mean(held_best or [np.nan])),
    }  # fmt: skip
    pitch = "fixed pitch" if fixed else "constant speed"
    print(evidence, "tabulated drag" if tabulated else "parabola", pitch, found)  # noqa: T201
    return found


CASES = [(e, t) for e in ("handbook", "flight") for t in (False, True)]


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_speeds_at_other_levels_within_one_per_cent(evidence, tabulated):
    assert results(evidence, tabulated)["speed"] < 0.01


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_rates_of_climb_at_other_levels_within_40_feet_per_minute(evidence, tabulated):
    assert results(evidence, tabulated)["climb"] < 40.0


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_bands_hold_the_truth_as_often_as_stated(evidence, tabulated):
    assert 0.92 <= results(evidence, tabulated)["held"] <= 0.98


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_fuel_flow_bands_hold_the_truth_beyond_the_evidence_too(evidence, tabulated):
    """From 45 to 85 % power, printed from 55 to 75 % and flown from 42 to 74 %."""
    assert 0.90 <= results(evidence, tabulated)["flow held"] <= 1.0


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_bands_of_the_best_rate_of_climb_well_beyond_the_evidence(evidence, tabulated):
    """At 11,000 and 12,000 ft, read or flown at 2,000 and 8,000 ft: half a range beyond."""
    assert 0.90 <= results(evidence, tabulated)["best climb held"] <= 1.0


@pytest.mark.parametrize(("evidence", "tabulated"), CASES)
def test_drag_coefficient_under_power(evidence, tabulated):
    """Within 5 %, flown or read, and where the polar is exact within what the evidence can tell.

    What flies is drag over efficiency. The information in ordinary evidence leaves the drag
    coefficient more than 2 % uncertain, whoever fits it: that is foretold, and not exceeded.
    """
    found = results(evidence, tabulated)
    assert found["drag"] < (0.05 if tabulated else 0.035)
    assert found["drag foretold"] > 0.02
    assert tabulated or found["drag"] < 1.25 * found["drag foretold"]


def test_drag_coefficient_within_two_per_cent_where_a_flight_tells_it():
    """Glides with the propeller feathered weigh the drag that flies under power."""
    errors, foretold = [], []
    for seed in range(FIRST, FIRST + COUNT // 2):
        airplane = invent(seed, tabulated=False)
        evidence = flown(airplane, FITTED_FT, seed, feathered=True)
        fit = fit_observations(airplane.known, evidence, draws=Draws(20))
        errors.append(_drag(airplane, fit)[0])
        foretold.append(drag_doubt(fit).u_ratio)
    print("feathered glides", rms(errors), rms(foretold))  # noqa: T201
    assert rms(foretold) < 0.02
    assert rms(errors) < 0.02


@pytest.mark.parametrize("tabulated", [False, True])
def test_drag_coefficient_of_the_glides_flown(tabulated):
    """A glide weighs the drag itself, propeller and all: no power and no propeller's efficiency is in it."""
    assert results("flight", tabulated)["glide drag"] < (0.025 if tabulated else 0.02)


@pytest.mark.parametrize("evidence", ["handbook", "flight"])
def test_fixed_pitch(evidence):
    """The same of propellers with fixed pitch, whose polar is straight only in the model."""
    found = results(evidence, True, fixed=True)
    assert found["speed"] < 0.01
    assert found["climb"] < 40.0
    assert found["glide drag"] < 0.025 or evidence == "handbook"
    assert found["drag"] < (0.06 if evidence == "handbook" else 0.05)
    assert 0.92 <= found["held"] <= 0.98
