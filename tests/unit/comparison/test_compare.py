"""The comparison of a plain study, against sums that fit on a card."""

import math

import numpy as np
import pytest

from flyoff.core.figure import difference
from flyoff.core.units import hour, kt, lb, litre, minute, nmi, us_gal
from flyoff.study.run import load
from helpers.study_files import AIRCRAFT, write_study

# The weighed example has the autopilot; the terms want the cooler and no autopilot.
EMPTY_KG = 700 - 8 + 25
PEOPLE_KG = 80 + 70 + 20
FUEL_KG = 200 * 0.72
LIMITS = 'takeoff = "1,100 kg"\nzero_fuel = "1,040 kg"'


def figures(folder, **changes):
    return load(write_study(folder, **changes)).figures()


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return figures(tmp_path_factory.mktemp("plain"))


def test_useful_load_is_takeoff_less_empty_as_equipped(plain):
    assert plain["plain.useful_load"].si == pytest.approx(1100 - EMPTY_KG)


def test_payload_with_full_tanks(plain):
    assert plain["plain.payload_full_tanks"].si == pytest.approx(1100 - EMPTY_KG - FUEL_KG)


def test_the_zero_fuel_limit_binds_the_payload(tmp_path):
    plain = figures(tmp_path, plain=('zero_fuel = "1,040 kg"', 'zero_fuel = "940 kg"'))
    assert plain["plain.payload_full_tanks"].si == pytest.approx(940 - EMPTY_KG)


def test_fuel_beside_the_people_is_what_the_limit_leaves(tmp_path):
    plain = figures(tmp_path, plain=(LIMITS, 'takeoff = "980 kg"'))
    assert plain["plain.fuel_occupants"].si == pytest.approx((980 - EMPTY_KG - PEOPLE_KG) / 720)


def test_seats_filled_counts_every_seat_at_the_mean_weight(plain):
    payload = 4 * 75 + 20
    assert plain["plain.fuel_seats_filled"].si == pytest.approx((1100 - EMPTY_KG - payload) / 720)
    assert plain["plain.fuel_seats_filled"].terms == {"occupants": "4"}


def test_cruise_is_the_printed_value_with_the_cooler_taken_off(plain):
    speed = plain["plain.cruise_speed"]
    assert speed.value == pytest.approx(124 - 2)
    # Two independent roundings of half a knot.
    assert speed.u95 == pytest.approx(0.5 * 2 * (1 - math.sqrt(0.05)), rel=0.1)
    assert plain["plain.specific_range"].si == pytest.approx(122 * kt / (30 * litre / hour))


def test_range_is_the_sum_on_a_card(plain):
    cruise_l = 200 - 4 - 8 - 0.75 * 30
    expected_nmi = 17 + cruise_l / 30 * 122
    assert plain["plain.range"].si / nmi == pytest.approx(expected_nmi)
    assert plain["plain.endurance"].si / minute == pytest.approx(11 + cruise_l / 30 * 60)


def test_a_head_wind_blows_on_the_climb_too(tmp_path):
    plain = figures(tmp_path, study=('wind = "0 kt"', 'wind = "20 kt"'))
    cruise_l = 200 - 4 - 8 - 0.75 * 30
    assert plain["plain.range"].si / nmi == pytest.approx(17 - 20 * 11 / 60 + cruise_l / 30 * 102)


def test_a_trip_nonstop(plain):
    time, fuel = plain["plain.trip.over-the-water.time"], plain["plain.trip.over-the-water.fuel"]
    assert plain["plain.trip.over-the-water.stops"].value == 0
    assert time.value == pytest.approx(1.78, abs=0.01)
    assert fuel.si == pytest.approx(((time.si - 11 * minute) / hour * 30 + 8 + 4) * litre, rel=0.02)


def test_a_trip_with_a_stop_climbs_twice(tmp_path):
    plain = figures(tmp_path, plain=('usable = "200 L"', 'usable = "75 L"'))
    stops = plain["plain.trip.over-the-water.stops"]
    assert stops.value == 1
    assert "short of the distance" in " ".join(stops.remarks)
    assert plain["plain.trip.over-the-water.time"].value > 1.80


def test_price_brings_each_amount_to_the_year(plain):
    assert plain["plain.price_as_compared"].si == pytest.approx(400_000 + 20_000 * 1.03)
    assert plain["plain.option.big-tank.price"].missing == "no price is published"


def test_a_missing_exchange_is_said(tmp_path):
    plain = figures(tmp_path, plain=('price = "20,000 EUR"', 'price = "20,000 SEK"'))
    assert plain["plain.price_as_compared"].missing == "no exchange is declared for SEK"


def test_equipment_that_cannot_be_had_is_said_beside_every_figure(tmp_path):
    text = AIRCRAFT.replace('provides = ["air conditioning"]', 'provides = ["fan"]')
    write_study(tmp_path, study=('"air conditioning"', '"autopilot"'))
    (tmp_path / "aircraft/other.toml").write_text(text.replace('provides = ["autopilot"]', ""))
    study = tmp_path / "study.toml"
    study.write_text(study.read_text().replace('aircraft = ["plain"]', 'aircraft = ["plain", "other"]'))
    found = load(tmp_path).figures()
    assert found["plain.useful_load"].terms == {}
    assert found["other.useful_load"].terms == {"equipment": "without autopilot"}
    assert found["plain-other.useful_load"].terms == {"equipment": "as the terms against without autopilot"}


def test_a_gap_in_the_table_is_missing_and_stays_missing(tmp_path):
    plain = figures(tmp_path, study=('altitude = "8,000 ft"', 'altitude = "14,000 ft"'))
    assert plain["plain.cruise_speed"].si is None
    assert plain["plain.cruise_speed"].missing == "the handbook prints no 65 % at 14,000 ft"
    assert plain["plain.range"].si is None
    assert plain["plain.trip.over-the-water.time"].si is None


def test_without_a_climb_table_range_is_missing_and_cruise_is_not(tmp_path):
    start = AIRCRAFT.index('[[tables]]\nkind = "climb"')
    plain = figures(tmp_path, plain=(AIRCRAFT[start:], ""))
    assert plain["plain.range"].missing == "the handbook has no climb table"
    assert plain["plain.cruise_speed"].value == pytest.approx(122)


def test_people_without_a_seat_fly_nowhere(tmp_path):
    more = "".join(f'[[terms.occupants]]\nname = "{x}"\nweight = "60 kg"\n' for x in "abc")
    plain = figures(tmp_path, study=("[[terms.fuels]]", more + "[[terms.fuels]]"))
    assert plain["plain.range"].missing == "1 without a seat"
    assert plain["plain.fuel_occupants"].missing == "1 without a seat"


def test_another_temperature_is_read_from_the_table(tmp_path):
    plain = figures(tmp_path, study=('isa_deviation = "0 °C"', 'isa_deviation = "10 °C"'))
    assert plain["plain.cruise_speed"].value == pytest.approx(125 - 2)


def test_a_table_for_one_temperature_is_entered_at_the_density_altitude_and_says_so(tmp_path):
    plain = figures(tmp_path, study=('isa_deviation = "0 °C"', 'isa_deviation = "10 °C"'))
    assert any("entered at the density altitude" in remark for remark in plain["plain.range"].remarks)


def test_a_table_entered_by_settings_finds_the_power(tmp_path):
    rows = ["pressure altitude [ft],rpm [rpm],percent power [%],true airspeed [kt],fuel flow [L/h]"]
    rows += [
        f"{alt},{rpm},{power},{100 + power / 4 + alt / 1000:.0f},{power * 0.46:.1f}"
        for alt in (4000, 8000, 12000)
        for rpm, power in ((2300, 55), (2500, 66), (2700, 78))
    ]
    write_study(tmp_path, plain=('axes = ["pressure altitude", "ISA deviation", "percent power"]',
                                 'axes = ["pressure altitude", "rpm"]'))  # fmt: skip
    (tmp_path / "aircraft/plain/cruise.csv").write_text("\n".join(rows))
    speed = load(tmp_path).figures()["plain.cruise_speed"]
    assert speed.value == pytest.approx(122 + 2 * 10 / 11 - 2, abs=0.01)


def test_every_figure_traces_to_a_file_line_or_another_figure(plain):
    for figure in plain.values():
        assert figure.trace.method
        assert figure.trace.source
        if figure.si is not None:
            assert figure.trace.inputs, figure.key
        for given in figure.trace.inputs:
            assert given.place or given.figure or given.source, (figure.key, given)


def test_a_shared_input_cancels_in_a_difference(plain):
    speed = plain["plain.cruise_speed"]
    assert difference("x", "x", speed, speed).u95 == 0


def test_two_loads_give_the_same_draws(plain, tmp_path):
    again = figures(tmp_path)
    for key, figure in plain.items():
        if figure.draws is not None:
            np.testing.assert_array_equal(figure.draws, again[key].draws)


def test_units_of_the_card_sums(plain):
    assert plain["plain.useful_load"].value == pytest.approx((1100 - EMPTY_KG) / lb)
    assert plain["plain.cruise_fuel_flow"].value == pytest.approx(30 * litre / us_gal)


def test_a_head_wind_above_the_airspeed_is_said(tmp_path):
    plain = figures(tmp_path, study=('wind = "0 kt"', 'wind = "150 kt"'))
    said = "the head wind is not below the true airspeed"
    assert plain["plain.range"].missing == said
    assert plain["plain.trip.over-the-water.time"].missing == said
    assert plain["plain.cruise_speed"].si is not None


def test_a_head_wind_that_stops_the_climb_is_said(tmp_path):
    found = figures(tmp_path, study=('wind = "0 kt"', 'wind = "100 kt"'))
    assert found["plain.range"].missing == "the head wind is not below the airspeed in the climb"


def test_a_departure_above_the_altitude_is_missing_and_gives_nothing_back(tmp_path):
    field = (
        '[airfields.HIGH]\nname = "High"\nlatitude = 59.0\nlongitude = 24.0\nelevation = "9,000 ft"\n[money]'
    )
    write_study(tmp_path, study=("[money]", field))
    study = tmp_path / "study.toml"
    study.write_text(study.read_text().replace('start = "EETN"', 'start = "HIGH"'))
    trip = load(tmp_path).figures()["plain.trip.over-the-water.time"]
    assert trip.missing == "the departure lies above the altitude of the terms"


def test_a_loading_over_a_limit_is_outside_whatever_its_balance(tmp_path):
    old, new = 'zero_fuel = "1,040 kg"', 'zero_fuel = "870 kg"'
    (track,) = load(write_study(tmp_path, plain=(old, new))).comparison.balances
    assert not track.inside
    assert track.remark == "people and bags alone are 17 kg over the limit"


def test_a_declared_doubt_is_never_dropped(tmp_path):
    for number, (old, new, key) in enumerate(
        (
            ('usable = "200 L"', 'usable = { value = "200 L", u95 = "20 L" }', "plain.fuel_occupants"),
            ('amount = "400,000 EUR"', 'amount = { value = "400,000 EUR", u95 = "9,000 EUR" }',
             "plain.price_as_compared"),
            ('taxi_fuel = "4 L"', 'taxi_fuel = { value = "4 L", u95 = "3 L" }',
             "plain.trip.over-the-water.fuel"),
        )
    ):  # fmt: skip
        sure = figures(tmp_path / f"{number}a")[key].u95
        assert figures(tmp_path / f"{number}b", plain=(old, new))[key].u95 > sure


def test_a_near_thing_is_said_of_a_nonstop_trip_too(tmp_path):
    tank = 'usable = { value = "90 L", u95 = "8 L" }'
    stops = figures(tmp_path, plain=('usable = "200 L"', tank))["plain.trip.over-the-water.stops"]
    assert any("a near thing" in remark for remark in stops.remarks)


def test_each_printed_value_has_its_own_rounding(tmp_path):
    at_point = figures(tmp_path / "a")
    between = figures(tmp_path / "b", study=('isa_deviation = "0 °C"', 'isa_deviation = "10 °C"'))
    # The mean of two independent roundings is surer than one of them.
    one, two = (float(np.std(f["plain.cruise_fuel_flow"].draws)) for f in (at_point, between))
    assert two / one == pytest.approx(0.5**0.5, rel=0.05)


def test_neighbouring_readings_share_their_printed_values(tmp_path):
    here = figures(tmp_path / "a", study=('altitude = "8,000 ft"', 'altitude = "6,000 ft"'))
    near = figures(tmp_path / "b", study=('altitude = "8,000 ft"', 'altitude = "6,001 ft"'))
    draws = [f["plain.cruise_speed"].draws for f in (here, near)]
    assert np.corrcoef(*draws)[0, 1] > 0.99


def test_the_interval_of_a_reading_holds_the_truth_as_often_as_stated(tmp_path):
    """Tables rounded from a known speed: the stated interval holds it 95 times of 100."""
    generator = np.random.default_rng(7)
    inside = 0
    for trial in range(60):
        base = generator.uniform(110, 130)
        rows = ["pressure altitude [ft],percent power [%],true airspeed [kt],fuel flow [L/h]"]
        rows += [
            f"{alt},{power},{base + alt / 2000 + power / 3:.0f},{power * 0.46:.1f}"
            for alt in (4000, 8000)
            for power in (60, 70)
        ]
        axes = 'axes = ["pressure altitude", "ISA deviation", "percent power"]'
        folder = write_study(
            tmp_path / str(trial), plain=(axes, 'axes = ["pressure altitude", "percent power"]')
        )
        (folder / "aircraft/plain/cruise.csv").write_text("\n".join(rows))
        study = folder / "study.toml"
        text = study.read_text().replace('altitude = "8,000 ft"', 'altitude = "6,000 ft"')
        study.write_text(text.replace('"radio", "air conditioning"', '"radio"'))
        speed = load(folder).figures()["plain.cruise_speed"]
        inside += abs(speed.value - (base + 3 + 65 / 3)) <= speed.u95
    assert inside >= 52  # of 60 at 95 %, fewer than 52 has a chance below one in a hundred
