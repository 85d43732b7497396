"""Handbook tables are grids; between the printed values they are linear, beyond them silent."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.problems import Collector, Problems
from flyoff.core.units import celsius, ft, hour, kt, litre
from flyoff.dossier.airplane import TableFile
from flyoff.dossier.tables import read_table
from helpers.study_files import CLIMB, CRUISE

AXES = ("pressure altitude", "ISA deviation", "percent power")


def read(tmp_path, text, axes=AXES, kind="cruise"):
    path = tmp_path / "t.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    collector = Collector()
    table = read_table(path, "t.csv", TableFile(kind=kind, file="t.csv", axes=axes), collector)
    return table, [str(problem) for problem in collector.problems]


def test_printed_points_come_back_exactly(tmp_path):
    table, problems = read(tmp_path, CRUISE)
    assert problems == []
    where = {"pressure_altitude": 8000 * ft, "ISA_deviation": 0.0, "percent_power": 0.65}
    assert float(table.read("true airspeed", **where)) == pytest.approx(124 * kt)
    (corner,) = table.corners("true airspeed", **where)
    assert (corner.line, corner.weight) == (7, 1.0)
    assert corner.half_digit_si == pytest.approx(0.5 * kt)
    assert table.printed("fuel flow", 7) == "30.0 L/h"


def test_between_points_each_axis_is_linear(tmp_path):
    table, _ = read(tmp_path, CRUISE)
    reading = table.read("true airspeed", pressure_altitude=6000 * ft, ISA_deviation=10.0, percent_power=0.70)
    assert float(reading) / kt == pytest.approx(np.nan, nan_ok=True)
    reading = table.read("true airspeed", pressure_altitude=6000 * ft, ISA_deviation=0.0, percent_power=0.70)
    assert float(reading) / kt == pytest.approx((120 + 128 + 124 + 132) / 4)
    corners = table.corners(
        "true airspeed", pressure_altitude=6000 * ft, ISA_deviation=0.0, percent_power=0.70
    )
    assert [corner.line for corner in corners] == [3, 4, 7, 8]
    assert [corner.weight for corner in corners] == pytest.approx([0.25] * 4)


@pytest.mark.parametrize(
    ("altitude_ft", "power"),
    [(3999.0, 0.65), (12001.0, 0.65), (8000.0, 0.76), (12000.0, 0.75), (10000, 0.66)],
)
def test_outside_or_beside_a_gap_there_is_no_answer(tmp_path, altitude_ft, power):
    table, _ = read(tmp_path, CRUISE)
    reading = table.read(
        "true airspeed", pressure_altitude=altitude_ft * ft, ISA_deviation=0.0, percent_power=power
    )
    assert np.isnan(reading)


def test_a_gap_does_not_spoil_the_edge_beside_it(tmp_path):
    table, _ = read(tmp_path, CRUISE)
    reading = table.read("true airspeed", pressure_altitude=10000 * ft, ISA_deviation=0.0, percent_power=0.65)
    assert float(reading) / kt == pytest.approx(126)


def test_the_order_of_the_rows_is_free(tmp_path):
    head, *rows = CRUISE.splitlines()[1:]
    shuffled = "\n".join([head, *reversed(rows)])
    one, _ = read(tmp_path, CRUISE)
    other, problems = read(tmp_path, shuffled)
    assert problems == []
    where = {"pressure_altitude": 5000 * ft, "ISA_deviation": 3.0, "percent_power": 0.65}
    assert float(one.read("fuel flow", **where)) == pytest.approx(float(other.read("fuel flow", **where)))


HEAD = CRUISE.splitlines()[1]
FAULTS = [
    (
        CRUISE.replace("8000,0,75,132,35.0\n", ""),
        "no row for pressure altitude 8,000 ft, ISA deviation 0 Δ°C",
    ),
    (CRUISE + "4000,0,65,120,30.0\n", "t.csv:15: a second row for pressure altitude 4,000 ft"),
    (CRUISE.replace("true airspeed [kt]", "true airspeed"), "t.csv:2: true airspeed: no unit"),
    (CRUISE.replace("true airspeed [kt]", "true airspeed [knot]"), "unknown unit 'knot'"),
    (CRUISE.replace("true airspeed [kt]", "true airsped [kt]"), "did you mean 'true airspeed'?"),
    (CRUISE.replace("true airspeed [kt]", "fuel flow [L/h]"), "column given twice"),
    (CRUISE.replace("120,30.0", "12O,30.0"), "t.csv:3: true airspeed: '12O' is not a number"),
    (CRUISE.replace("120,30.0", "120"), "t.csv:3: 4 cells; expected 5, as in the header"),
    (CRUISE.replace("4000,0,65,120", ",0,65,120"), "t.csv:3: pressure altitude: empty cell"),
    (HEAD + "\n", "a header and no rows"),
    ("# nothing\n", "no rows"),
    (CRUISE.replace("120,30.0", "-120,30.0"), "t.csv:3: true airspeed: '-120'; expected more than zero"),
    (CRUISE.replace(",", ";"), "cells separated by semicolons or tabs; expected commas between cells"),
    (CRUISE.replace("120,30.0", "120,0"), "t.csv:3: fuel flow: '0'; expected more than zero"),
    (CRUISE.replace("120,30.0", "120," + "3" * 200_000), "not CSV: field larger than field limit"),
    (CRUISE.replace("percent power", "rpm").replace("[%]", "[rpm]"), "no column 'percent power'"),
]


@pytest.mark.parametrize(("text", "said"), FAULTS)
def test_each_fault_of_a_table_is_said(tmp_path, text, said):
    table, problems = read(tmp_path, text)
    assert table is None
    assert any(said in problem for problem in problems), problems


@pytest.mark.parametrize("content", [b"", b"  \n", b"a,b\n\xff\xfe\n"])
def test_a_file_that_is_no_text_is_a_problem(tmp_path, content):
    with pytest.raises(Problems):
        read(tmp_path, content)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "t.csv"
    with path.open("wb") as stream:
        stream.truncate(2_000_000_000)
    with pytest.raises(Problems, match="too large"):
        read_table(path, "t.csv", TableFile(kind="cruise", file="t.csv", axes=AXES), Collector())


def test_one_axis_is_enough(tmp_path):
    table, problems = read(tmp_path, CLIMB, ("pressure altitude",), "climb")
    assert problems == []
    assert float(table.read("fuel", pressure_altitude=6000 * ft)) / litre == pytest.approx(6.0)
    assert table.axis("temperature") is None


def test_temperatures_are_read_as_kelvin(tmp_path):
    text = "temperature [°C],true airspeed [kt]\n-10,100\n10,104\n"
    table, _ = read(tmp_path, text, ("temperature",), "climb")
    assert float(table.read("true airspeed", temperature=celsius(0.0))) / kt == pytest.approx(102)


@given(st.floats(4000, 12000), st.floats(0, 20))
def test_interpolation_stays_within_the_printed_values(tmp_path_factory, altitude_ft, deviation):
    table, _ = read(tmp_path_factory.mktemp("t"), CRUISE)
    where = {"pressure_altitude": altitude_ft * ft, "ISA_deviation": deviation, "percent_power": 0.65}
    assert 120 * kt - 1e-9 <= float(table.read("true airspeed", **where)) <= 130 * kt + 1e-9
    flow = float(table.read("fuel flow", **where))
    assert flow == pytest.approx(30 * litre / hour)


@given(st.binary(max_size=300))
def test_any_bytes_give_a_table_or_problems(tmp_path_factory, content):
    try:
        table, problems = read(tmp_path_factory.mktemp("t"), HEAD.encode() + b"\n" + content)
    except Problems:
        return
    assert (table is None) == bool(problems)


def test_rows_that_are_no_grid_are_said_without_building_one(tmp_path):
    body = "\n".join(f"{1000 + i},{i},{1 + i},120,30" for i in range(2500))
    table, problems = read(tmp_path, f"{HEAD}\n{body}\n")
    assert table is None
    assert "2,500 rows for 15,625,000,000 combinations" in problems[0]


def test_a_climb_table_is_not_entered_by_settings(tmp_path):
    _, problems = read(tmp_path, "rpm [rpm],time [min]\n2300,3\n2400,4\n", ("rpm",), "climb")
    assert "'rpm' as an axis; expected axes of a climb table among" in problems[0]


def test_a_climb_that_takes_negative_time_is_said(tmp_path):
    _, problems = read(tmp_path, CLIMB.replace("4000,5", "4000,-5"), ("pressure altitude",), "climb")
    assert problems == ["t.csv:3: time: '-5'; expected no less than zero"]
