"""The figures that a plan is made for, and what they gain from each parameter."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array
from flyoff.model import envelope, performance
from flyoff.model.parameters import Model
from flyoff.model.performance import standard_air
from flyoff.planning.request import Request, Wanted

_STEP = 1e-3
_UNITS: dict[Wanted, str] = {
    "range": "nmi", "cruise speed": "kt", "rate of climb": "ft/min", "glide ratio": "", "fuel flow": "kg/h",
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """A figure wanted: its value [SI], unit to show, and slope with each parameter [SI per deviation]."""

    name: Wanted
    unit: str
    value: float
    slopes: Array


def function_of(request: Request, name: Wanted) -> Callable[[Model], Array]:
    """Return what works a figure out of a model.

    Range is level cruise in still air on all usable fuel: climb, reserve and allowances,
    which no flight of this sort makes surer, are left out.
    """
    mass_kg, altitude_m = request.mass_kg, request.cruise_altitude_m
    power_w = request.cruise_power_ratio * request.fit.known.rated_power_w

    def speed(model: Model) -> Array:
        return performance.level_speed(model, power_w, standard_air(altitude_m, mass_kg))

    functions: dict[Wanted, Callable[[Model], Array]] = {
        "cruise speed": speed,
        "fuel flow": lambda m: performance.cruise_fuel_flow(m, power_w),
        "range": lambda m: request.usable_fuel_kg * speed(m) / performance.cruise_fuel_flow(m, power_w),
        "rate of climb": lambda m: (
            envelope.best_rate_of_climb(m, standard_air(0.0, request.fit.known.takeoff_mass_kg)).value
        ),
        "glide ratio": lambda m: performance.best_glide(m, mass_kg)[0],
    }
    return functions[name]


def figures_of(request: Request) -> tuple[Figure, ...]:
    """Return the figures wanted, by what is known before the flight."""
    fit = request.fit
    distances = fit.solution.distances[: len(fit.parameters)]
    steps = _STEP * np.concatenate([np.zeros((len(distances), 1)), np.eye(len(distances))], axis=1)
    model = fit.problem.model(distances[:, None] + steps)
    found = []
    for name in request.figures:
        value = np.broadcast_to(function_of(request, name)(model), steps.shape[1:])
        found.append(Figure(name, _UNITS[name], float(value[0]), (value[1:] - value[0]) / _STEP))
    return tuple(found)


def undefined(figures: Sequence[Figure]) -> tuple[str, ...]:
    """Return the figures that the airplane has none of at the terms asked."""
    return tuple(f.name for f in figures if not (np.isfinite(f.value) and np.all(np.isfinite(f.slopes))))
