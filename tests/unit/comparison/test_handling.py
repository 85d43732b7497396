"""Speeds as multiples of stall, cabin measures, and noise by its energy."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from flyoff.comparison.cabin import noise_figures
from flyoff.comparison.case import Case
from flyoff.comparison.handling import NoiseRun, Noted, Rating, multiple_figures, rating_figures
from flyoff.comparison.inspection import Inspected, inspect
from flyoff.core.draws import Draws
from flyoff.core.quantity import parse_quantity
from flyoff.core.sources import Place
from helpers.runways import SPEEDS, case_in, with_runways

DRAWS = Draws(2000)
AIRSPEED = """[[tables]]
kind = "airspeed"
file = "plain/airspeed.csv"
axes = ["indicated airspeed"]
"""


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return case_in(with_runways(tmp_path), DRAWS)


def test_speeds_as_multiples_of_stall(case: Case) -> None:
    found = {f.key: f for f in multiple_figures(case)}
    assert found["plain.approach_to_stall"].si == pytest.approx(65 / 50)
    assert found["plain.rotation_to_stall"].si == pytest.approx(60 / 55)
    assert found["plain.best_glide_to_stall"].missing == "the dossier lists no best glide speed"
    half_kt = found["plain.approach_to_stall"].u95
    assert half_kt == pytest.approx(0.02, abs=0.006)  # half a knot of 65 and of 50, rectangular


def indicated(folder: Path, table: str) -> Case:
    with_runways(folder)
    aircraft = folder / "aircraft/plain.toml"
    text = aircraft.read_text("utf-8").replace(SPEEDS, SPEEDS.replace('"calibrated"', '"indicated"'))
    aircraft.write_text(text + table, "utf-8")
    rows = "indicated airspeed [kt],calibrated airspeed [kt]\n40,45\n60,63\n100,100\n"
    (folder / "aircraft/plain/airspeed.csv").write_text(rows, "utf-8")
    return case_in(folder, DRAWS)


def test_indicated_speeds_are_calibrated_where_a_table_can(tmp_path: Path) -> None:
    with_table, without = (indicated(tmp_path / str(i), t) for i, t in enumerate((AIRSPEED, "")))
    calibrated, raw = (
        next(f for f in multiple_figures(c) if "approach" in f.key) for c in (with_table, without)
    )
    assert calibrated.si == pytest.approx((63 + 5 * 37 / 40) / 54)
    assert calibrated.remarks == ()
    assert raw.si == pytest.approx(1.3)
    assert "of indicated speeds" in raw.remarks[0]


def run(*levels: str, meter: str | None = None) -> NoiseRun:
    place = Place("flights/day.toml", 9, "noise.0.levels.0")
    read = tuple(parse_quantity(text, "sound_level").at(place) for text in levels)
    u95 = parse_quantity(meter, "sound_level") if meter else None
    return NoiseRun("plain", "day", "3", "level, 4,000 ft", "ear height", read, u95)


def test_noise_is_averaged_by_its_energy(case: Case) -> None:
    dossier = next(f for f in inspect(case, Inspected())[0] if f.key == "plain.cabin_noise")
    assert dossier.missing == "the dossier does not give it"
    (level, apart), (cell,) = noise_figures(case, [run("80.0 dB(A)", "90.0 dB(A)")], dossier)
    assert level.si == pytest.approx(10 * np.log10((1e8 + 1e9) / 2))
    assert (level.key, level.basis) == ("plain.flown.day.3.cabin_noise", "measured")
    assert apart.si is None
    assert cell.level == level.key


def test_a_meters_error_does_not_average_away(case: Case) -> None:
    dossier = next(f for f in inspect(case, Inspected())[0] if f.key == "plain.cabin_noise")
    same = ["82.0 dB(A)"] * 9
    (alone, _), _ = noise_figures(case, [run(*same)], dossier)
    (metered, _), _ = noise_figures(case, [run(*same, meter="1.5 dB(A)")], dossier)
    assert (alone.u95 or 0) < 0.06
    assert metered.u95 == pytest.approx(1.5, rel=0.06)


def test_ratings_are_figures_that_no_row_ranks(case: Case) -> None:
    rating = Rating(
        "plain", "day", "steep turn", 3, "fair", "satisfactory", "A pilot", "", "", "", Place("f", 3), "s"
    )
    other = replace(rating, aircraft="another")
    figures, inspection = inspect(case, Inspected(noted=Noted(ratings=(rating, other))))
    assert inspection.ratings == (rating,)
    (told,) = [f for f in figures if ".handling." in f.key]
    assert (told.si, told.u95, told.basis) == (3.0, 0.0, "declared")
    assert told == rating_figures(case, [rating])[0]
