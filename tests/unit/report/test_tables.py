"""Figures as records: full precision, every trace, nothing that a spreadsheet would run."""

import csv
import io
import json
from dataclasses import replace

import pytest

from flyoff.core.figure import Figure, Trace
from flyoff.report.tables import COLUMNS, figure_record, figures_csv, figures_json
from helpers import comparison_fixture

FIGURES = comparison_fixture.comparison().figures


def test_a_record_says_all_of_a_figure() -> None:
    figure = FIGURES["rita.cruise_speed"]
    record = figure_record(figure)
    assert record["value"] == figure.value
    assert record["u95"] == figure.u95
    assert record["unit"] == "kt"
    assert record["extrapolated"] is True
    assert record["terms"] == {"altitude": "8,000 ft is above the table's last row, 6,000 ft"}
    assert record["remarks"] == ["carried on from the last two rows"]
    first = record["trace"]["inputs"][0]
    assert first == {
        "label": "as written",
        "text": "146.1 kt",
        "file": "aircraft/rita.toml",
        "line": 13,
        "source": None,
        "figure": None,
    }


def test_a_missing_figure_has_no_value_and_says_why() -> None:
    record = figure_record(FIGURES["rita.price_as_compared"])
    assert record["value"] is None
    assert record["u95"] is None
    assert record["missing"] == "the handbook gives no price"


def test_json_holds_every_figure() -> None:
    records = json.loads(figures_json(FIGURES.values()))["figures"]
    assert [record["key"] for record in records] == list(FIGURES)
    assert records == [figure_record(figure) for figure in FIGURES.values()]


def test_json_refuses_what_json_does_not_know() -> None:
    odd = replace(FIGURES["lomvi.useful_load"], si=float("nan"))
    with pytest.raises(ValueError, match="not JSON compliant"):
        figures_json([odd])


def test_csv_holds_the_same() -> None:
    rows = list(csv.DictReader(io.StringIO(figures_csv(FIGURES.values()), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(FIGURES)
    for row, figure in zip(rows, FIGURES.values(), strict=True):
        assert row["key"] == figure.key
        assert row["basis"] == figure.basis
        if figure.value is None:
            assert row["value"] == ""
            assert row["missing"]
        else:
            assert float(row["value"]) == figure.value
            assert float(row["u95"]) == figure.u95
    speed = next(row for row in rows if row["key"] == "rita.cruise_speed")
    assert speed["places"] == "aircraft/rita.toml:13; study.toml:12"
    assert speed["extrapolated"] == "yes"
    link = next(row for row in rows if row["key"] == "lomvi.range")
    assert link["places"] == "figure lomvi.cruise_speed; figure lomvi.cruise_fuel_flow"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\tx", "\rx"])
def test_csv_text_is_no_formula(text: str) -> None:
    figure = Figure("a.b", text, "kt", "speed", -1.0, "declared", Trace(text, text))
    (row,) = csv.DictReader(io.StringIO(figures_csv([figure]), newline=""))
    assert row["label"] == f"'{text}"
    assert float(row["value"]) < 0
