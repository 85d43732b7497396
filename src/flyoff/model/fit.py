"""One airplane at any condition, fitted to its handbook, to flight, or to both.

Not for flight planning or operational use.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.draws import Draws
from flyoff.core.figure import Input, format_number
from flyoff.core.typing import Array, Floats
from flyoff.core.units import fpm, ft
from flyoff.dossier.read import Dossier
from flyoff.model import envelope, performance
from flyoff.model.checks import LEAST_VALUES, check_evidence
from flyoff.model.climb_drag import with_climb_drag
from flyoff.model.configuration import (
    CLEAN,
    UNSTATED,
    Configuration,
    configured,
    has_mixture,
    increments,
    leaned_power_ratio,
    needed,
    usual_mixture,
)
from flyoff.model.evidence import Observation, flight_observations, handbook_observations, printed_rotation
from flyoff.model.handbook import Climb, ClimbOut, Cruise, Glide, Value, sample_of
from flyoff.model.inputs import inputs_of
from flyoff.model.parameters import Known, Model, Parameter, known_of, parameters_of, two_evidences
from flyoff.model.performance import Air, standard_air
from flyoff.model.posterior import drawn_distances
from flyoff.model.predict import batches_of, predictions
from flyoff.model.solve import (
    BAD_AT,
    TYPICAL_ERROR,
    FitProblem,
    Solution,
    group_of,
    make_problem,
    solve,
)
from flyoff.model.span import LEAST_ALTITUDES_M, LEAST_POWERS, Span
from flyoff.physics.climb import SERVICE_CEILING_RATE_M_S
from flyoff.reduction.run import Reduction

_LEAST_CLIMB_M = 1.0
_BELOW_CEILING_M = 1000.0
_POWER_PER_SPEED = 2.7
"""Relative change of power per relative change of level speed in cruise: 3 where drag is all parasite."""
_POWER_GROWTH = 2.5
_ALTITUDE_GROWTH = 0.2
"""Growth of the model's error at one range of the evidence beyond it: held to simulation, no source."""
_CLIMB_GROWTH = 1.0
"""The same of rates of climb and their sums: what is left of two large powers drifts sooner."""
_HELD_BY_PARAMETERS = 0.4
"""Share of the error of speed that the parameters' spread holds already where all is printed: many
values that share it. Held to simulation, no source."""
_FLOW_GROWTH = 0.10
"""Relative doubt of consumption at one range of power beyond the evidence; held to simulation, no source."""
_CHART_U = 0.03
"""Relative doubt of the general chart of mixtures for one engine; common practice, no source."""
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
    configuration: Configuration = CLEAN

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
        return configured(self._clean, self.configuration)

    @property
    def _clean(self) -> Model:
        return self.problem.model(self.solution.distances[: len(self.parameters)])

    def configured(self, *, gear_down: bool = False, flaps_rad: float = 0.0, mixture: str = "") -> "Fit":
        """Return the airplane as it is with gear, flaps and mixture set: it answers as this one does."""
        return replace(self, configuration=Configuration(gear_down, flaps_rad, mixture))

    @cached_property
    def distances(self) -> Array:
        """Distances from the priors, nominal first and draws after, shape (parameters, 1 + draws)."""
        return drawn_distances(self.problem, self.solution, self.draws, self.known.key)

    @cached_property
    def model(self) -> Model:
        """The airplane with its draws, nominal first."""
        model = self.problem.model(self.distances)
        left = (p for p in increments(self.known) if p.name not in model.values)
        values = {**model.values, **{p.name: p.value(self._stream(p.name)) for p in left}}
        if self._is_by_chart:
            doubt = 1 + _CHART_U * self._stream("general chart of mixture")
            values["specific_consumption_kg_j"] = values["specific_consumption_kg_j"] * doubt
        return configured(Model(self.known, values), self.configuration)

    @property
    def _is_by_chart(self) -> bool:
        """Whether the mixture is one that no evidence was taken with."""
        mixture = self.configuration.mixture
        seen = {o.configuration.mixture for o in self.observations} | {self.known.mixture or UNSTATED}
        return bool(mixture) and mixture not in seen

    def _stream(self, name: str) -> Array:
        """Return standard normal draws of what no evidence tells, nominal first."""
        return np.concatenate([[0.0], self.draws.normal(f"{self.known.key}#model#{name}")])

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
        relative = self.solution.model_error.get(group, TYPICAL_ERROR.get(group, 0.0))
        size = np.abs(sample) if scale is None else np.full(sample.shape, scale)
        return np.asarray(sample + relative * size * self._error(group))

    def _error(self, group: str) -> Array:
        return np.concatenate([[0.0], self.draws.normal(f"{self.known.key}#model error#{group}")])

    def level_speed(self, power_w: Floats, air: Air, rotation_speed_hz: Floats | None = None) -> Array:
        """Return level true airspeed as a sample, nominal first, with the model's own error [m/s].

        The error is one of the power needed: near the least power of level
        flight a little of it is much in speed, as in the air. It grows beyond
        the powers and altitudes of the evidence.
        """
        share = np.atleast_1d(power_w)[..., :1] / self.known.rated_power_w
        asked = np.asarray(power_w) * self._power_factor(air.pressure_altitude_m, share)
        return performance.level_speed(self.model, asked, air, rotation_speed_hz)

    def _power_factor(self, pressure_altitude_m: Floats, power_ratio: Floats) -> Array:
        """Return the model's own error of the power needed as a factor, a sample."""
        grown = self._grown("speed", pressure_altitude_m, power_ratio)
        relative = grown * _POWER_PER_SPEED * self.solution.model_error.get("speed", 0.0)
        return np.asarray(1 + relative * self._error("speed"))

    def _consumption_factor(self, power_ratio: float) -> Array:
        """Return the doubt of consumption at a power beyond the evidence as a factor, a sample."""
        beyond = float(self._powers.beyond(power_ratio))
        return np.asarray(1 + _FLOW_GROWTH * beyond * self._stream("consumption beyond the evidence"))

    def _grown(self, group: str, pressure_altitude_m: Floats, power_ratio: Floats | None = None) -> Array:
        """Return how much larger the model's own error is than amid the evidence: 1 there, more beyond."""
        altitude_m = np.asarray(pressure_altitude_m)
        growth = _CLIMB_GROWTH if group in {"rate of climb", "climb sums"} else _ALTITUDE_GROWTH
        grown = 1 + growth * self._altitudes_of(group).beyond(altitude_m)
        if power_ratio is None:
            return grown
        if all(o.evidence == "handbook" for o in self.observations):
            grown = grown - _HELD_BY_PARAMETERS
        return np.asarray(grown + _POWER_GROWTH * self._powers.beyond(power_ratio))

    @cached_property
    def _powers(self) -> Span:
        """Least and largest share of rated power with a level speed or a fuel flow."""
        shares = [o.power_ratio for o in self.observations if o.kind in {"speed at power", "fuel flow"}]
        flows = np.array([o.fuel_flow_kg_s for o in self.observations if o.kind == "speed at fuel flow"])
        powers = performance.power_at_fuel_flow(self._clean, flows) / self.known.rated_power_w
        every = [*shares, *powers.tolist()]
        return Span.of(every, LEAST_POWERS, unseen=1.0)

    def _altitudes_of(self, *groups: str) -> Span:
        every = [o.pressure_altitude_m for o in self.observations if group_of(o.kind) in groups]
        return Span.of(every, LEAST_ALTITUDES_M, unseen=10_000.0)

    def cruise(
        self,
        power_ratio: float,
        pressure_altitude_m: float,
        isa_deviation_k: float,
        mass_kg: float,
        *,
        mixture: str = "",
    ) -> Cruise:
        """Return cruise at a share of rated power, as `Handbook.cruise` does.

        With the mixture of most cruise evidence where none is given.
        """
        if mixture and mixture != self.configuration.mixture:
            leaned = replace(self, configuration=self.configuration._replace(mixture=mixture))
            return leaned.cruise(power_ratio, pressure_altitude_m, isa_deviation_k, mass_kg)
        if self.configuration.mixture and not has_mixture(self.known):
            missing = "nobody sets the mixture of this engine"
            return Cruise(Value(None, None, missing=missing), Value(None, None, missing=missing))
        power_w = power_ratio * self.known.rated_power_w
        air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
        most = float(performance.full_power(self.nominal, air)) / self.known.rated_power_w
        if self.configuration.mixture:
            most *= float(leaned_power_ratio(self.nominal, self.configuration.mixture))
        if most < power_ratio - 1e-6:
            level = f"{format_number(pressure_altitude_m / ft, 0)} ft"
            leaned_to = f" with {self.configuration.mixture}" if self.configuration.mixture else ""
            missing = f"the engine gives {format_number(100 * most, 0)} % at {level}{leaned_to}"
            return Cruise(Value(None, None, missing=missing), Value(None, None, missing=missing))
        speed = self.level_speed(power_w, air)
        flow = performance.cruise_fuel_flow(self.model, power_w)
        grown = float(self._grown("fuel flow", pressure_altitude_m))
        at = {"power_ratio": power_ratio, "pressure_altitude_m": pressure_altitude_m}
        flow = self.with_model_error(flow, "fuel flow", grown * float(flow[0]))
        flow = flow * self._consumption_factor(power_ratio)
        return Cruise(self._value(speed, **at), self._value(flow, **at))

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
        size = (self.largest("rate of climb") or float(rate.ravel()[0])) * float(
            self._grown("rate of climb", pressure_altitude_m)
        )
        sample = self.with_model_error(rate, "rate of climb", size)
        return self._value(sample, pressure_altitude_m=pressure_altitude_m)

    def climb_out(self, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float) -> ClimbOut:
        """Return the best rate of climb and the true airspeed at which the nominal airplane has it."""
        air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
        speed = float(envelope.best_rate_of_climb(self.nominal, air).true_airspeed_m_s.ravel()[0])
        rate = self.rate_of_climb(pressure_altitude_m, isa_deviation_k, mass_kg)
        return ClimbOut(rate, self._value(np.full(self.draws.count + 1, speed)))

    def service_ceiling(self, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return the pressure altitude [m] at which 100 ft/min are left."""
        top_m = envelope.ceilings(self.nominal, mass_kg, isa_deviation_k)[0]
        return self._ceiling(top_m, SERVICE_CEILING_RATE_M_S, isa_deviation_k, mass_kg)

    def absolute_ceiling(self, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return the pressure altitude [m] at which no rate of climb is left."""
        top_m = envelope.ceilings(self.nominal, mass_kg, isa_deviation_k)[1]
        return self._ceiling(top_m, 0.0, isa_deviation_k, mass_kg)

    def _ceiling(self, nominal_m: Floats, left_m_s: float, isa_deviation_k: float, mass_kg: float) -> Value:
        """Return a ceiling; about the nominal one each draw's rate is taken to fall in a straight line."""
        top_m = float(np.ravel(nominal_m)[0])
        if not top_m > _BELOW_CEILING_M:
            return self._value(np.full(self.draws.count + 1, np.nan))
        low, high = (
            sample_of(self.rate_of_climb(h, isa_deviation_k, mass_kg))
            for h in (top_m - _BELOW_CEILING_M, top_m)
        )
        if low is None or high is None:
            return self._value(np.full(self.draws.count + 1, np.nan))
        more_m = (high - left_m_s) * _BELOW_CEILING_M / (low - high)
        return self._value(top_m + more_m, pressure_altitude_m=top_m)

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
        grown = float(self._grown(group, to_m))
        time, fuel, distance = (
            self._value(
                self.with_model_error(part[-1], group, grown * float(part[-1, 0])), pressure_altitude_m=to_m
            )
            for part in profile
        )
        return Climb(time, fuel, distance)

    def best_glide(self, mass_kg: float) -> Glide:
        """Return the best glide ratio and its equivalent airspeed [m/s]."""
        ratio, speed = performance.best_glide(self.model, mass_kg)
        return Glide(self._value(self.with_model_error(ratio, "glide")), self._value(speed))

    def fuel_value(self, sample: Array, power_ratio: float, pressure_altitude_m: float) -> Value:
        """Return what is in proportion to fuel flow at a speed, with the model's own errors: of power too."""
        with_power = sample * self._power_factor(pressure_altitude_m, power_ratio)
        size = float(self._grown("fuel flow", pressure_altitude_m)) * float(sample[0])
        with_flow = self.with_model_error(with_power, "fuel flow", size) * self._consumption_factor(
            power_ratio
        )
        return self._value(with_flow, power_ratio=power_ratio, pressure_altitude_m=pressure_altitude_m)

    def value_of(
        self, function: Callable[[Model], Array], group: str = "", at: Mapping[str, float] | None = None
    ) -> Value:
        """Return any performance of the model as a value: ``fit.value_of(lambda m: ...)``.

        `at` is the ``power_ratio`` and ``pressure_altitude_m`` that it is asked at.
        """
        sample = np.asarray(function(self.model))
        return self._value(self.with_model_error(sample, group) if group else sample, **(at or {}))

    def largest(self, kind: str) -> float | None:
        """Return the largest value observed of a kind [SI], or None."""
        return max((o.value for o in self.observations if o.kind == kind), default=None)

    def _value(self, sample: Array, **where: float) -> Value:
        if not np.isfinite(sample[0]):
            return Value(None, None, missing="the airplane cannot fly there, by the fitted model")
        # a draw that cannot fly there leaves the band to those that can
        kept = np.isfinite(sample)
        draws = np.where(kept, sample, np.quantile(sample[kept], 0.025))[1:]
        beyond = (*self._extrapolated(where), *self._by_prior())
        remarks = (*beyond, *(["some of the draws cannot fly there"] if not kept.all() else []))
        return Value(float(sample[0]), draws, self.inputs, remarks, extrapolated=bool(beyond))

    def _extrapolated(self, where: dict[str, float]) -> Iterable[str]:
        words = {"power_ratio": "power", "pressure_altitude_m": "altitude"}
        for name, asked in where.items():
            low, high = self._ranges[name]
            if not low - 1e-6 <= asked <= high + 1e-6:
                yield f"extrapolated: beyond the {words[name]} of all the evidence"

    def _by_prior(self) -> Iterable[str]:
        """Say which settings rest on the prior of a class or a general chart, not on evidence."""
        fitted, c = {p.name for p in self.parameters}, self.configuration
        asked = {"gear_drag_area_m2": c.gear_down, "flap_drag_area_m2": c.flaps_rad > 0}
        for p in increments(self.known):
            if asked.get(p.name) and p.name not in fitted:
                yield f"{p.label} by {p.source.split(':')[0]}, not by evidence"
        if self._is_by_chart:
            yield f"consumption with {c.mixture} by a general chart: no evidence with it"

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
        """What the fit rests on."""
        return inputs_of(self.observations)


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


def fit_observations(
    known: Known,
    observations: Sequence[Observation],
    *,
    draws: Draws | None = None,
    remarks: Sequence[str] = (),
) -> Fit:
    """Return an airplane fitted to any list of observations."""
    settings = [o.configuration for o in observations]
    known = replace(known, mixture=usual_mixture(settings))
    parameters = (*parameters_of(known), *needed(known, settings))
    if len({o.evidence for o in observations}) == 2:
        parameters = (*parameters, *two_evidences())
    drawn = draws or Draws()
    kept, said, start = _true_glides(known, parameters, observations, drawn)
    problem = make_problem(known, parameters, kept)
    taken = with_climb_drag(problem, solve(problem, start))
    return Fit(known, taken.problem, taken.solution, drawn, (*remarks, *said, *taken.remarks))


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
