"""What owning and flying costs, against sums on a card; what is missing is named, the rest answered."""

import numpy as np
import pytest

from flyoff.comparison.emissions import CO2_PER_FUEL_KG
from flyoff.core.units import hour, kt, litre, nmi, us_gal
from flyoff.study.run import load
from helpers.study_files import STUDY, write_study

COSTS = """
[ownership]
hours = "100 h"
years = 10
oil_per_hour = "3 EUR"
maintenance_per_hour = { value = "40 EUR", u95 = "10 EUR" }
maintenance_per_year = "4,000 EUR"
overhaul = "50,000 EUR"
propeller_overhaul = "4,000 EUR"
propeller_hours = "2,000 h"
insurance_rate = "1 %"
insurance_fixed = "900 EUR"
hangar_per_year = { value = "3,600 EUR", u95 = "600 EUR" }
finance_share = "50 %"
finance_rate = "5 %"
depreciation_rate = { value = "6 %", u95 = "2 %" }
"""
MONEY = ("yearly_increase", COSTS)
ENGINE = (
    'fuel = "avgas"\n\n[propeller]',
    'fuel = "avgas"\ntime_between_overhauls = "2,000 h"\n\n[propeller]',
)
PRICED = ('density = "0.72 kg/L"', 'density = "0.72 kg/L"\nprice = "2.50 EUR"')


def owned(folder, study="", plain="", costs=COSTS, fuel=PRICED[1]):
    """Write the plain study with ownership, and load it."""
    study_change = (STUDY[STUDY.index("yearly_increase") :], f'yearly_increase = "3 %"\n{costs}{study}')
    write_study(folder, study=study_change, plain=(ENGINE[0], ENGINE[1]))
    for name, old, new in (
        ("study.toml", PRICED[0], fuel),
        ("aircraft/plain.toml", "[price]", f"{plain}\n[price]"),
    ):
        path = folder / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return load(folder)


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return owned(tmp_path_factory.mktemp("owned")).comparison


def value(comparison, name):
    return comparison.figure("plain", name).value


PRICE = 400_000 + 20_000 * 1.03
LEFT = PRICE * 0.94**10
ITEMS = {
    "fuel": 30 * 2.50 * 100,
    "oil": 300,
    "maintenance_by_hour": 4000,
    "engine_reserve": 50_000 * 100 / 2000,
    "propeller_reserve": 4_000 * 100 / 2000,
    "maintenance_by_year": 4000,
    "insurance": 0.01 * PRICE * (1 - 0.94**10) / 0.6 + 900,
    "hangar": 3600,
    "finance": PRICE / 2 * (0.05 / (1 - 1.05**-10) - 0.1),
    "depreciation": (PRICE - LEFT) / 10,
}


@pytest.mark.parametrize("item", ITEMS)
def test_each_item_is_the_sum_on_a_card(plain, item):
    assert value(plain, f"cost.{item}") == pytest.approx(ITEMS[item])


def test_the_totals_are_their_items(plain):
    year = sum(ITEMS.values())
    assert value(plain, "cost_per_year") == pytest.approx(year)
    assert value(plain, "cost_per_hour") == pytest.approx(year / 100)
    assert value(plain, "cost_per_mile") == pytest.approx(year / 100 / 122)
    assert value(plain, "cost_per_seat_mile") == pytest.approx(year / 100 / 122 / 4)
    direct = sum(ITEMS[i] for i in list(ITEMS)[:5])
    assert value(plain, "direct_cost_per_hour") == pytest.approx(direct / 100)


def test_costs_have_units_of_their_own(plain):
    assert plain.figure("plain", "cost_per_mile").unit_label == "EUR/nmi"
    assert plain.figure("plain", "cost_per_hour").si * hour == pytest.approx(value(plain, "cost_per_hour"))
    speed = plain.figure("plain", "cruise_speed").si
    assert speed == pytest.approx(122 * kt)
    assert plain.figure("plain", "cost_per_mile").si * speed * hour == pytest.approx(
        value(plain, "cost_per_hour")
    )
    assert plain.figure("plain", "cost_per_mile").si * nmi == pytest.approx(value(plain, "cost_per_mile"))


def test_the_greatest_swing_comes_first_and_is_its_slope(plain):
    assert plain.swings[0].label == "value lost each year"
    spans = [abs(s.high - s.low) for s in plain.swings]
    assert spans == sorted(spans, reverse=True)
    hangar = next(s for s in plain.swings if s.label == "hangar, a year")
    assert (hangar.high - hangar.low) * hour == pytest.approx(2 * 600 / 100, rel=0.03)
    assert plain.figures[hangar.figure].si == pytest.approx(hangar.high - hangar.low)


def test_an_airplane_may_have_costs_of_its_own(tmp_path):
    own = '[ownership]\nhangar_per_year = "9,000 EUR"\nyear = 2025\n'
    comparison = owned(tmp_path, plain=own).comparison
    assert value(comparison, "cost.hangar") == pytest.approx(9000 * 1.03)
    assert value(comparison, "cost.oil") == pytest.approx(300)


@pytest.mark.parametrize(
    ("costs", "fuel", "gone", "why"),
    [
        (COSTS.replace('oil_per_hour = "3 EUR"\n', ""), PRICED[1], "oil", "no oil_per_hour is declared"),
        (COSTS.replace('"4,000 EUR"\noverhaul', '"4,000 SEK"\noverhaul'), PRICED[1], "maintenance_by_year",
         "no exchange is declared for SEK"),
        (COSTS, PRICED[0], "fuel", "no price of avgas is declared"),
    ],
)  # fmt: skip
def test_what_is_not_declared_is_missing_and_the_rest_answered(tmp_path, costs, fuel, gone, why):
    comparison = owned(tmp_path, costs=costs, fuel=fuel).comparison
    for name in (f"cost.{gone}", "cost_per_year", "cost_per_mile"):
        assert why in comparison.figure("plain", name).missing
    assert value(comparison, "cost.hangar") == pytest.approx(3600)
    assert not comparison.swings


def test_without_ownership_nothing_is_asked(tmp_path):
    comparison = load(write_study(tmp_path)).comparison
    assert not any("cost_per" in row.quantity for row in comparison.rows)
    assert not any(".cost" in key for key in comparison.figures)


def test_carbon_dioxide_follows_the_fuel(plain):
    assert plain.figure("plain", "co2_per_hour").value == pytest.approx(30 * 0.72 * 3.10)


def test_carbon_dioxide_of_a_trip_and_its_seats(tmp_path):
    comparison = load(write_study(tmp_path)).comparison
    fuel = comparison.figure("plain", "trip.over-the-water.fuel")
    gas, seat = (comparison.figure("plain", f"trip.over-the-water.{n}") for n in ("co2", "co2_per_seat"))
    assert gas.si == pytest.approx(fuel.si * 720 * 3.10)
    assert seat.si == pytest.approx(gas.si / 4)
    assert np.allclose(gas.draws, fuel.draws * 720 * 3.10)


# Energy [TJ/Gg] and carbon dioxide [kg/TJ]: 2006 IPCC Guidelines, Volume 2, tables 1.2 and 3.2.1, 3.6.4
# (from memory); kilograms for a US gallon: US EIA, coefficients by fuel (from memory), at common densities.
@pytest.mark.parametrize(
    ("kind", "energy", "gas", "gallon_kg", "density"),
    [
        ("avgas", 44.3, 70_000, 8.31, 0.715),
        ("jet-a1", 44.1, 71_500, 9.75, 0.81),
        ("mogas", 44.3, 69_300, 8.78, 0.745),
        ("diesel", 43.0, 74_100, 10.19, 0.84),
    ],
)
def test_the_factors_agree_with_two_other_publications(kind, energy, gas, gallon_kg, density):
    factor, _ = CO2_PER_FUEL_KG[kind]
    assert factor == pytest.approx(energy * gas / 1e6, rel=0.004)
    assert factor == pytest.approx(gallon_kg / (us_gal / litre * density), rel=0.035)
