"""The conditions that make the figures wanted surest: an A-optimal design by exchange.

Each condition adds the information of its rows to that of what is already known. The criterion
is the mean of the figures' variances, each over its variance before the flight (A. C. Atkinson,
A. N. Donev, R. D. Tobias, Optimum Experimental Designs, with SAS, 2007, chapters 10 and 12:
A-optimality and exchange; from memory).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array
from flyoff.model import envelope, performance
from flyoff.model.performance import standard_air
from flyoff.planning.candidates import Candidate, candidates_of, levels_of
from flyoff.planning.figures import Figure, figures_of
from flyoff.planning.request import Request

MOST_REPEATS = 2
_GAIN = 1e-6
_LEAST_RATE_M_S = 0.5


@dataclass(frozen=True)
class Cost:
    """What a set of conditions takes, chocks to chocks, and whether its glides fit under its top."""

    time_s: float
    fuel_kg: float
    fits: bool


class Design:
    """A request with its candidates, what is known before, and what any choice would leave."""

    def __init__(self, request: Request) -> None:
        self.request = request
        self.figures: tuple[Figure, ...] = figures_of(request)
        self.candidates: tuple[Candidate, ...] = candidates_of(request)
        fit = request.fit
        count = len(fit.parameters)
        self.before = np.eye(count + 2)
        self.before[:count, :count] = np.linalg.inv(fit.solution.covariance[:count, :count])
        self.slopes = np.array([[*f.slopes, 0.0, 0.0] for f in self.figures])
        self.information = [c.rows.T @ c.rows for c in self.candidates]
        self.u_before = self.u_after(())
        self.transits = {h: self._climb_to(h) for h in levels_of(request)}
        power_w = request.practice.descent_power_ratio * fit.known.rated_power_w
        self.descent_flow_kg_s = float(performance.cruise_fuel_flow(fit.nominal, power_w))

    def u_after(self, chosen: Sequence[int]) -> Array:
        """Return the standard uncertainty of each figure after a choice has been flown [SI]."""
        total = self.before + sum((self.information[i] for i in chosen), np.zeros_like(self.before))
        return np.asarray(np.sqrt(np.sum(self.slopes * np.linalg.solve(total, self.slopes.T).T, axis=1)))

    def criterion(self, u: Array) -> float:
        """Return the mean of the variances, each over what it was before."""
        return float(np.mean(np.square(u / self.u_before)))

    def cost(self, chosen: Sequence[int]) -> Cost:
        """Return what a choice takes: transit to its highest level and back, and each condition."""
        request, practice = self.request, self.request.practice
        members = [self.candidates[i] for i in chosen]
        top = self.top_m(chosen)
        up_s, up_kg = self.transits[top]
        glided = sum(c.descends_m for c in members)
        down_s = max(top - request.field_m - glided, 0.0) / practice.descent_m_s
        fixed_s = practice.before_takeoff_s + practice.landing_s
        time_s = fixed_s + up_s + down_s + sum(c.time_s for c in members)
        low_kg = self.descent_flow_kg_s * (down_s + practice.landing_s)
        fuel_kg = request.taxi_fuel_kg + up_kg + low_kg + sum(c.fuel_kg for c in members)
        return Cost(time_s, fuel_kg, glided <= max(top - request.lowest_m, 0.0) + 1e-6)

    def top_m(self, chosen: Sequence[int]) -> float:
        """Return the highest level of a choice: high enough for its glides to end above the lowest."""
        own = [self.candidates[i].altitude_m for i in chosen if self.candidates[i].kind != "glide"]
        if own:
            return max(own)
        least = self.request.lowest_m + sum(self.candidates[i].descends_m for i in chosen)
        return min((h for h in self.transits if h >= least), default=max(self.transits))

    def allows(self, chosen: Sequence[int], time_s: float) -> bool:
        """Tell whether a choice fits the time and leaves the reserve."""
        cost = self.cost(chosen)
        spare = self.request.fuel_kg - self.request.reserve_kg
        return cost.fits and cost.time_s <= time_s + 1e-6 and cost.fuel_kg <= spare + 1e-9

    def best(self, chosen: tuple[int, ...], time_s: float) -> tuple[int, ...]:
        """Return the best choice found for a time, by exchange from one that fits and from nothing.

        No figure is less sure than with the choice it starts from.
        """
        limit = self.u_after(chosen) * (1 + 1e-9)
        trials = [self._exchange(chosen, time_s, limit)]
        anew = self._exchange((), time_s, None)
        if np.all(self.u_after(anew) <= limit):
            trials.append(anew)
        return min(trials, key=lambda trial: self.criterion(self.u_after(trial)))

    def _exchange(self, chosen: tuple[int, ...], time_s: float, limit: Array | None) -> tuple[int, ...]:
        """Exchange conditions while the criterion falls."""
        value = self.criterion(self.u_after(chosen))
        while True:
            moves = list(self._moves(chosen))
            u = np.array([self.u_after(trial) for trial in moves]).reshape(len(moves), -1)
            worth = np.mean(np.square(u / self.u_before), axis=1)
            if limit is not None:
                worth[np.any(u > limit, axis=1)] = np.inf
            for k in np.argsort(worth):
                if worth[k] > value * (1 - _GAIN):
                    return chosen
                if self.allows(moves[k], time_s):
                    value, chosen = float(worth[k]), moves[k]
                    break
            else:
                return chosen

    def _moves(self, chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        """Yield choices with one condition more, one exchanged for another."""
        room = [i for i in range(len(self.candidates)) if chosen.count(i) < MOST_REPEATS]
        for i in room:
            yield tuple(sorted((*chosen, i)))
        for position, gone in enumerate(chosen):
            if gone in chosen[:position]:
                continue
            rest = chosen[:position] + chosen[position + 1 :]
            yield from (tuple(sorted((*rest, i))) for i in room if i != gone)

    def ladder(self, until_s: float) -> list[tuple[float, tuple[int, ...]]]:
        """Return the best choice for each whole step of time: each begins with the one before."""
        step = self.request.practice.step_s
        chosen: tuple[int, ...] = ()
        found = []
        for rung in range(1, int(until_s / step + 1e-9) + 1):
            if self.allows(chosen, rung * step):
                chosen = self.best(chosen, rung * step)
                found.append((rung * step, chosen))
        return found

    def _climb_to(self, altitude_m: float) -> tuple[float, float]:
        request = self.request
        if altitude_m <= request.field_m + 1.0:
            return 0.0, 0.0
        count = max(3, int((altitude_m - request.field_m) / 300) + 2)
        altitudes_m = np.linspace(request.field_m, altitude_m, count)
        air = standard_air(altitudes_m, request.ramp_mass_kg, request.isa_deviation_k)
        temperatures_k = np.asarray(air.temperature_k)
        profile = envelope.climb_path(
            request.fit.nominal, altitudes_m, temperatures_k, request.ramp_mass_kg, None, _LEAST_RATE_M_S
        )
        return float(np.ravel(profile.time_s[-1])[0]), float(np.ravel(profile.fuel_kg[-1])[0])
