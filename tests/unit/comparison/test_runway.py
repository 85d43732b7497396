"""Runway distances: the handbook where it prints, published factors where not, and what cannot be used."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.comparison.case import Case
from flyoff.comparison.distances import Weather, distances
from flyoff.comparison.runway import KINDS
from flyoff.core.draws import Draws, half_width_95
from flyoff.core.units import celsius, ft, kt
from flyoff.study.run import Study, load
from helpers.runways import TABLES, case_in, with_runways

DRAWS = Draws(400)
PLAIN = Weather(0.0, celsius(20.0))
MASS_KG = 1100.0


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    return case_in(with_runways(tmp_path_factory.mktemp("plain")), DRAWS)


def total(case: Case, weather: Weather, kind: str = "takeoff", mass_kg: float = MASS_KG) -> float:
    found = distances(case, "takeoff" if kind == "takeoff" else "landing", weather, mass_kg)
    assert found.total_m is not None, found.missing
    return float(found.total_m[0])


def test_what_is_printed_is_read_as_printed(case: Case) -> None:
    found = distances(case, "takeoff", Weather(2000 * ft, celsius(40.0)), MASS_KG)
    assert found.total_m is not None
    assert found.roll_m is not None
    assert (found.roll_m[0] / ft, found.total_m[0] / ft) == pytest.approx((1220, 2310))
    assert not found.extrapolated
    assert found.remarks == ()


def test_its_doubt_is_the_step_of_print_and_grows_between_values(case: Case) -> None:
    printed, between = (
        distances(case, "takeoff", Weather(h * ft, celsius(20.0)), MASS_KG).total_m for h in (2000, 1000)
    )
    assert printed is not None
    assert between is not None
    # all values end in 0: half of 10 ft, rectangular
    assert half_width_95(printed[1:], float(printed[0])) / ft == pytest.approx(0.95 * 5, abs=0.4)
    # half of s (1 - s) of the second difference, 2,480 - 2 x 2,040 + 1,690 = 90 ft: 11 ft
    bent = half_width_95(between[1:], float(between[0])) / ft
    assert bent == pytest.approx(np.hypot(90 / 8, 0.95 * 5 / 2**0.5), rel=0.15)


@given(
    altitude_ft=st.floats(0, 6000),
    degrees=st.floats(0, 45),
    wind_kt=st.floats(-10, 25),
    mass_kg=st.floats(850, 1150),
    kind=st.sampled_from(KINDS),
)
@settings(max_examples=40, deadline=None)
def test_what_hinders_never_shortens(
    case: Case, altitude_ft: float, degrees: float, wind_kt: float, mass_kg: float, kind: str
) -> None:
    here = Weather(altitude_ft * ft, celsius(degrees), wind_kt * kt)
    base = total(case, here, kind, mass_kg)
    tolerance = 1e-6
    assert total(case, replace(here, temperature_k=celsius(degrees + 5)), kind, mass_kg) >= base - tolerance
    assert total(case, replace(here, head_wind_m_s=(wind_kt - 3) * kt), kind, mass_kg) >= base - tolerance
    assert total(case, replace(here, surface="short grass"), kind, mass_kg) > base
    assert total(case, here, kind, mass_kg + 20) > base
    higher = replace(here, pressure_altitude_m=(altitude_ft + 400) * ft)
    assert total(case, higher, kind, mass_kg) >= base - tolerance


def test_published_factors_stand_in(case: Case) -> None:
    base = total(case, PLAIN)
    assert total(case, replace(PLAIN, surface="short grass")) == pytest.approx(1.20 * base)
    assert total(case, replace(PLAIN, surface="long grass", is_wet=True)) == pytest.approx(1.30 * base)
    assert total(case, replace(PLAIN, slope=0.02)) == pytest.approx(1.10 * base)
    assert total(case, replace(PLAIN, slope=-0.02)) == pytest.approx(base)
    assert total(case, PLAIN, mass_kg=1.1 * MASS_KG) == pytest.approx(1.20 * base)
    # a tail wind of 10 % of the rotation speed
    assert total(case, replace(PLAIN, head_wind_m_s=-0.1 * 60 * kt)) == pytest.approx(1.20 * base)


def test_beyond_the_table_is_said(case: Case) -> None:
    found = distances(case, "takeoff", Weather(5000 * ft, celsius(20.0)), MASS_KG)
    assert found.extrapolated
    assert found.remarks == ("extrapolated from pressure altitude 4,000 ft by a published factor",)
    assert found.total_m is not None
    assert found.total_m[0] / ft == pytest.approx(1.1 * 2480)
    cold = distances(case, "takeoff", Weather(0.0, celsius(-20.0)), MASS_KG)
    assert not cold.extrapolated
    assert cold.total_m is not None
    assert cold.total_m[0] / ft == pytest.approx(1500)
    assert "nothing is gained beyond it" in cold.remarks[0]


def test_grass_adds_on_the_ground_and_its_factor_is_doubted(case: Case) -> None:
    paved, grass = (
        distances(case, "takeoff", w, MASS_KG) for w in (PLAIN, replace(PLAIN, surface="short grass"))
    )
    for found in (paved, grass):
        assert found.total_m is not None
        assert found.roll_m is not None
    air = [found.total_m - found.roll_m for found in (paved, grass)]
    assert np.allclose(*air)
    half = half_width_95(grass.total_m[1:], float(grass.total_m[0])) / float(paved.total_m[0])
    assert half == pytest.approx(0.10, abs=0.015)


def test_the_tables_own_notes_come_first(tmp_path: Path) -> None:
    notes = 'head_wind_tenth = "9 kt"\ntail_wind_tenth = "2 kt"\ndry_grass = "15 %"\n'
    tables = TABLES.replace('weight = "1,100 kg"\n', f'weight = "1,100 kg"\n{notes}', 1)
    own = case_in(with_runways(tmp_path, tables=tables), DRAWS)
    base = total(own, PLAIN)
    assert total(own, replace(PLAIN, head_wind_m_s=9 * kt)) == pytest.approx(0.9 * base)
    assert total(own, replace(PLAIN, head_wind_m_s=-4 * kt)) == pytest.approx(1.2 * base)
    grass = total(own, replace(PLAIN, surface="short grass"))
    assert (grass - base) / ft == pytest.approx(0.15 * 900)


RUNWAYS = """
[[runways]]
name = "Long"
elevation = "0 ft"
length = "5,000 ft"
[[runways]]
name = "Short, grass"
elevation = "0 ft"
length = "1,400 ft"
surface = "short grass"
[runway_margin]
takeoff = "33 %"
"""


def study(folder: Path, runways: str = RUNWAYS, **changes: tuple[str, str]) -> Study:
    return load(with_runways(folder, runways, **changes))


def test_what_a_runway_leaves_and_what_it_lacks(tmp_path: Path) -> None:
    comparison = study(tmp_path).comparison
    long, short = comparison.inspections[0].uses
    assert long.words == "long enough to take off; long enough to land"
    assert short.words.startswith("too short to take off, by ")
    needed = comparison.figure("plain", "runway.long.takeoff_distance")
    plain = comparison.figure("plain", "takeoff_distance")
    assert needed.si == pytest.approx(1.33 * (plain.si or 0))
    spare = comparison.figures[long.takeoff]
    assert spare.si == pytest.approx(5000 * ft - (needed.si or 0))
    assert {i.figure for i in spare.trace.inputs} == {None, needed.key}
    assert any(i.place and i.place.file == "study.toml" for i in needed.trace.inputs)


def test_a_missing_table_is_named_and_the_rest_answered(tmp_path: Path) -> None:
    folder = with_runways(tmp_path, RUNWAYS, tables=TABLES[: TABLES.rindex("[[tables]]")])
    comparison = load(folder).comparison
    assert comparison.figure("plain", "landing_distance").missing == "the handbook has no landing table"
    assert comparison.figure("plain", "runway.long.landing_margin").si is None
    assert comparison.figure("plain", "runway.long.takeoff_margin").si is not None
    use = comparison.inspections[0].uses[0]
    assert (
        use.words == "long enough to take off; cannot be said for landing: the handbook has no landing table"
    )


def test_climb_without_rates_is_missing(tmp_path: Path) -> None:
    comparison = study(tmp_path).comparison
    for name in ("climb_rate", "climb_gradient", "service_ceiling", "glide_range"):
        assert comparison.figure("plain", name).missing
