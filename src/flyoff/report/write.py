"""Writing a report: the HTML file, the PDFs, the figures as tables, the charts as pictures."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from flyoff.charts import render
from flyoff.charts.catalogue import charts_of
from flyoff.charts.chart import Chart
from flyoff.charts.style import DARK, LIGHT, PAGE, PHONE, SCREEN, Setting
from flyoff.comparison.results import Comparison
from flyoff.core.files import write_bytes, write_folder
from flyoff.core.sources import Source
from flyoff.report import html
from flyoff.report.blocks import Drawing
from flyoff.report.document import build_document
from flyoff.report.flight import flight_document
from flyoff.report.flown import FlownDay
from flyoff.report.pdf import PAPERS, Typesetter
from flyoff.report.tables import figures_csv, figures_json

PRINT_SCALE = 2.0
"""Pixels of a printed chart's PNG for one of its SVG: 1520 across a page."""


S = TypeVar("S")


def write_report(
    comparison: Comparison,
    sources: Mapping[str, Source],
    out: Path,
    progress: Callable[[str], None],
    flights: Sequence[FlownDay] = (),
    pages: Mapping[str, bytes] = MappingProxyType({}),
) -> tuple[Path, ...]:
    """Write the report into `out` and return the files; `progress` hears what is being made.

    `flights` are those that the comparison rests on, each a part of the report;
    `pages` are further files to stand beside it.
    Everything is made before anything is written, and the folder changes as one:
    a fault leaves `out` as it was, and nothing of an earlier study stays in it.
    """
    files = dict(pages)
    drawings: dict[str, Drawing] = {}
    for chart in charts_of(comparison):
        progress(f"chart: {chart.title}")
        drawings[chart.name] = inline(chart, comparison, chart.name)
        files |= dict(_pictures(chart, comparison))
    progress("report")
    for day in flights:
        drawings |= day.drawings
    document = build_document(comparison, sources, flights)
    figures = tuple(comparison.figures.values())
    marks = html.marks_of(comparison)
    typesetter = Typesetter(document, drawings, marks)
    for name, paper in PAPERS.items():
        progress(f"paper: {name}")
        files[name] = typesetter.set(paper)
    files |= {
        "report.html": html.render(document, drawings, marks).encode(),
        "figures.csv": figures_csv(figures).encode(),
        "figures.json": figures_json(figures).encode(),
    }
    return write_folder(out, dict(sorted(files.items())))


def write_flight(day: FlownDay, path: Path) -> None:
    """Write the page of one flight, whole or not at all."""
    write_bytes(path, html.render(flight_document(day), day.drawings, {}).encode())


def inline(chart: Chart[S], subject: S, name: str) -> Drawing:
    """Return a chart for a page: without title, which the page gives, wide and narrow.

    `name` is its own on that page.
    """
    alt = chart.alt(subject)
    wide, narrow = (
        render.svg(chart.definition(subject, Setting(LIGHT, form, titled=False)), alt, f"{name}-{form.name}")
        for form in (PAGE, PHONE)
    )
    return Drawing(chart.title, alt, wide, narrow)


def _pictures(chart: Chart[Comparison], comparison: Comparison) -> Iterator[tuple[str, bytes]]:
    """Yield a chart's files: vector and pixels for print, pixels for a dark screen."""
    alt = chart.alt(comparison)
    page = render.svg(chart.definition(comparison, Setting(LIGHT, PAGE)), alt, chart.name)
    yield f"charts/{chart.name}.svg", (page + "\n").encode()
    yield f"charts/{chart.name}.png", render.png(page, PRINT_SCALE)
    screen = render.svg(chart.definition(comparison, Setting(DARK, SCREEN)), alt, chart.name)
    yield f"charts/{chart.name}-dark.png", render.png(screen)
