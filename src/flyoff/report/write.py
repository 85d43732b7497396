"""Writing a report: the HTML file, the figures as tables, the charts as pictures."""

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from flyoff.charts import render
from flyoff.charts.catalogue import charts_of
from flyoff.charts.chart import Chart
from flyoff.charts.style import DARK, LIGHT, PAGE, PHONE, SCREEN, Setting
from flyoff.comparison.results import Comparison
from flyoff.core.files import write_bytes
from flyoff.core.sources import Source
from flyoff.report import html
from flyoff.report.document import build_document
from flyoff.report.tables import figures_csv, figures_json

PRINT_SCALE = 2.0
"""Pixels of a printed chart's PNG for one of its SVG: 1520 across a page."""


def write_report(
    comparison: Comparison, sources: Mapping[str, Source], out: Path, progress: Callable[[str], None]
) -> tuple[Path, ...]:
    """Write the report into `out` and return the files; `progress` hears what is being made.

    Everything is made before anything is written, so a fault leaves `out` as it was.
    """
    files: dict[str, bytes] = {}
    drawings: dict[str, html.Drawing] = {}
    for chart in charts_of(comparison):
        progress(f"chart: {chart.title}")
        drawings[chart.name] = _inline(chart, comparison)
        files |= dict(_pictures(chart, comparison))
    progress("report")
    document = build_document(comparison, sources)
    figures = tuple(comparison.figures.values())
    files |= {
        "report.html": html.render(document, comparison, drawings).encode(),
        "figures.csv": figures_csv(figures).encode(),
        "figures.json": figures_json(figures).encode(),
    }
    written = []
    for name, data in sorted(files.items()):
        write_bytes(out / name, data)
        written.append(out / name)
    return tuple(written)


def _inline(chart: Chart, comparison: Comparison) -> html.Drawing:
    """Return a chart for the page: without title, which the page gives, wide and narrow."""
    alt = chart.alt(comparison)
    wide, narrow = (
        render.svg(
            chart.definition(comparison, Setting(LIGHT, form, titled=False)), alt, f"{chart.name}-{form.name}"
        )
        for form in (PAGE, PHONE)
    )
    return html.Drawing(chart.title, alt, wide, narrow)


def _pictures(chart: Chart, comparison: Comparison) -> Iterator[tuple[str, bytes]]:
    """Yield a chart's files: vector and pixels for print, pixels for a dark screen."""
    alt = chart.alt(comparison)
    page = render.svg(chart.definition(comparison, Setting(LIGHT, PAGE)), alt, chart.name)
    yield f"charts/{chart.name}.svg", (page + "\n").encode()
    yield f"charts/{chart.name}.png", render.png(page, PRINT_SCALE)
    screen = render.svg(chart.definition(comparison, Setting(DARK, SCREEN)), alt, chart.name)
    yield f"charts/{chart.name}-dark.png", render.png(screen)
