"""Plans of the demo's airplanes, grids to hold them against, and made-up flights along either."""

from dataclasses import replace
from functools import cache

import numpy as np

from flyoff.core.units import ft, minute
from flyoff.model.solve import make_problem, solve
from flyoff.planning.before import known_before
from flyoff.planning.design import Design
from flyoff.planning.figures import function_of
from flyoff.planning.request import Accuracy, Request
from helpers.airplanes import dossier_of, fuel_density

FLOW_TO_SPEED = 0.35


@cache
def before(key):
    """Return what is known of a demo airplane before it flies."""
    return known_before(dossier_of(key), fuel_density(key))


def request_of(key, minutes=60.0, **values):
    """Return a request for an hour in a demo airplane, with any of its terms changed."""
    airplane, density = dossier_of(key).airplane, fuel_density(key)
    usable = sum(tank.usable.si for tank in airplane.tanks) * density
    terms = {
        "fit": before(key), "airplane": airplane, "time_s": minutes * minute, "fuel_kg": 0.8 * usable,
        "reserve_kg": 0.2 * usable, "taxi_fuel_kg": 2.0, "usable_fuel_kg": usable,
        "fuel_density_kg_m3": density,
        "ramp_mass_kg": 0.97 * airplane.weights.takeoff.si, "field_m": 300 * ft, "lowest_m": 2500 * ft,
        "highest_m": 8500 * ft, "cruise_altitude_m": 8000 * ft, "cruise_power_ratio": 0.65,
    }  # fmt: skip
    return Request(**{**terms, **values})


def grid(design, kinds, time_s):
    """Return the largest choice that spreads evenly over all candidates of some kinds, each as often."""
    pools = [[i for i, c in enumerate(design.candidates) if c.kind == kind] for kind in kinds]
    best = ()
    for count in range(1, 40):
        chosen = tuple(
            int(p[j]) for p in pools for j in np.round(np.linspace(0, len(p) - 1, count)).astype(int)
        )
        if design.allows(chosen, time_s):
            best = chosen
    return best


class MadeUp:
    """Airplanes drawn from what is known, flown along a choice of conditions, and fitted."""

    def __init__(self, design, chosen):
        self.design, self.request, self.fit = design, design.request, design.request.fit
        self.members = [design.candidates[i] for i in chosen]
        self.functions = [function_of(self.request, f.name) for f in design.figures]
        self.root = np.linalg.cholesky(self.fit.solution.covariance)

    def errors(self, count, seed=0):
        """Return relative errors of the figures after each flight, shape (count, figures)."""
        rng = np.random.default_rng(seed)
        return np.array([self._error(rng) for _ in range(count)])

    def _error(self, rng):
        start = self.fit.solution.distances
        truth = start + self.root @ rng.standard_normal(len(start))
        flown = self._flown(truth, rng)
        problem = make_problem(self.fit.known, self.fit.parameters, [*self.fit.observations, *flown])
        error = {group: self.fit.solution.model_error.get(group, 0.0) for group in problem.groups}
        z = solve(problem, start, error).distances
        true, found = (self.fit.problem.model(x[: len(start)]) for x in (truth, z))
        return [float(f(found)) / float(f(true)) - 1 for f in self.functions]

    def _flown(self, truth, rng):
        """Return what would be read: flow meter and airspeed system err the same way all day."""
        accuracy: Accuracy = self.request.accuracy
        scale = 1 + accuracy.u_flow_scale_ratio * rng.standard_normal()
        calibration = rng.standard_normal()
        seen = [
            replace(c.observation, fuel_flow_kg_s=c.observation.fuel_flow_kg_s / scale) for c in self.members
        ]
        problem = make_problem(self.fit.known, self.fit.parameters, seen)
        true = problem.predicted(truth)[:, 0]
        u_boxes = [
            np.hypot(accuracy.u_legs_m_s, accuracy.u_airspeed_m_s / 2) / self._shared(c)
            for c in self.members if c.kind == "box"
        ]  # fmt: skip
        weight = sum(1 / u**2 for u in u_boxes)
        known = sum((calibration + u * rng.standard_normal()) / u**2 for u in u_boxes) / (1 + weight)
        left = (1 + weight) ** -0.5
        flown = []
        for c, value in zip(self.members, true, strict=True):
            o = c.observation
            own = value + o.u * rng.standard_normal()
            shared = self._shared(c) if c.kind == "level" else 0.0
            own += shared * (calibration - known)
            # one error common to the flight stands for what is left of both
            flow = FLOW_TO_SPEED * value * accuracy.u_flow_scale_ratio if c.kind in {"box", "level"} else 0.0
            if c.kind == "cruise climb":
                flow = abs(c.rows[0, -1]) * o.u
            flown.append(
                replace(o, value=float(own), shared=(("day", float(np.hypot(shared * left, flow))),))
            )
        return flown

    def _shared(self, c):
        return self.request.accuracy.u_calibration_m_s * c.true_airspeed_m_s / c.calibrated_airspeed_m_s


def planned(key, **values):
    """Return the design of a request and what is chosen for its time."""
    design = Design(request_of(key, **values))
    return design, dict(design.ladder(design.request.time_s))[design.request.time_s]
