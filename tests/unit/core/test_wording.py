"""A house's units and numerals: converted exactly, precision kept, citations left alone."""

import pytest

from flyoff.core.figure import Figure, Trace
from flyoff.core.wording import AS_WRITTEN, CONVERTED, Wording

METRIC, US, BOTH = Wording("metric"), Wording("US"), Wording("both")
CONTINENTAL = Wording(decimal=",", thousands=".")


@pytest.mark.parametrize(
    ("wording", "written", "shown"),
    [
        (METRIC, "340 lb over 872 nmi at 6,000 ft", "154 kg over 1,615 km at 1,829 m"),
        (METRIC, "150 ± 3 kt, 8,000 to 10,000 ft", "278 ± 6 km/h, 2,438 to 3,048 m"),
        (METRIC, "9.4 US gal/h, 0.43 lb/hp/h", "35.6 L/h, 262 g/kWh"),
        (METRIC, "29.92 inHg", "1,013.2 hPa"),
        (METRIC, "0 ft and 0 lb", "0 m and 0 kg"),
        (METRIC, "Cost per mile: 1.93 ± 0.17 CHF/nmi", "Cost per kilometre: 1.04 ± 0.09 CHF/km"),
        (METRIC, "Cheapest by the seat-mile", "Cheapest by the seat-kilometre"),
        (US, "Cost per mile: 1.93 EUR/nmi", "Cost per mile: 1.93 EUR/nmi"),
        (Wording("metric", keep=("nmi",)), "Cost per mile: 1.93 EUR/nmi", "Cost per mile: 1.93 EUR/nmi"),
        (METRIC, "outside by 0.5 in at the aft limit", "outside by 1.3 cm at the aft limit"),
        (METRIC, "3 in 4 flights, ISA +10 °C, 65 %", "3 in 4 flights, ISA +10 °C, 65 %"),
        (US, "40 kg of bags, 120 L, 5 m", "88 lb of bags, 32 US gal, 16 ft"),
        (BOTH, "902 lb", "902 lb (409.1 kg)"),
        (BOTH, "120 L", "32 US gal (120 L)"),
        (Wording("metric", keep=("ft", "kt")), "120 kt at 6,000 ft, 40 lb", "120 kt at 6,000 ft, 18 kg"),
        (CONTINENTAL, "1,093.5 kt and 12,000", "1.093,5 kt and 12.000"),
        (CONTINENTAL, "JCGM 101:2008, 7.2.6; 14 CFR 91.151; eq. 3.2; 2026-06-02", None),
        (AS_WRITTEN, "340 lb over 1,093.5 nmi", None),
    ],
)
def test_words(wording: Wording, written: str, shown: str | None) -> None:
    assert wording.text(written) == (written if shown is None else shown)


def test_a_figure_is_converted_exactly_and_keeps_what_it_rests_on() -> None:
    figure = Figure("a.b", "B", "kt", "speed", 77.0, "handbook", Trace("m", "s"))
    metric = METRIC.figure(figure)
    assert metric.unit_label == "km/h"
    assert metric.value == pytest.approx(77.0 * 3.6)
    assert metric.si == figure.si
    beside = BOTH.beside(figure)
    assert beside is not None and beside.unit_label == "km/h"
    assert METRIC.beside(figure) is None and AS_WRITTEN.figure(figure) is figure


@pytest.mark.parametrize("label", CONVERTED)
def test_no_unit_is_replaced_by_one_that_would_be_replaced_back(label: str) -> None:
    for wording in (METRIC, US):
        assert wording.unit(wording.unit(label)) == wording.unit(label)
