"""The loading of a flight to be planned: each limit, by hand."""

import pytest

from flyoff.core.problems import Collector
from flyoff.core.sources import Place
from flyoff.dossier.loading import Item
from flyoff.planning.loading import Loaded, check_loading, moments_of, ramp_mass
from helpers.airplanes import dossier_of

VADMEL = dossier_of("vadmel").airplane  # 872 kg at 2.300 m; seats at 2.450 and 3.250 m; fuel at 2.550 m
CREW = (Item("front seats", 82.0, 2.45), Item("front seats", 76.0, 2.45))


def checked(loaded, planned_kg=20.0, spare_kg=60.0):
    collector = Collector()
    moments = moments_of(VADMEL, 2.4, planned_kg, spare_kg)
    balances = check_loading(VADMEL, loaded, moments, Place("f.toml", 3, "loading"), collector)
    return balances, [str(problem) for problem in collector.problems]


def test_a_good_loading_by_hand():
    balances, problems = checked(Loaded(CREW, 0.120, 800.0))
    assert problems == []
    # 872 × 2.300 + 158 × 2.450 + 96 × 2.550 = 2637.5 kg m over 1126 kg
    assert balances[0].mass_kg == pytest.approx(1126.0)
    assert balances[0].arm_m == pytest.approx(2637.5 / 1126.0)
    assert [b.moment for b in balances] == ["start", "takeoff", "landing as planned", "reserve left"]
    assert balances[3].mass_kg == pytest.approx(1066.0)


@pytest.mark.parametrize(
    ("loaded", "said"),
    [
        (Loaded((*CREW, Item("rear seats", 180.0, 3.25)), 0.165, 800.0), "expected at most 1,315 kg"),
        (Loaded((*CREW, Item("baggage", 60.0, 3.85)), 0.1, 800.0), "60 kg in 'baggage'; expected at most 55"),
        (Loaded((*CREW, CREW[0]), 0.1, 800.0), "3 on the 2 seats of 'front seats'"),
        (Loaded(CREW, 0.170, 800.0), "170 L of fuel; expected at most the usable 165 L"),
        (Loaded(CREW, 0.120, 800.0, 1150.0), "ramp_weight is 1,150 kg, but empty weight, occupants and fuel"),
        (
            Loaded((Item("rear seats", 300.0, 3.25), Item("baggage", 55.0, 3.85)), 0.05, 800.0),
            "2.600 m is outside; expected 2.324 to 2.580 m",
        ),
    ],
)  # fmt: skip
def test_each_fault_is_said(loaded, said):
    _, problems = checked(loaded)
    assert any(said in problem for problem in problems), problems
    assert all(problem.startswith("f.toml:3: loading: ") for problem in problems)


def test_landing_too_heavy_is_said():
    loaded = Loaded((*CREW, Item("rear seats", 124.0, 3.25)), 0.165, 800.0)  # 1,286 kg; landing limit 1,280
    assert any("at landing as planned is above the limit" in p for p in checked(loaded, planned_kg=5.0)[1])
    assert not any("landing" in p for p in checked(loaded, planned_kg=10.0)[1])


def test_the_weight_written_down_counts():
    assert ramp_mass(VADMEL, Loaded((), 0.1, 800.0, 1100.0)) == 1100.0
    balances, problems = checked(Loaded((), 0.1, 800.0, 1100.0))
    assert problems == [] and balances[0].arm_m is None
