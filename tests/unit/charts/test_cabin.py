"""Cabins and doors are drawn to one scale, sills above one ground."""

from typing import Any

import pytest

from flyoff.charts import cabin
from flyoff.charts.style import LIGHT, PAGE, PHONE, SCREEN, Setting
from flyoff.core.wording import Wording
from helpers import comparison_fixture


def boxes(spec: dict[str, Any]) -> list[dict[str, float]]:
    return [u["mark"] for u in spec["layer"] if u["mark"]["type"] == "rect" and "stroke" in u["mark"]]


@pytest.mark.parametrize("form", [PAGE, PHONE, SCREEN], ids=lambda form: form.name)
def test_everything_has_one_scale(form: Any) -> None:
    drawn = boxes(cabin.chart(comparison_fixture.comparison(), Setting(LIGHT, form)))
    sizes = [(m["x2"] - m["x"], m["y2"] - m["y"]) for m in drawn]
    metres = [(1.21, 1.17), (0.88, 0.94), (1.11, 1.22), (0.88, 0.94), (1.07, 1.12), (0.88, 0.94)]
    scale = sizes[0][0] / metres[0][0]
    assert [pytest.approx((w * scale, h * scale)) for w, h in metres] == sizes
    # a cabin stands on the line that its door's sill is 61 cm above
    for section, door in zip(drawn[::2], drawn[1::2], strict=True):
        assert section["y2"] - door["y2"] == pytest.approx(0.61 * scale)


def test_both_systems_of_units_and_what_is_not_measured() -> None:
    comparison = comparison_fixture.comparison()
    spec = cabin.chart(comparison, Setting(LIGHT, PAGE))
    said = [line for u in spec["layer"] if u["mark"]["type"] == "text" for line in u["mark"]["text"]]
    assert {"121 × 117 cm", "48 × 46 in", "88 × 94 cm", "35 × 37 in", "61 cm"} <= set(said)
    assert cabin.subtitle(comparison).endswith("not measured: Lundi Turbo")
    assert "Lomvi 4: cabin 121 cm wide and 117 cm high; door left front 88 cm by 94 cm, sill 61 cm up." in (
        cabin.alt(comparison)
    )


def test_a_metric_house_says_which_measure_is_which() -> None:
    spec = cabin.chart(comparison_fixture.comparison(), Setting(LIGHT, PHONE, wording=Wording("metric")))
    said = [line for u in spec["layer"] if u["mark"]["type"] == "text" for line in u["mark"]["text"]]
    assert {"121 cm wide", "117 cm high", "88 cm wide", "94 cm high"} <= set(said)
