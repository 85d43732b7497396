"""Which charts show a figure, so that a text which contradicts it is set against the chart too."""

import re
from collections.abc import Iterator

from flyoff.charts.catalogue import charts_of
from flyoff.comparison.results import Comparison
from flyoff.core.sources import Place
from flyoff.draft.claims import Records
from flyoff.draft.findings import Checked
from flyoff.draft.text import Note

SHOWN = {
    "speed_altitude": r"cruise_speed|best_speed|best_speed_altitude",
    "payload_range": r"range(_full_tanks|_seats_filled)?|payload_full_tanks|useful_load",
    "range_map": r"range",
    "seat_table": r"range|fuel_occupants|fuel_seats_filled",
    "balance": r"takeoff_weight|landing_weight|landing_weight_margin",
    "trips": r"trip\..*",
    "cost_swings": r"cost_per_hour",
    "cabin": r"cabin_(width|height|length)|baggage_volume|door\..*",
    "flown": r"(flown|book)\..*",
}
"""By the name of a chart, the quantities that it draws."""


def chart_notes(one: Checked, records: Records, comparison: Comparison) -> Iterator[Note]:
    """Yield a note for each figure that the text contradicts and charts show."""
    charts = charts_of(comparison)
    seen: set[tuple[int, str]] = set()
    for finding in one.findings:
        known = records.figures.get(finding.figure)
        if finding.verdict != "contradicted" or known is None or (finding.line, known.key) in seen:
            continue
        seen.add((finding.line, known.key))
        names = [c.title for c in charts if re.fullmatch(SHOWN.get(c.name, ""), known.quantity)]
        if names and known.airplane in records.airplanes:
            titles = " and ".join(f"“{name}”" for name in names)
            verb = "show" if len(names) > 1 else "shows"
            words = f"the text says '{finding.text}'; {titles} {verb} {known.key}, {known.printed}"
            yield Note(Place(one.draft.file, finding.line), words)
