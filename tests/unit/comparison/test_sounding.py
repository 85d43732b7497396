"""Soundings in both open forms, and what is wrong with bad ones."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.comparison.sounding import read_sounding
from flyoff.core.problems import Problems
from flyoff.core.units import ft, kt

TEXT = """06181 Somewhere Observations at 12Z 02 Jun 2026

-----------------------------------------------------------------------------
   PRES   HGHT   TEMP   DWPT   RELH   MIXR   DRCT   SKNT   THTA   THTE   THTV
    hPa     m      C      C      %    g/kg    deg   knot     K      K      K
-----------------------------------------------------------------------------
 1013.0     40   17.2   11.2     68   8.31    240      8  289.3  312.9  290.8
 1011.0     57                                242      9
  925.0    810   10.4    6.4     76   6.57    255     18  290.0  308.7  291.2
  850.0   1499    5.2   -1.8     61   3.96
  700.0   3050   -4.1  -12.1     54   2.12    270     30  297.9  304.9  298.3
  500.0   5630  -19.9  -31.9     34   0.56    280     45  308.5  310.6  308.6

Station information and sounding indices

                         Station identifier: EKXX
"""
CSV = """time,pressure_hPa,geopotential height_m,temperature_C,wind direction_degree,wind speed_m/s
2026-06-02 12:00:00,1013.0,40,17.2,240,4.1
2026-06-02 12:00:02,925.0,810,10.4,255,9.3
2026-06-02 12:00:02,850.0,1499,5.2,,
2026-06-02 12:00:09,700.0,3050,-4.1,270,15.4
"""


def read(tmp_path, text):
    path = tmp_path / "sounding.txt"
    path.write_text(text, encoding="utf-8")
    return read_sounding(path, "sounding.txt")


def test_the_text_list(tmp_path):
    levels = read(tmp_path, TEXT)
    assert [level.speed.si / kt for level in levels] == pytest.approx([8, 18, 30, 45])
    assert levels[1].direction.number == pytest.approx(255)
    assert levels[1].temperature.si == pytest.approx(283.55)
    # Pressure altitude of 700 hPa in the standard atmosphere.
    assert levels[2].altitude.si / ft == pytest.approx(9882, abs=2)
    assert levels[2].speed.place.line == 11


def test_the_csv(tmp_path):
    levels = read(tmp_path, CSV)
    assert [level.speed.si for level in levels] == pytest.approx([4.1, 9.3, 15.4])
    assert levels[0].direction.number == pytest.approx(240)


def test_headers_with_units_in_brackets(tmp_path):
    (level,) = read(tmp_path, "pressure [hPa],wind direction [°],wind speed [kt]\n850,300,25\n")
    assert level.speed.si == pytest.approx(25 * kt)
    assert level.temperature is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n1,2\n", "no column of pressure or direction or speed"),
        ("pressure_hPa,wind direction_degree,wind speed_m/s\n", "no level with pressure and wind"),
        ("pressure_hPa,wind direction_degree,wind speed_m/s\n850,west,3\n", "'west'"),
        ("pressure_hPa,wind direction_degree,wind speed_m/s\n850,400,3\n", "400"),
        ("pressure_hPa,wind direction_degree,wind speed_m/s\n850,270,-3\n", "-3"),
        ("pressure_hPa,wind direction_degree,wind speed_furlong\n850,270,3\n", "unknown unit 'furlong'"),
        ("nothing of the kind", "no column"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, said):
    with pytest.raises(Problems, match=said.replace("(", r"\(")):
        read(tmp_path, text)


@given(st.text(max_size=400))
def test_any_text_is_read_or_refused(tmp_path_factory, text):
    path = tmp_path_factory.getbasetemp() / "any.txt"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with contextlib.suppress(Problems):
        assert read_sounding(path, "any.txt")
