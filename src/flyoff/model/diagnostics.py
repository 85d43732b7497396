"""What a fit could not find out, what flight would, and how each value fares against all the others."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import find_unit, fpm, ft, kt
from flyoff.model import performance
from flyoff.model.configuration import Configuration
from flyoff.model.evidence import Observation
from flyoff.model.fit import Fit
from flyoff.model.parameters import Parameter
from flyoff.model.performance import standard_air
from flyoff.model.predict import batches_of, predictions
from flyoff.model.solve import OTHER_ERROR, TYPICAL_ERROR, make_problem, solve
from flyoff.physics.optimum import best_lift_to_drag_speed

UNKNOWN_ABOVE = 0.7
"""A direction among the parameters whose spread is still this share of the prior's has not been learnt."""
_NAMED_ABOVE = 0.35
_STEP = 1e-3
_LIFT = np.linspace(0.3, 1.0, 15)
_WEIGHTY = 0.2
_TOO_LARGE = 6.0
_MENDING = {
    "glide": "was power left on in some, or the propeller stopped?",
    "rate of climb": "was full power set in all, and the air still?",
    "speed": "was the speed still building, or the mixture changed?",
    "fuel flow": "was the mixture changed?",
}


@dataclass(frozen=True)
class Confusion:
    """Parameters that the evidence cannot separate, and the flight that would best do it.

    `left_ratio` is how much of the prior's spread of their combination is
    left, `after_ratio` how much would be after that flight.
    """

    parameters: tuple[str, ...]
    left_ratio: float
    flight: str
    after_ratio: float

    def __str__(self) -> str:
        """Return it in a sentence."""
        names = " and ".join(self.parameters)
        verb = "cannot be told apart" if len(self.parameters) > 1 else "is not known better than before"
        left = (
            f"{names} {verb} by this evidence ({100 * self.left_ratio:.0f} % of the prior's spread is left)"
        )
        return f"{left}; {self.flight} would leave {100 * self.after_ratio:.0f} %"


def confusions(fit: Fit) -> tuple[Confusion, ...]:
    """Return the combinations of parameters that the evidence left open, the least known first."""
    labels = [p.label for p in fit.parameters]
    count = len(labels)
    covariance = fit.solution.covariance[:count, :count]
    spread, directions = np.linalg.eigh(covariance)
    texts, candidates = _candidates(fit)
    slopes = sensitivities(fit, candidates)
    found = []
    for i in np.argsort(-spread):
        left = float(np.sqrt(spread[i]))
        if left < UNKNOWN_ABOVE:
            break
        direction = directions[:, i]
        named = [k for k in np.argsort(-np.abs(direction)) if abs(direction[k]) > _NAMED_ABOVE]
        after = _after(covariance, slopes, direction)
        best = int(np.argmin(after))
        found.append(Confusion(tuple(labels[k] for k in named[:3]), left, texts[best], float(after[best])))
    return tuple(found)


def _after(covariance: Array, slopes: Array, direction: Array) -> Array:
    """Return the spread of a direction after each candidate has been flown."""
    along = covariance @ direction
    gain = np.square(slopes @ along) / (1 + np.einsum("ij,jk,ik->i", slopes, covariance, slopes))
    return np.asarray(np.sqrt(np.maximum(direction @ along - gain, 0.0)))


@dataclass(frozen=True)
class DragDoubt:
    """How well the drag coefficient under power is known, root mean square over the lift flown.

    What flies is drag over propeller efficiency, so level flight and climbs leave it open;
    `after_ratio` is what `flight` would leave of `u_ratio`, both relative standard uncertainties.
    """

    u_ratio: float
    flight: str
    after_ratio: float

    def __str__(self) -> str:
        """Return it in a sentence."""
        known = f"the drag coefficient is known to ± {196 * self.u_ratio:.1f} %"
        return f"{known}; {self.flight} would leave ± {196 * self.after_ratio:.1f} %"


def drag_doubt(fit: Fit) -> DragDoubt:
    """Return the uncertainty of the drag coefficient, and the one flight that would lessen it most."""
    count = len(fit.parameters)
    covariance = fit.solution.covariance[:count, :count]
    z = fit.solution.distances[:count]
    model = fit.problem.model(
        z[:, None] + np.concatenate([np.zeros((count, 1)), _STEP * np.eye(count)], axis=1)
    )
    mass_kg = fit.known.takeoff_mass_kg
    wing = mass_kg * STANDARD_GRAVITY_M_S2 / fit.known.wing_area_m2
    speed = np.sqrt(2 * wing / (SEA_LEVEL_DENSITY_KG_M3 * _LIFT))[:, None]
    drag = performance.drag_force(model, speed, SEA_LEVEL_DENSITY_KG_M3, mass_kg)
    slopes = (drag[:, 1:] / drag[:, :1] - 1) / _STEP
    texts, candidates = _candidates(fit)
    rows = sensitivities(fit, candidates)
    along = covariance @ rows.T
    gain = np.square(slopes @ along) / (1 + np.einsum("ij,ji->i", rows, along))
    variance = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    after = np.mean(variance[:, None] - gain, axis=0)
    best = int(np.argmin(after))
    return DragDoubt(float(np.mean(variance) ** 0.5), texts[best], float(max(after[best], 0.0) ** 0.5))


def sensitivities(fit: Fit, observations: Sequence[Observation]) -> Array:
    """Return the sensitivities of any observations that might be made, shape (observations, parameters).

    Each row is in standard uncertainties of its observation for one standard
    deviation of each prior: with `fit.solution.covariance`, what a plan of
    flights needs.
    """
    z = fit.solution.distances[: len(fit.parameters)]
    steps = np.concatenate([np.zeros((len(z), 1)), _STEP * np.eye(len(z))], axis=1)
    model = fit.problem.model(z[:, None] + steps)
    found = predictions(model, batches_of(observations), len(observations))
    slopes = (found[:, 1:] - found[:, :1]) / _STEP / np.array([[o.u] for o in observations])
    return np.asarray(np.nan_to_num(slopes))


def _candidates(fit: Fit) -> tuple[list[str], list[Observation]]:
    """Return flights that could be made, as observations of ordinary quality."""
    known, nominal = fit.known, fit.nominal
    mass_kg = 0.95 * known.takeoff_mass_kg
    best = float(best_lift_to_drag_speed(mass_kg, nominal["drag_area_m2"], nominal["effective_span_m"]))
    u_rate, u_speed = 25 * fpm, 0.7 * kt
    feathered_u = 30 * fpm  # the still propeller's own drag is not known better
    texts: list[str] = []
    found: list[Observation] = []

    def add(text: str, altitude_ft: float, deviation_k: float, **values: object) -> None:
        air = standard_air(altitude_ft * ft, mass_kg, deviation_k)
        plain = Observation(
            "rate of climb", "flight", 1.0, u_rate, altitude_ft * ft, float(air.temperature_k), mass_kg,
            Place("a flight"),
        )  # fmt: skip
        texts.append(text)
        found.append(replace(plain, **values))  # type: ignore[arg-type]

    for altitude_ft in (2000, 8000, 12_000):
        density = float(standard_air(altitude_ft * ft, mass_kg).density_kg_m3)
        true = best / (density / SEA_LEVEL_DENSITY_KG_M3) ** 0.5
        at = f"at {altitude_ft:,} ft"
        for factor, words in ((0.9, "slow"), (1.4, "fast")):
            add(f"a {words} climb at full power {at}", altitude_ft, 0.0, true_airspeed_m_s=factor * true)
            add(f"a {words} glide {at}", altitude_ft, 0.0, kind="sink rate", true_airspeed_m_s=factor * true)
        if known.propeller == "constant speed":
            feathered = {"kind": "sink rate", "true_airspeed_m_s": true, "u": feathered_u}
            still = Configuration(feathered=True)
            text = f"a glide {at} with the propeller feathered, where it can be,"
            add(text, altitude_ft, 0.0, configuration=still, **feathered)
        most = float(performance.full_power(nominal, standard_air(altitude_ft * ft, mass_kg)))
        for share in (s for s in (0.45, 0.75) if s * known.rated_power_w <= most):
            flow = float(performance.cruise_fuel_flow(nominal, share * known.rated_power_w))
            level = {"kind": "speed at fuel flow", "fuel_flow_kg_s": flow, "u": u_speed}
            add(f"level flight at {100 * share:.0f} % {at}", altitude_ft, 0.0, **level)
            slow = {"kind": "rate at fuel flow", "fuel_flow_kg_s": flow, "true_airspeed_m_s": 1.1 * true}
            add(f"a climb or descent at {100 * share:.0f} % {at}", altitude_ft, 0.0, **slow)
            power = {"kind": "speed at power", "power_ratio": share, "u": u_speed}
            add(f"level flight at {100 * share:.0f} % {at} by the engine chart", altitude_ft, 0.0, **power)
            flow_of = {"kind": "fuel flow", "power_ratio": share, "u": 0.01 * flow}
            add(f"the fuel flow at {100 * share:.0f} % by the engine chart", altitude_ft, 0.0, **flow_of)
        add(f"level flight at full throttle {at}", altitude_ft, 0.0, kind="full-throttle speed", u=u_speed)
        hot = {"true_airspeed_m_s": true}
        add(f"a climb at full power {at} on a day 20 °C warmer", altitude_ft, 20.0, **hot)
    return texts, found


def unlikely(fit: Fit, beyond: float = 2.5) -> tuple[str, ...]:
    """Say what came out unlike any airplane of the class, and which values no such airplane can share."""
    said = [
        f"{parameter.label} {_shown(parameter, float(parameter.value(distance)))}, where "
        f"{_shown(parameter, parameter.prior)} is usual ({parameter.source}): "
        f"{abs(distance):.1f} standard deviations away"
        for parameter, distance in zip(fit.parameters, fit.solution.distances, strict=False)
        if abs(distance) > beyond
    ]
    for group, error in fit.solution.model_error.items():
        usual = TYPICAL_ERROR.get(group, OTHER_ERROR)
        if error > _TOO_LARGE * usual:
            said.append(
                f"{group} values contradict each other or the model by {100 * error:.0f} %, where "
                f"{100 * usual:.1f} % is usual: {_MENDING.get(group, 'look for a wrong unit or condition')}"
            )
    return tuple(said)


def _shown(parameter: Parameter, value_si: float) -> str:
    unit = find_unit(parameter.unit) if parameter.unit else None
    return f"{unit.from_si(value_si) if unit else value_si:.3g} {parameter.unit}".rstrip()


@dataclass(frozen=True)
class LeftOut:
    """A value left out of the fit, and what the fit to all the others says of it [SI].

    `rounding` is half of its printed step together with what half of theirs does to what
    the others say, as independent errors add.
    """

    observation: Observation
    predicted: float
    rounding: float

    @property
    def difference(self) -> float:
        """What the others say less what is written [SI]."""
        return self.predicted - self.observation.value

    def within(self, share: float) -> bool:
        """Whether the difference is within the rounding and a share of the value."""
        return abs(self.difference) <= self.rounding + share * abs(self.observation.value)


def leave_one_out(fit: Fit) -> tuple[LeftOut, ...]:
    """Return each value beside what a fit to all the others says of it.

    One Gauss-Newton step takes the fit from all values to all but one; without
    a value that weighs much, the others are fitted anew. The model's own error
    is kept from the whole fit.
    """
    solution, problem = fit.solution, fit.problem
    weighted = solution.jacobian * solution.weights[:, None]
    information = weighted.T @ solution.jacobian + np.eye(len(solution.distances))
    inverse = np.linalg.inv(information)
    leverage = np.einsum("ij,jk,ik->i", weighted, inverse, solution.jacobian)
    pull = solution.standardised / (1 - np.minimum(leverage, 1 - 1e-9))
    moved = solution.distances[:, None] - inverse @ weighted.T * pull
    for row in np.flatnonzero(leverage > _WEIGHTY):
        moved[:, row] = _fitted_without(fit, int(row))
    predicted = np.diagonal(problem.predicted(moved)).copy()
    told_by = solution.jacobian @ inverse @ weighted.T / (1 - np.minimum(leverage, 1 - 1e-9))[:, None]
    np.fill_diagonal(told_by, 1.0)
    halves = np.array([o.half_digit for o in fit.observations]) / solution.sigma
    rounding = np.sqrt(np.square(told_by * halves).sum(axis=1)) * solution.sigma
    return tuple(map(LeftOut, fit.observations, predicted.tolist(), rounding.tolist()))


def _fitted_without(fit: Fit, row: int) -> Array:
    others = [o for i, o in enumerate(fit.observations) if i != row]
    problem = make_problem(fit.known, fit.parameters, others)
    found = solve(problem, fit.solution.distances, fit.solution.model_error).distances
    return np.append(found, np.zeros(len(fit.solution.distances) - len(found)))
