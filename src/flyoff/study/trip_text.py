"""A trip as text and as data."""

import textwrap
from collections.abc import Iterator
from typing import Any

from flyoff.comparison.results import TripLeg
from flyoff.core.caution import CAUTION
from flyoff.core.figure import Figure, format_number
from flyoff.core.units import nmi
from flyoff.core.wording import Wording
from flyoff.report.tables import figure_record
from flyoff.study.trip import Answer, Flight

WIDTH = 88
_PARTS = (
    ("time", "flying time"),
    ("elapsed", "with stops"),
    ("fuel", "fuel"),
    ("stops", "stops"),
    ("altitude", "altitude"),
    ("share", "nonstop"),
)


def trip_text(answer: Answer) -> str:
    """Return a trip as text for a terminal: a line for each airplane, then what is to be said of it."""
    wording = answer.wording
    title = f"{answer.start.code} to {answer.end.code}, {format_number(answer.distance_m / nmi, 0)} nmi"
    title = wording.text(title)
    lines = [title, "─" * len(title), *_wrapped(wording.text(answer.conditions))]
    ways = range(max((len(flight.legs) for flight in answer.flights), default=0))
    for way in ways:
        heading = [f"{answer.end.code} to {answer.start.code}, back"] if way else []
        lines += ["", *heading, *_table(answer, way)]
    both = [
        (f.name, _shown(f.figures[f.legs[0].both_ways], wording))
        for f in answer.flights
        if f.legs[0].both_ways
    ]
    if both:
        lines += ["", "There and back", *_columns([list(pair) for pair in both])]
    lines += ["", *(line for flight in answer.flights for line in _remarks(flight, wording))]
    return "\n".join([*lines, "", *_wrapped(CAUTION)])


def _table(answer: Answer, way: int) -> Iterator[str]:
    parts = [(p, head) for p, head in _PARTS if any(_figure(f, f.legs[way], p) for f in answer.flights)]
    rows = [["", *(head for _, head in parts)]]
    for flight in answer.flights:
        figures = [_figure(flight, flight.legs[way], part) for part, _ in parts]
        rows.append([flight.name, *(_shown(figure, answer.wording) for figure in figures)])
    return _columns(rows)


def _figure(flight: Flight, leg: TripLeg, part: str) -> Figure | None:
    return flight.figures.get(getattr(leg, part))


def _shown(figure: Figure | None, wording: Wording) -> str:
    return "—" if figure is None or figure.si is None else wording.numerals(str(wording.figure(figure)))


def _columns(rows: list[list[str]]) -> Iterator[str]:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    for first, *others in rows:
        cells = (cell.rjust(width) for cell, width in zip(others, widths[1:], strict=True))
        yield "  ".join((first.ljust(widths[0]), *cells)).rstrip()


def _remarks(flight: Flight, wording: Wording) -> Iterator[str]:
    said: list[str] = []
    for leg in flight.legs:
        time = flight.figures[leg.time]
        said += [time.missing if time.si is None else leg.reason, *time.remarks]
    for remark in dict.fromkeys(filter(None, said)):
        yield from _wrapped(f"• {flight.name}: {wording.text(remark)}.", 2)


def _wrapped(text: str, indent: int = 0) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=" " * indent, break_long_words=False)


def trip_data(answer: Answer) -> dict[str, Any]:
    """Return a trip with stable keys that name their units; figures as everywhere."""
    return {
        "caution": CAUTION,
        "from": answer.start.code,
        "to": answer.end.code,
        "distance_nmi": answer.distance_m / nmi,
        "conditions": answer.conditions,
        "airplanes": [
            {
                "aircraft": flight.key,
                "name": flight.name,
                "ways": [
                    {"trip": leg.trip, "nonstop": leg.nonstop, "reason": leg.reason} for leg in flight.legs
                ],
                "figures": [figure_record(figure) for figure in flight.figures.values()],
            }
            for flight in answer.flights
        ],
    }
