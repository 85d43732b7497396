"""What a fit says of itself: parameters left open, flights that would help, values left out one by one."""

import numpy as np
import pytest

from flyoff.model import performance
from flyoff.model.diagnostics import confusions, drag_doubt, leave_one_out, sensitivities
from flyoff.model.fit import fit_handbook, fit_observations
from flyoff.model.predict import batches_of, predictions
from flyoff.model.solve import make_problem, solve
from helpers.airplanes import KEYS, edited, handbook_fit
from helpers.invented import flown, invent, printed


@pytest.mark.parametrize("key", KEYS)
def test_each_printed_value_follows_from_the_others(key):
    """Left out, each value of cruise and climb is found within its rounding and 1 %.

    What the others say of a sum of fuel is rounded too: of half a litre each, that shows.
    """
    left = leave_one_out(handbook_fit(key))
    assert len(left) > 100
    assert [str(each.observation) for each in left if not each.within(0.01)] == []
    wider = np.array([each.rounding / each.observation.half_digit for each in left])
    assert np.median(wider) < 1.1
    assert wider.max() < 1.5


def test_a_misprint_does_not_follow_from_the_others():
    dossier = edited("damast", "cruise.csv", lambda text: text.replace(",123,13.9", ",127,13.9"))
    left = leave_one_out(fit_handbook(dossier, fuel_density_kg_m3=720.0))
    (outside,) = (each for each in left if not each.within(0.01))
    assert str(outside.observation).startswith("aircraft/damast/cruise.csv:3: true airspeed 127 kt")


def test_leaving_one_out_is_a_fit_without_it():
    airplane = invent(31, tabulated=True)
    fit = fit_observations(airplane.known, flown(airplane, (2000, 8000), 31))
    left = leave_one_out(fit)
    for row in (0, 5, len(left) - 1):
        others = [o for i, o in enumerate(fit.observations) if i != row]
        problem = make_problem(fit.known, fit.parameters, others)
        solution = solve(problem, fit.solution.distances, fit.solution.model_error)
        z = solution.distances[: len(fit.parameters), None]
        observation = fit.observations[row]
        again = predictions(problem.model(z), batches_of([observation]), 1)[0, 0]
        again += sum(u for _, u in observation.shared) * solution.distances[-1]
        moved = abs(left[row].predicted - fit.solution.predicted[row])
        assert left[row].predicted == pytest.approx(again, abs=0.25 * moved + 0.05 * observation.u)


def test_without_climbs_drag_and_propeller_are_one_and_a_climb_would_part_them():
    airplane = invent(12, tabulated=False)
    level = [o for o in printed(airplane, (2000, 8000)) if o.kind == "speed at power"]
    found = confusions(fit_observations(airplane.known, level))
    together = next(c for c in found if "propeller efficiency over the ideal" in c.parameters)
    assert together.left_ratio > 0.9
    everything = [*level, *flown(airplane, (2000, 8000), 12)]
    after = confusions(fit_observations(airplane.known, everything))
    named = " ".join(name for c in after for name in c.parameters)
    assert "zero-lift drag area" not in named


def test_the_flight_named_really_helps_as_much_as_said():
    airplane = invent(12, tabulated=False)
    fit = fit_observations(airplane.known, printed(airplane, (2000, 8000)))
    glide = next(c for c in confusions(fit) if c.parameters[0].startswith("drag area in a glide"))
    assert "glide" in glide.flight
    assert glide.after_ratio < 0.5 * glide.left_ratio
    assert str(glide).startswith("drag area in a glide over that under power is not known better than before")
    assert str(glide).endswith(f"would leave {100 * glide.after_ratio:.0f} %")


def test_the_drag_coefficient_is_as_sure_as_its_draws_and_a_glide_flown_is_worth_what_is_said():
    airplane = invent(12, tabulated=False)
    mass = airplane.known.takeoff_mass_kg
    ordinary, feathered = (
        fit_observations(airplane.known, flown(airplane, (2000, 8000), 12, feathered=still))
        for still in (False, True)
    )
    speed = np.sqrt(2 * mass * 9.80665 / airplane.known.wing_area_m2 / (1.225 * np.linspace(0.3, 1.0, 15)))
    for fit in (ordinary, feathered):
        drawn = performance.drag_force(fit.model, speed[:, None], 1.225, mass)
        spread = np.sqrt(np.mean(np.square(np.std(drawn[:, 1:], axis=1) / drawn[:, 0])))
        assert drag_doubt(fit).u_ratio == pytest.approx(spread, rel=0.12)
    assert drag_doubt(feathered).u_ratio < 0.85 * drag_doubt(ordinary).u_ratio
    book = drag_doubt(fit_observations(airplane.known, printed(airplane, (2000, 8000))))
    assert book.after_ratio < 0.85 * book.u_ratio
    known = f"the drag coefficient is known to ± {196 * book.u_ratio:.1f} %"
    assert str(book).startswith(f"{known}; {book.flight}")


def test_sensitivities_are_those_of_the_fit():
    airplane = invent(5, tabulated=False)
    fit = fit_observations(airplane.known, printed(airplane, (2000, 8000)))
    sigma = fit.problem.u / np.hypot(
        fit.problem.u,
        np.array([fit.solution.model_error[g] for g in fit.problem.groups]) * fit.problem.scale,
    )
    own = np.array([o.u for o in fit.observations]) / fit.problem.u
    slopes = sensitivities(fit, fit.observations) * (own * sigma)[:, None]
    assert slopes == pytest.approx(fit.solution.jacobian, abs=0.02 * np.abs(fit.solution.jacobian).max())
