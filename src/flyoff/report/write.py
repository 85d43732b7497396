"""Writing a report: the HTML file, the PDFs, the figures as tables, the charts as pictures."""

from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from flyoff.charts import export
from flyoff.charts.catalogue import charts_of
from flyoff.charts.chart import Chart
from flyoff.charts.house import PLAIN, House
from flyoff.charts.style import PAGE, PHONE
from flyoff.comparison.results import Comparison
from flyoff.core.files import write_bytes, write_folder
from flyoff.core.sources import Source
from flyoff.report import html
from flyoff.report.blocks import Drawing
from flyoff.report.document import build_document
from flyoff.report.flight import flight_document
from flyoff.report.flown import FlownDay
from flyoff.report.pdf import PAPERS, Typesetter
from flyoff.report.table_files import table_files
from flyoff.report.tables import figures_csv, figures_json
from flyoff.report.worded import worded

S = TypeVar("S")


def write_report(
    comparison: Comparison,
    sources: Mapping[str, Source],
    out: Path,
    progress: Callable[[str], None],
    flights: Sequence[FlownDay] = (),
    pages: Mapping[str, bytes] = MappingProxyType({}),
    house: House = PLAIN,
    dropped: Collection[str] = (),
) -> tuple[Path, ...]:
    """Write the report into `out` and return the files; `progress` hears what is being made.

    `flights` are those that the comparison rests on, each a part of the report;
    `pages` are further files to stand beside it, `dropped` what an earlier build left there.
    Everything is made before anything is written, and the folder changes as one:
    a fault leaves `out` as it was, and nothing of an earlier study stays in it.
    """
    files = dict(pages)
    drawings: dict[str, Drawing] = {}
    for chart in charts_of(comparison):
        progress(f"chart: {chart.title}")
        drawings[chart.name] = inline(chart, comparison, chart.name, house)
        made = export.for_page(chart, comparison, house, chart.name)
        files |= {f"charts/{name}": data for name, data in made}
    progress("report")
    for day in flights:
        drawings |= day.drawings
    document = worded(build_document(comparison, sources, flights), house.wording)
    figures = tuple(comparison.figures.values())
    marks = html.marks_of(comparison, house)
    typesetter = Typesetter(document, drawings, marks)
    for name, paper in PAPERS.items():
        progress(f"paper: {name}")
        files[name] = typesetter.set(paper)
    files |= {f"tables/{name}": data for name, data in table_files(document, house.language)}
    files |= {
        "report.html": html.render(document, drawings, marks, house).encode(),
        "figures.csv": figures_csv(figures).encode(),
        "figures.json": figures_json(figures).encode(),
    }
    return write_folder(out, dict(sorted(files.items())), dropped)


def write_flight(day: FlownDay, path: Path, house: House = PLAIN) -> None:
    """Write the page of one flight, whole or not at all."""
    document = worded(flight_document(day), house.wording)
    write_bytes(path, html.render(document, day.drawings, {}, house).encode())


def inline(chart: Chart[S], subject: S, name: str, house: House = PLAIN) -> Drawing:
    """Return a chart for a page: without title, which the page gives, wide and narrow.

    `name` is its own on that page.
    """
    settings = [house.setting(house.light, form, titled=False) for form in (PAGE, PHONE)]
    wide, narrow = (export.drawn(chart, subject, s, f"{name}-{s.format.name}") for s in settings)
    return Drawing(chart.title, export.alt(chart, subject, settings[0]), wide, narrow)
