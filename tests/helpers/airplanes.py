"""The demo's airplanes as dossiers, as their designs are, and with faults in their files."""

import shutil
import tempfile
from functools import cache
from importlib.resources import files
from pathlib import Path

from flyoff.core.problems import Collector
from flyoff.demo.designs import DESIGNS
from flyoff.dossier.read import read_dossier, read_sources
from flyoff.model.fit import fit_handbook
from flyoff.model.parameters import Known, Model, parameters_of

KEYS = tuple(DESIGNS)
FOLDER = Path(str(files("flyoff.demo") / "files"))


def fuel_density(key):
    """Return the density of an airplane's fuel [kg/m³]."""
    return 800.0 if key == "vadmel" else 720.0


def _read(folder, key):
    collector = Collector()
    sources = read_sources(folder / "sources.toml", "sources.toml", collector)
    dossier = read_dossier(folder / f"aircraft/{key}.toml", f"aircraft/{key}.toml", sources, collector)
    collector.raise_any()
    return dossier


@cache
def dossier_of(key):
    """Return the dossier of a demo airplane."""
    return _read(FOLDER, key)


@cache
def handbook_fit(key):
    """Return a demo airplane fitted to its handbook."""
    return fit_handbook(dossier_of(key), fuel_density_kg_m3=fuel_density(key))


def edited(key, name, edit):
    """Return a demo airplane's dossier with one of its tables edited."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "study"
        shutil.copytree(FOLDER, copy)
        path = copy / "aircraft" / key / name
        path.write_text(edit(path.read_text("utf-8")), "utf-8")
        return _read(copy, key)


def true_model(key, **values):
    """Return a demo airplane's design as a model with its true drag, propeller and engine."""
    design = DESIGNS[key]
    compression = design.law == "compression"
    known = Known(
        key, 1, design.rated_power_w, design.rated_rotation_speed_hz,
        "compression" if compression else "spark", design.law != "normal",
        design.critical_altitude_m or None, "constant speed", 3, design.propeller_diameter_m,
        design.wing_area_m2, design.span_m, False, design.takeoff_mass_kg,
    )  # fmt: skip
    truth = {p.name: p.prior for p in parameters_of(known)}
    truth.update(
        drag_area_m2=design.drag_area_m2,
        effective_span_m=design.effective_span_m,
        figure_of_merit=design.figure_of_merit,
        blade_drag_ratio=0.0,
    )
    return Model(known, {**truth, **values})
