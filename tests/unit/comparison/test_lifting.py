"""The seat table, the landing limit, and what options cost of what fits."""

import pytest

from flyoff.study.run import load
from helpers.study_files import write_study


def figures(folder, **changes):
    return load(write_study(folder, **changes)).figures()


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return load(write_study(tmp_path_factory.mktemp("plain")))


def test_the_terms_people_go_as_far_in_the_seat_table(plain):
    every = plain.figures()
    count = len(plain.folder.record.terms.occupants)
    bags = plain.folder.record.terms.bags
    cell = every[f"plain.range?occupants={count}&bags={bags.number:g}{bags.unit.label}"]
    assert cell.si == pytest.approx(every["plain.range"].si, rel=1e-9)
    assert cell.u95 == pytest.approx(every["plain.range"].u95, rel=1e-6)


def test_each_seat_and_step_of_bags_has_its_range_and_fuel(plain):
    cells = plain.comparison.seats
    assert {c.occupants for c in cells} == {1, 2, 3, 4}
    assert len({c.bags for c in cells}) == 3
    for c in cells:
        assert {c.range, c.fuel} <= set(plain.figures())


def test_more_people_or_bags_never_take_more_fuel_where_balance_is_kept(plain):
    every = plain.figures()
    fuel = {(c.occupants, c.bags): every[c.fuel].si for c in plain.comparison.seats}
    for bags in dict.fromkeys(c.bags for c in plain.comparison.seats):
        row = [fuel[count, bags] for count in (1, 2, 3, 4)]
        known = [value for value in row if value is not None]
        assert known == sorted(known, reverse=True)


def test_an_option_never_raises_the_fuel_that_fits(plain):
    for cost in plain.comparison.options:
        figure = plain.figures()[cost.fuel]
        assert figure.si is None or figure.si <= 1e-9
        assert plain.figures()[cost.people].si >= 0


def test_landing_weight_to_spare_is_limit_less_all_aboard_with_reserve(tmp_path):
    light = ('takeoff = "1,100 kg"', 'takeoff = "1,100 kg"\nlanding = "1,090 kg"')
    every = figures(tmp_path, plain=light)
    own = every["plain.landing_weight_margin"]
    study = load(tmp_path)
    terms = study.folder.record.terms
    aboard = sum(o.weight.si for o in terms.occupants) + terms.bags.si
    empty = study.folder.dossiers[0].airplane.weights.takeoff.si - every["plain.useful_load"].si
    flow = every["plain.cruise_fuel_flow"].si * terms.fuels[0].density.si
    assert own.si == pytest.approx(1090 - empty - aboard - terms.reserve.si * flow)
    assert not own.remarks


def test_balance_stops_the_fuel_and_is_said(tmp_path):
    """The tank far aft of a narrow envelope: weight allows more fuel than balance does."""
    every = figures(tmp_path, plain=('usable = "200 L"\narm = "2.40 m"', 'usable = "200 L"\narm = "4.60 m"'))
    fits, by_weight = every["plain.fuel_within_limits"], every["plain.fuel_occupants"]
    assert fits.si is not None
    assert fits.si < by_weight.si - 0.01
    assert fits.remarks == ("stopped by normal envelope, aft",)
    assert fits.u95 > 0


def test_bags_without_room_are_missing_with_the_reason(tmp_path):
    every = figures(tmp_path, study=('bags = "20 kg"', 'bags = "90 kg"'))
    cell = every["plain.range?occupants=1&bags=90kg"]
    assert cell.si is None
    assert "without room" in cell.missing


def test_a_standard_weight_is_its_rule_and_is_cited(tmp_path):
    folder = write_study(tmp_path)
    text = (folder / "study.toml").read_text("utf-8")
    line = next(row for row in text.splitlines() if row.startswith("weight = "))
    standard = 'weight = "standard female, NCC.POL.105"'
    (folder / "study.toml").write_text(text.replace(line, standard, 1), "utf-8")
    study = load(folder)
    assert study.folder.record.terms.occupants[0].weight.si == 86
    assert "NCC.POL.105" in study.folder.sources
    inputs = study.figures()["plain.fuel_occupants"].trace.inputs
    assert any(given.source == "NCC.POL.105" and given.place for given in inputs)


RAMP = ('takeoff = "1,100 kg"', 'takeoff = "1,100 kg"\nramp = "1,104 kg"')
NO_TAXI = ('[allowances]\ntaxi_fuel = "4 L"\n', "")


def test_the_weight_at_takeoff_is_less_by_what_taxi_burns(tmp_path):
    """Empty, people, bags and the fuel allowed at start, less 4 L: with and without a printed ramp weight."""
    for number, limits in enumerate(((RAMP,), ())):
        study = load(write_study(tmp_path / str(number), **({"plain": limits[0]} if limits else {})))
        every, case = study.figures(), study.cases[0]
        taxi_kg = 0.004 * case.fuel.density.si
        start = (
            float(case.empty_kg[0])
            + case.loading.mass_kg
            + every["plain.fuel_occupants"].si * (case.fuel.density.si)
        )
        assert every["plain.takeoff_weight"].si == pytest.approx(start - taxi_kg)
        assert "taxi fuel" in {i.label for i in every["plain.takeoff_weight"].trace.inputs}
        assert case.masses_kg(case.loading.mass_kg)[0] == pytest.approx(start - taxi_kg)


def test_terms_lay_down_taxi_fuel_for_all_in_place_of_what_is_printed(tmp_path):
    asked = ("reserve =", 'taxi_fuel = "6 L"\nreserve =')
    printed, none = (
        figures(tmp_path / name, study=asked, **changes)["plain.range"].si
        for name, changes in (("printed", {}), ("none", {"plain": NO_TAXI}))
    )
    assert printed == pytest.approx(none, rel=1e-12)
    assert printed < figures(tmp_path / "own")["plain.range"].si
