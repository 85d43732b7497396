"""Level-speed solutions a second against a loop over a general root finder, and the time of a full fit.

One core: numpy's linear algebra may use more for the fit, hardly for matrices this small.
"""

import math
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from run import Ratio, best_of
from scipy.optimize import brentq

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.problems import Collector
from flyoff.demo.write import write_demo
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.model import performance, propulsion
from flyoff.model.diagnostics import leave_one_out
from flyoff.model.fit import Fit, fit_handbook
from flyoff.model.parameters import Model
from flyoff.model.performance import Air, standard_air

SOLUTIONS = 1_000_000
LOOPED = 3000


def demo_dossier(key: str) -> Dossier:
    """Return a demo airplane's dossier."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "study"
        write_demo(root)
        collector = Collector()
        sources = read_sources(root / "sources.toml", "sources.toml", collector)
        dossier = read_dossier(root / f"aircraft/{key}.toml", f"aircraft/{key}.toml", sources, collector)
    collector.raise_any()
    assert dossier is not None
    return dossier


def level_speed_rates(model: Model) -> tuple[float, float]:
    """Return the seconds of a million solutions at once, and of a million by a loop over `brentq`."""
    rng = np.random.default_rng(1)
    power_w = rng.uniform(0.5, 0.8, SOLUTIONS) * model.known.rated_power_w
    air = standard_air(rng.uniform(0, 4000, SOLUTIONS), rng.uniform(1000, 1400, SOLUTIONS))
    rotation_hz = model.known.rated_rotation_speed_hz
    at_once = best_of(lambda: performance.level_speed(model, power_w, air, rotation_hz))
    needed = _plain_needed(model, rotation_hz)
    densities = air.density_kg_m3
    masses = np.asarray(air.mass_kg)
    found = np.empty(LOOPED)

    def loop() -> None:
        for i in range(LOOPED):
            where = (float(densities[i]), float(masses[i]), float(power_w[i]))
            found[i] = brentq(needed, 45.0, 120.0, args=where, xtol=1e-9)

    looped = best_of(loop) * SOLUTIONS / LOOPED
    here = Air(*(np.asarray(part)[:LOOPED] for part in air))
    alike = performance.level_speed(model, power_w[:LOOPED], here, rotation_hz)
    assert np.allclose(found, alike, rtol=1e-8)
    return at_once, looped


def _plain_needed(model: Model, rotation_hz: float) -> Callable[[float, float, float, float], float]:
    """Return power needed less power given, in plain floats: as fast as a loop can be."""
    area, span = float(model["drag_area_m2"]), float(model["effective_span_m"])
    merit, gamma = float(model["figure_of_merit"]), float(model["blade_drag_ratio"])
    diameter = model.known.diameter_m
    tangent = 1 / (0.7 * math.pi)
    t0 = propulsion.REFERENCE_ADVANCE_RATIO * tangent
    reference = t0 * (1 - t0 * gamma) / (t0 + gamma) / merit

    def excess(v: float, density: float, mass: float, power: float) -> float:
        q = density * v * v / 2
        drag = q * area + (mass * STANDARD_GRAVITY_M_S2 / span) ** 2 / (math.pi * q)
        t = v * tangent / (rotation_hz * diameter)
        thrust = drag * reference * (t + gamma) / (t * (1 - t * gamma))
        loading = 8 * thrust / (math.pi * diameter**2 * density * v * v)
        return thrust * v * (1 + math.sqrt(1 + loading)) / 2 - power

    return excess


def measure() -> list[Ratio]:
    """Return a million level speeds against a loop, and a fit with its bands against one second."""
    dossier = demo_dossier("kattun")
    fits: list[Fit] = []

    def fitted() -> None:
        fit = fit_handbook(dossier, fuel_density_kg_m3=720.0)
        assert fit.cruise(0.65, 2000.0, 0.0, 1200.0).true_airspeed.draws is not None
        fits.append(fit)

    seconds = best_of(fitted)
    at_once, looped = level_speed_rates(fits[-1].nominal)
    left_out = best_of(lambda: leave_one_out(fits[-1]))
    count = len(fits[-1].observations)
    return [
        Ratio("level speeds, a million", at_once, "a loop over scipy.optimize.brentq", looped),
        Ratio(f"fit to {count} printed values with 2,000 draws and a band", seconds, "one second", 1.0),
        Ratio("each of them left out once, the others fitted", left_out, "that fit", seconds),
    ]
