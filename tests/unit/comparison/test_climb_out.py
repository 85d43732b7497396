"""Climb after takeoff, ceiling and glide: printed values, doubts, and what cannot be said."""

import math
from pathlib import Path

import numpy as np
import pytest

from flyoff.comparison.climb_out import climb_out_figures, performance_figures
from flyoff.core.draws import Draws
from flyoff.core.figure import Figure
from flyoff.core.units import fpm, ft, kt, nmi
from helpers.runways import case_in, with_runways

HEAD = (
    "pressure altitude [ft],calibrated airspeed [kt],rate of climb [ft/min],"
    "time [min],fuel [L],distance [nmi]"
)
CLIMB = f"""{HEAD}
0,75,900,0,0,0
4000,74,700,5,4.0,7
8000,73,500,11,8.0,17
12000,72,300,20,13.0,32
"""
GLIDE = """[[tables]]
kind = "glide"
file = "plain/glide.csv"
axes = ["weight"]
"""
ROWS = "weight [kg],calibrated airspeed [kt],glide ratio\n800,60,10.0\n1100,70,10.0\n"


def figures_of(folder: Path, wind: str = "0 kt", climb: str = CLIMB) -> dict[str, Figure]:
    with_runways(folder, GLIDE, study=('wind = "0 kt"', f'wind = "{wind}"'), tables=GLIDE)
    study = folder / "study.toml"
    study.write_text(study.read_text("utf-8").replace(GLIDE, ""), "utf-8")
    (folder / "aircraft/plain/glide.csv").write_text(ROWS, "utf-8")
    (folder / "aircraft/plain/climb.csv").write_text(climb, "utf-8")
    return {
        figure.key.removeprefix("plain."): figure
        for figure in performance_figures(case_in(folder, Draws(500)))
    }


def test_rate_and_gradient_at_sea_level(tmp_path: Path) -> None:
    found = figures_of(tmp_path)
    assert found["climb_rate"].si == pytest.approx(900 * fpm)
    angle = math.asin(900 * fpm / (75 * kt))
    assert found["climb_gradient"].si == pytest.approx(math.tan(angle), rel=1e-3)
    # too few values to tell the step of print from: the last digit counts
    assert found["climb_rate"].u95 == pytest.approx(0.475, abs=0.03)


def test_the_step_of_print_counts_where_it_shows(tmp_path: Path) -> None:
    more = CLIMB + "14000,71,200,26,15.0,42\n16000,70,110,38,18.0,60\n"
    assert figures_of(tmp_path, climb=more)["climb_rate"].u95 == pytest.approx(4.75, abs=0.3)


def test_the_ceiling_is_carried_on_by_half_the_tables_height_and_said(tmp_path: Path) -> None:
    ceiling = figures_of(tmp_path / "a")["service_ceiling"]
    assert ceiling.si == pytest.approx(16_000 * ft)
    assert ceiling.extrapolated
    assert "carried on beyond the table, 12,000 ft" in " ".join(ceiling.remarks)
    inside = figures_of(tmp_path / "b", climb=CLIMB + "16000,70,50,40,18.0,60\n")["service_ceiling"]
    assert inside.si == pytest.approx(15_200 * ft)
    assert not inside.extrapolated
    short = figures_of(tmp_path / "c", climb="\n".join(CLIMB.splitlines()[:3]) + "\n")["service_ceiling"]
    assert short.missing.startswith("the climb table ends at 700 ft/min at 4,000 ft")


def test_a_glide_goes_less_far_against_the_wind(tmp_path: Path) -> None:
    still, against = (figures_of(tmp_path / w.split()[0], w)["glide_range"] for w in ("0 kt", "20 kt"))
    assert still.si == pytest.approx(10 * 8000 * ft)
    rounded = 0.95 * 0.05 * 8000 * ft / nmi  # of one printed ratio; between two of them less
    assert 0.7 * rounded < (still.u95 or 0) < rounded
    assert still.si is not None
    assert against.si is not None
    share = 1 - against.si / still.si
    assert 20 / 75 < share < 20 / 62  # of a true airspeed of about 60 to 75 kt, half way down


def test_from_a_high_hot_field_it_climbs_less(tmp_path: Path) -> None:
    figures_of(tmp_path)
    case = case_in(tmp_path, Draws(50))
    airs = ((0.0, 0.0), (1000.0, 0.0), (1000.0, 15.0))
    rates = [climb_out_figures(case, air, (), "climb", "")[0].si for air in airs]
    assert all(rate is not None for rate in rates)
    assert np.all(np.diff(np.array(rates, dtype=float)) < 0)
