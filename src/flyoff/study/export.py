"""What a build writes besides its report: print and film."""

from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar

from flyoff.charts import export, film
from flyoff.charts.catalogue import charts_of, charts_of_flight
from flyoff.charts.chart import Chart
from flyoff.charts.house import House
from flyoff.comparison.results import Comparison
from flyoff.reduction.run import Reduction

S = TypeVar("S")
FILM = "film"
"""The folder of stills, frames and films; a build without clears it, lest it show what no longer holds."""


def print_files(flights: Mapping[str, Reduction], house: House) -> Iterator[tuple[str, bytes]]:
    """Yield the charts of flights in the page's columns; those of the comparison stand beside its report."""
    for day, reduction in flights.items():
        for chart in charts_of_flight(reduction):
            for name, data in export.for_print(chart, reduction, house, f"{day}-{chart.name}"):
                yield f"charts/{name}", data


def film_files(
    comparison: Comparison, flights: Mapping[str, Reduction], house: House, progress: Callable[[str], None]
) -> Iterator[tuple[str, bytes]]:
    """Yield every chart as stills, numbered frames and films.

    Raises
    ------
    Problems
        If the encoder is not installed.
    """
    film.encoder()
    for chart in charts_of(comparison):
        progress(f"film: {chart.title}")
        yield from _film(chart, comparison, house, chart.name)
    for day, reduction in flights.items():
        for own in charts_of_flight(reduction):
            progress(f"film: {day}, {own.title}")
            yield from _film(own, reduction, house, f"{day}-{own.name}")


def _film(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    for kind, made in (
        ("stills", export.stills(chart, subject, house, name)),
        ("frames", film.numbered_frames(chart, subject, house, name)),
        ("films", film.films(chart, subject, house, name)),
    ):
        for file, data in made:
            yield f"{FILM}/{kind}/{file}", data
