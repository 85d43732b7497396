"""Words of charts as a browser sets them: inside the canvas and its margin, none over another."""

from typing import Any

import pytest
from playwright.sync_api import Browser

from flyoff.charts import export
from flyoff.charts.catalogue import CHARTS
from flyoff.charts.chart import Chart
from flyoff.charts.house import PLAIN
from flyoff.charts.style import FILM, PAGE, PHONE, SCREEN, Setting
from flyoff.core.wording import Wording
from helpers import comparison_fixture

pytestmark = pytest.mark.browser

SETTINGS = {
    "page": Setting(format=PAGE),
    "phone": Setting(format=PHONE, titled=False),
    "column": Setting(format=PLAIN.columns[0]),
    "both units": Setting(format=PLAIN.columns[1], wording=Wording("both")),
    "film": Setting(FILM, SCREEN),
}
BOXES = """() => {
  const svg = document.querySelector('svg'), view = svg.viewBox.baseVal, whole = svg.getBoundingClientRect();
  const scale = view.width / whole.width, boxes = [];
  for (const text of svg.querySelectorAll('text')) {
    const parts = text.querySelectorAll('tspan').length ? text.querySelectorAll('tspan') : [text];
    for (const part of parts) {
      if (!part.textContent.trim()) continue;
      const box = part.getBoundingClientRect();
      boxes.push([part.textContent, (box.x - whole.x) * scale, (box.y - whole.y) * scale,
                  box.width * scale, box.height * scale]);
    }
  }
  return {width: view.width, height: view.height, boxes};
}"""
LEADING = 0.22
"""Share of a line's box above and below its letters."""


def faults(measured: dict[str, Any], margin: tuple[float, float]) -> list[str]:
    found = []
    boxes = [(t, x, y + LEADING * h, w, h * (1 - 2 * LEADING)) for t, x, y, w, h in measured["boxes"]]
    right, bottom = measured["width"] - margin[0], measured["height"] - margin[1]
    for n, (text, x, y, w, h) in enumerate(boxes):
        if x < margin[0] - 1 or y < margin[1] - 1 or x + w > right + 1 or y + h > bottom + 1:
            found.append(f"outside: {text}")
        for other, a, b, c, d in boxes[:n]:
            if min(x + w, a + c) - max(x, a) > 1 and min(y + h, b + d) - max(y, b) > 1:
                found.append(f"{text} over {other}")
    return found


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_words_stay_inside_and_apart(browser: Browser, chart: Chart[Any]) -> None:
    comparison = comparison_fixture.comparison()
    page = browser.new_page()
    wrong = {}
    for name, setting in SETTINGS.items():
        shown = [(name, setting)]
        if name == "film":
            shown = list(export.screens(chart, comparison, PLAIN, FILM, name))
        for part, own in shown:
            page.set_content(f"<body style='margin:0'>{export.drawn(chart, comparison, own, 'x')}</body>")
            if found := faults(page.evaluate(BOXES), own.format.margin):
                wrong[part] = found
    page.close()
    assert wrong == {}
