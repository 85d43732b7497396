"""A table whose columns name their unit follows the house: the title, the numbers, their intervals."""

import pytest

from flyoff.core.wording import Wording
from flyoff.report.blocks import Cell, Column, Document, Group, Part, Row, Table
from flyoff.report.worded import worded

HEADS = ("Pressure altitude, ft", "True, kt", "Residuals, kt", "Wind from")
ROWS = (
    Row(
        "1",
        (Cell("8,002", note="±\u00a012 extrapolated"), Cell("151.2 ± 0.4"), Cell("+0.3, −0.2"), Cell("312°")),
    ),
    Row("2", (Cell("—"), Cell("refused", note="too close"), Cell("—"), Cell("—"))),
)
TABLE = Table("Legs", "Legs", tuple(map(Column, HEADS)), (Group("", ROWS),), figures=False)


def of(wording: Wording) -> Table:
    part = Part("legs", "Legs", "Legs", (TABLE,))
    (table,) = worded(Document("t", "", "", "", (part,), ()), wording).parts[0].blocks
    assert isinstance(table, Table)
    return table


def test_in_a_metric_house() -> None:
    table = of(Wording("metric", decimal=","))
    assert [column.title for column in table.columns] == [
        "Pressure altitude, m", "True, km/h", "Residuals, km/h", "Wind from",
    ]  # fmt: skip
    first, second = table.groups[0].rows
    assert [cell.text for cell in first.cells] == ["2,439", "280,0 ± 0,7", "+0,56, −0,37", "312°"]
    assert first.cells[0].note == "±\u00a04 extrapolated"
    assert [cell.text for cell in second.cells] == ["—", "refused", "—", "—"]


@pytest.mark.parametrize("wording", [Wording(), Wording("US"), Wording("metric", keep=("kt", "ft"))])
def test_what_the_house_keeps_stays(wording: Wording) -> None:
    assert of(wording) == TABLE
