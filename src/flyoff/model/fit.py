"""One airplane at any condition, fitted to its handbook, to flight, or to both.

Not for flight planning or operational use.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.draws import COVERAGE_95, Draws
from flyoff.core.figure import Input, format_number, supported_decimals
from flyoff.core.typing import Array, Floats
from flyoff.core.units import fpm, ft, kt
from flyoff.dossier.read import Dossier
from flyoff.model import envelope, performance
from flyoff.model.checks import LEAST_VALUES, check_evidence
from flyoff.model.evidence import (
    Observation,
    flight_observations,
    handbook_observations,
    printed_rotation,
)
from flyoff.model.handbook import Climb, Cruise, Value
from flyoff.model.parameters import Known, Model, Parameter, known_of, parameters_of, two_evidences
from flyoff.model.performance import Air, standard_air
from flyoff.model.predict import batches_of, predictions
from flyoff.model.solve import BAD_AT, FitProblem, Solution, group_of, make_problem, solve
from flyoff.reduction.run import Reduction

_LEAST_CLIMB_M = 1.0
_POWER_PER_SPEED = 2.7
"""Relative change of power per relative change of level speed in cruise: 3 where drag is all parasite."""
_POWER_GROWTH = 1.0
_ALTITUDE_GROWTH = 0.1
"""Growth of the model's error at one range of the evidence beyond it: held to simulation, no source."""
_SURE = 0.95
_SINKS_LESS = 0.9


@dataclass(frozen=True)
class BadPoint:
    """A value that the others contradict: by how many standard uncertainties, and what they say instead."""

    observation: Observation
    predicted: float
    distance_ratio: float

    def __str__(self) -> str:
        """Return where it is, and how far off."""
        off = format_number(abs(self.distance_ratio), 0)
        return f"{self.observation}: {off} standard uncertainties from what all the others say"


@dataclass(frozen=True)
class Fit:
    """A fitted airplane: its model with draws, and how far to trust it.

    The first of each set of draws is the nominal value.
    """

    known: Known
    problem: FitProblem
    solution: Solution
    draws: Draws
    remarks: tuple[str, ...] = ()

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """The parameters that were fitted."""
        return self.problem.parameters

    @property
    def observations(self) -> tuple[Observation, ...]:
        """What was fitted to."""
        return self.problem.observations

    @property
    def nominal(self) -> Model:
        """The most probable airplane."""
        return self.problem.model(self.solution.distances[: len(self.parameters)])

    @cached_property
    def distances(self) -> Array:
        """Distances from the priors, nominal first and draws after, shape (parameters, 1 + draws)."""
        z, root = self.solution.distances, np.linalg.cholesky(self.solution.covariance)
        names = [*(p.name for p in self.parameters), *self.problem.shared_names]
        normal = np.stack([self.draws.normal(f"{self.known.key}#model#{name}") for name in names])
        drawn = z[:, None] + root @ normal
        return np.concatenate([z[:, None], drawn], axis=1)[: len(self.parameters)]

    @cached_property
    def model(self) -> Model:
        """The airplane with its draws, nominal first."""
        return self.problem.model(self.distances)

    @property
    def bad_points(self) -> tuple[BadPoint, ...]:
        """The values that all the others contradict."""
        far = np.flatnonzero(np.abs(self.solution.standardised) > BAD_AT)
        return tuple(
            BadPoint(
                self.observations[i],
                float(self.solution.predicted[i]),
                float(self.solution.standardised[i]),
            )
            for i in far
        )

    def with_model_error(self, sample: Array, group: str, scale: float | None = None) -> Array:
        """Return a sample, nominal first in its last axis, with the model's own error in its draws.

        One error for each group and airplane: a model that is too fast at one
        altitude is likely too fast at the next.
        """
        relative = self.solution.model_error.get(group, 0.0)
        size = np.abs(sample) if scale is None else np.full(sample.shape, scale)
        error = np.concatenate([[0.0], self.draws.normal(f"{self.known.key}#model error#{group}")])
        return np.asarray(sample + relative * size * error)

    def level_speed(self, power_w: Floats, air: Air, rotation_speed_hz: Floats | None = None) -> Array:
        """Return level true airspeed as a sample, nominal first, with the model's own error [m/s].

        The error is one of the power needed: near the least power of level
        flight a little of it is much in speed, as in the air. It grows beyond
        the powers and altitudes of the evidence.
        """
        share = np.atleast_1d(power_w)[..., :1] / self.known.rated_power_w
        altitude_m = np.asarray(air.pressure_altitude_m)
        grown = _POWER_GROWTH * _beyond(share, self._powers)
        grown = grown + _ALTITUDE_GROWTH * _beyond(altitude_m, self._altitudes)
        relative = (1 + grown) * _POWER_PER_SPEED * self.solution.model_error.get("speed", 0.0)
        error = np.concatenate([[0.0], self.draws.normal(f"{self.known.key}#model error#speed")])
        asked = np.asarray(power_w) * (1 + relative * error)
        return performance.level_speed(self.model, asked, air, rotation_speed_hz)

    @cached_property
    def _powers(self) -> tuple[float, float]:
        """Least and largest share of rated power with a level speed."""
        shares = [o.power_ratio for o in self.observations if o.kind == "speed at power"]
        flows = np.array([o.fuel_flow_kg_s for o in self.observations if o.kind == "speed at fuel flow"])
        powers = performance.power_at_fuel_flow(self.nominal, flows) / self.known.rated_power_w
        every = [*shares, *powers.tolist()]
        return (min(every), max(every)) if every else (0.0, 1.0)

    @cached_property
    def _altitudes(self) -> tuple[float, float]:
        """Lowest and highest pressure altitude with a level speed [m]."""
        return self._altitudes_of("speed")

    def _altitudes_of(self, *groups: str) -> tuple[float, float]:
        every = [o.pressure_altitude_m for o in self.observations if group_of(o.kind) in groups]
        return (min(every), max(every)) if every else (0.0, 10_000.0)

    def cruise(
        self, power_ratio: float, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float
    ) -> Cruise:
        """Return cruise at a share of rated power, as `Handbook.cruise` does."""
        power_w = power_ratio * self.known.rated_power_w
        air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
        most = float(performance.full_power(self.nominal, air)) / self.known.rated_power_w
        if most < power_ratio - 1e-6:
            level = f"{format_number(pressure_altitude_m / ft, 0)} ft"
            missing = f"the engine gives {format_number(100 * most, 0)} % at {level}"
            return Cruise(Value(None, None, missing=missing), Value(None, None, missing=missing))
        speed = self.level_speed(power_w, air)
        flow = performance.cruise_fuel_flow(self.model, power_w)
        at = {"power_ratio": power_ratio, "pressure_altitude_m": pressure_altitude_m}
        return Cruise(
            self._value(speed, **at),
            self._value(self.with_model_error(flow, "fuel flow"), **at),
        )

    def speed_at_fuel_flow(
        self, fuel_flow_kg_s: float, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float
    ) -> Value:
        """Return the true airspeed [m/s] at a fuel flow, as `Handbook.speed_at_fuel_flow` does."""
        air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
        power_w = performance.power_at_fuel_flow(self.model, fuel_flow_kg_s)
        speed = self.level_speed(power_w, air)
        return self._value(speed, pressure_altitude_m=pressure_altitude_m)

    def rate_of_climb(self, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return the best rate of climb [m/s] at full power."""
        air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
        rate = envelope.best_rate_of_climb(self.model, air).value
        sample = self.with_model_error(rate, "rate of climb", self.largest("rate of climb"))
        return self._value(sample, pressure_altitude_m=pressure_altitude_m)

    def climb(self, from_m: float, to_m: float, isa_deviation_k: float, mass_kg: float) -> Climb:
        """Return the climb between two pressure altitudes at best rate, as `Handbook.climb` does."""
        low_m = max(from_m, 0.0)
        if to_m < from_m:
            none = Value(None, None, missing="the departure lies above the altitude of the terms")
            return Climb(none, none, none)
        if to_m - low_m < _LEAST_CLIMB_M:
            nothing = self._value(np.zeros(self.draws.count + 1))
            return Climb(nothing, nothing, nothing)
        altitudes_m = np.linspace(low_m, to_m, max(3, int((to_m - low_m) / 300) + 2))
        air = standard_air(altitudes_m, mass_kg, isa_deviation_k)
        # one schedule of speeds for every draw: a pilot flies the best known, not the best there is
        root = np.sqrt(air.density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3)
        schedule = envelope.best_rate_of_climb(self.nominal, air).true_airspeed_m_s * root
        temperatures_k = np.asarray(air.temperature_k)
        profile = envelope.climb_path(self.model, altitudes_m, temperatures_k, mass_kg, schedule)
        # where no printed sums were fitted to, the rates' error is that of their sums
        group = "climb sums" if "climb sums" in self.solution.model_error else "rate of climb"
        known = self._altitudes_of("climb sums", "rate of climb")
        grown = 1 + _ALTITUDE_GROWTH * float(_beyond(np.asarray(to_m), known))
        time, fuel, distance = (
            self._value(
                self.with_model_error(part[-1], group, grown * float(part[-1, 0])), pressure_altitude_m=to_m
            )
            for part in profile
        )
        return Climb(time, fuel, distance)

    def best_glide(self, mass_kg: float) -> tuple[Value, Value]:
        """Return the best glide ratio and its equivalent airspeed [m/s]."""
        ratio, speed = performance.best_glide(self.model, mass_kg)
        return self._value(self.with_model_error(ratio, "glide")), self._value(speed)

    def value_of(self, function: Callable[[Model], Array], group: str = "") -> Value:
        """Return any performance of the model as a value: ``fit.value_of(lambda m: ...)``."""
        sample = np.asarray(function(self.model))
        return self._value(self.with_model_error(sample, group) if group else sample)

    def largest(self, kind: str) -> float | None:
        """Return the largest value observed of a kind [SI], or None."""
        return max((o.value for o in self.observations if o.kind == kind), default=None)

    def _value(self, sample: Array, **where: float) -> Value:
        if not np.isfinite(sample[0]):
            return Value(None, None, missing="the airplane cannot fly there, by the fitted model")
        # a draw that cannot fly there leaves the band to those that can
        kept = np.isfinite(sample)
        draws = np.where(kept, sample, np.quantile(sample[kept], 0.025))[1:]
        beyond = tuple(self._extrapolated(where))
        remarks = (*beyond, *(["some of the draws cannot fly there"] if not kept.all() else []))
        return Value(float(sample[0]), draws, self.inputs, remarks, extrapolated=bool(beyond))

    def _extrapolated(self, where: dict[str, float]) -> Iterable[str]:
        words = {"power_ratio": "power", "pressure_altitude_m": "altitude"}
        for name, asked in where.items():
            low, high = self._ranges[name]
            if not low - 1e-6 <= asked <= high + 1e-6:
                yield f"extrapolated: beyond the {words[name]} of all the evidence"

    @cached_property
    def _ranges(self) -> dict[str, tuple[float, float]]:
        """Least and largest power share and altitude of all observations; unbounded where there is none."""
        found = {}
        for name in ("power_ratio", "pressure_altitude_m"):
            every = [x for o in self.observations if np.isfinite(x := getattr(o, name))]
            found[name] = (min(every), max(every)) if every else (-np.inf, np.inf)
        return found

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """What the fit rests on: each flown value by its line, printed ones by column and file."""
        columns: dict[tuple[str, str], list[Observation]] = {}
        flown: list[Input] = []
        for o in self.observations:
            if o.evidence == "handbook":
                columns.setdefault((o.place.file, o.place.field), []).append(o)
            else:
                altitude = f"{format_number(o.pressure_altitude_m / ft, 0)} ft"
                flown.append(Input(f"flown {o.text} at {altitude}", _said(o), o.place, o.source))
        return (*(_column(members) for members in columns.values()), *flown)


def _said(o: Observation) -> str:
    """Return a flown value in trade units with its doubt of every sort."""
    u95 = COVERAGE_95 * float(np.hypot(o.u, o.u_shared))
    if group_of(o.kind) == "speed":
        u95, value, unit = u95 / kt, o.value / kt, "kt true"
    else:
        u95, value, unit = u95 / fpm, o.value / fpm, "ft/min"
    decimals = supported_decimals(value, u95)
    return f"{format_number(value, decimals)} ± {format_number(u95, decimals)} {unit}"


def _column(members: Sequence[Observation]) -> Input:
    """Return the printed values of one column that were fitted to, with the lines they stand on."""
    first, last = (pick(members, key=lambda o: o.place.line) for pick in (min, max))
    count = "1 value" if len(members) == 1 else f"{len(members)} values"
    lines = f"line {first.place.line}"
    if last.place.line > first.place.line:
        lines = f"lines {first.place.line} to {last.place.line}"
    return Input(f"printed {first.place.field or first.kind}", f"{count}, {lines}", first.place, first.source)


def _beyond(asked: Array, known: tuple[float, float]) -> Array:
    """Return how far beyond a range something is, in lengths of the range."""
    low, high = known
    return np.asarray(np.maximum(np.maximum(low - asked, asked - high), 0.0) / max(high - low, 1e-9))


def fit_airplane(
    dossier: Dossier,
    reductions: Sequence[Reduction] = (),
    *,
    fuel_density_kg_m3: float,
    use_handbook: bool = True,
    draws: Draws | None = None,
) -> Fit:
    """Return an airplane fitted to its handbook, to flights, or to both.

    With both, the model is of the airplane that was flown; the handbook's may
    differ from it in drag and consumption, by factors that are fitted too.

    Raises
    ------
    Problems
        If the evidence does not suffice, or contradicts physics.
    """
    known = known_of(dossier)
    known = replace(known, rotation_speeds=printed_rotation(dossier))
    observations = handbook_observations(dossier, known, fuel_density_kg_m3) if use_handbook else []
    remarks: list[str] = []
    for reduction in reductions:
        flown, said = flight_observations(reduction, known, fuel_density_kg_m3)
        observations += flown
        remarks += said
    check_evidence(dossier, known, observations)
    return fit_observations(known, observations, draws=draws, remarks=remarks)


def fit_handbook(dossier: Dossier, *, fuel_density_kg_m3: float, draws: Draws | None = None) -> Fit:
    """Return an airplane fitted to its handbook alone.

    Raises
    ------
    Problems
        If the evidence does not suffice, or contradicts physics.
    """
    return fit_airplane(dossier, fuel_density_kg_m3=fuel_density_kg_m3, draws=draws)


def fit_flight(
    dossier: Dossier,
    reductions: Sequence[Reduction],
    *,
    fuel_density_kg_m3: float,
    draws: Draws | None = None,
) -> Fit:
    """Return an airplane fitted to flights alone.

    Raises
    ------
    Problems
        If the evidence does not suffice, or contradicts physics.
    """
    return fit_airplane(
        dossier, reductions, fuel_density_kg_m3=fuel_density_kg_m3, use_handbook=False, draws=draws
    )


def fit_observations(
    known: Known,
    observations: Sequence[Observation],
    *,
    draws: Draws | None = None,
    remarks: Sequence[str] = (),
) -> Fit:
    """Return an airplane fitted to any list of observations."""
    parameters = parameters_of(known)
    if len({o.evidence for o in observations}) == 2:
        parameters = (*parameters, *two_evidences())
    drawn = draws or Draws()
    kept, said, start = _true_glides(known, parameters, observations, drawn)
    problem = make_problem(known, parameters, kept)
    return Fit(known, problem, solve(problem, start), drawn, (*remarks, *said))


def _true_glides(
    known: Known, parameters: Sequence[Parameter], observations: Sequence[Observation], draws: Draws
) -> tuple[list[Observation], list[str], Array | None]:
    """Leave out flown descents that sink less than all else says they could without power.

    No log shows a little power left on: at idle fuel flow it looks like a glide. Also
    returns where the fit to all else ended, for the fit to what is kept ends near there.
    """
    flown_down = [o.kind == "sink rate" and o.evidence == "flight" for o in observations]
    descents = [o for o, down in zip(observations, flown_down, strict=True) if down]
    others = [o for o, down in zip(observations, flown_down, strict=True) if not down]
    if not descents or len(others) < LEAST_VALUES:
        return list(observations), [], None
    problem = make_problem(known, parameters, others)
    first = Fit(known, problem, solve(problem), draws)
    sinks = predictions(first.model, batches_of(descents), len(descents))
    least = np.quantile(sinks[:, 1:], 1 - _SURE, axis=1)
    limits = np.minimum(least, _SINKS_LESS * sinks[:, 0])
    glides = [o for o, limit in zip(descents, limits, strict=True) if not o.value < limit]
    said = [
        f"{o}: left out: sinks less than the airplane can without power ({o.value / fpm:,.0f} ft/min)"
        for o, limit in zip(descents, limits, strict=True)
        if o.value < limit
    ]
    return [*others, *glides], said, first.solution.distances
