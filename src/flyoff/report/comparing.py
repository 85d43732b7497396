"""The tables that set airplanes side by side."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from flyoff.comparison.best_speeds import BEST, best_key
from flyoff.comparison.evidence import KINDS, READINGS
from flyoff.comparison.results import Comparison, Entry, FlownPoint
from flyoff.comparison.results import Row as Asked
from flyoff.comparison.verdict import share_better
from flyoff.core.figure import Figure
from flyoff.core.units import nmi
from flyoff.report.blocks import DASH, Cell, Column, Group, Row, Table

NOTHING = Cell(DASH)


def columns(entries: Sequence[Entry]) -> tuple[Column, ...]:
    """Return a column for each airplane."""
    return tuple(Column(entry.name, entry.key) for entry in entries)


def grouped(rows: Sequence[Asked]) -> dict[str, list[Asked]]:
    """Return the rows of the comparison table, trips left to their own, by group."""
    groups: dict[str, list[Asked]] = {}
    for row in rows:
        if not row.of_trip:
            groups.setdefault(row.group, []).append(row)
    return groups


def cell(figure: Figure | None, note: str = "") -> Cell:
    """Return a figure's cell, or a dash where no such figure exists."""
    return NOTHING if figure is None else Cell(figure=figure, note=note)


def main_table(comparison: Comparison) -> Table:
    """Return every quantity of every airplane."""
    groups = tuple(
        Group(
            title,
            tuple(
                Row(
                    row.label,
                    tuple(
                        cell(comparison.figures.get(f"{e.key}.{row.quantity}")) for e in comparison.entries
                    ),
                    {"more": "more is better", "less": "less is better"}.get(row.better, ""),
                )
                for row in rows
            ),
        )
        for title, rows in grouped(comparison.rows).items()
    )
    return Table("Side by side, on the terms above", "Quantity", columns(comparison.entries), groups)


def difference_tables(comparison: Comparison) -> Iterator[Table]:
    """Yield, for each airplane with rivals after it, the differences from them."""
    entries = comparison.entries
    for number, first in enumerate(entries):
        rivals = [
            rival
            for rival in entries[number + 1 :]
            if any(comparison.difference(first.key, rival.key, row.quantity) for row in comparison.rows)
        ]
        if rivals:
            yield _difference_table(comparison, first, rivals)


def _difference_table(comparison: Comparison, first: Entry, rivals: Sequence[Entry]) -> Table:
    groups = []
    every = grouped(comparison.rows)
    for row in comparison.rows:
        if row.of_trip:
            every.setdefault(row.group, []).append(row)
    for title, rows in every.items():
        told = []
        for row in rows:
            figures = [(rival, comparison.difference(first.key, rival.key, row.quantity)) for rival in rivals]
            if any(figure is not None for _, figure in figures):
                cells = tuple(
                    NOTHING if f is None else _difference_cell(comparison, f, row, first, rival)
                    for rival, f in figures
                )
                told.append(Row(row.label, cells))
        groups.append(Group(title, tuple(told)))
    heads = tuple(Column(f"less {rival.name}", rival.key) for rival in rivals)
    kept = tuple(group for group in groups if group.rows)
    return Table(f"{first.name} less its rivals", first.name, heads, kept, folded=True)


def _difference_cell(comparison: Comparison, figure: Figure, row: Asked, first: Entry, rival: Entry) -> Cell:
    own = ((e, comparison.figures.get(f"{e.key}.{row.quantity}")) for e in (first, rival))
    gone = [entry.name for entry, f in own if f is None or f.si is None]
    why = f"no figure for {' or '.join(gone)}" if gone else ""
    return Cell(figure=figure, note=verdict(figure, row, first, rival), why=why, signed=True)


def verdict(figure: Figure, row: Asked, first: Entry, rival: Entry) -> str:
    """Return in words what a difference means, no more than its uncertainty supports."""
    value, u95 = figure.value, figure.u95
    if value is None or u95 is None:
        return ""
    if value == 0 and u95 == 0:
        return "the same"
    if abs(value) <= u95:
        return f"within the uncertainty{_odds(figure, row, first, rival)}"
    if row.better not in {"more", "less"}:
        return "beyond the uncertainty" if u95 else ""
    if figure.unequal_terms:
        return f"not on equal terms: {'; '.join(figure.unequal_terms)}"
    winner = first if (value > 0) == (row.better == "more") else rival
    return f"favours {winner.name}"


def _odds(figure: Figure, row: Asked, first: Entry, rival: Entry) -> str:
    """Return the likelier of two and how likely it is, where the terms are equal and one would be better."""
    if figure.draws is None or figure.unequal_terms or row.better not in {"more", "less"}:
        return ""
    share = share_better(figure.draws, np.zeros(1))
    share = share if row.better == "more" else 1 - share
    ahead, sure = (first, share) if share >= 0.5 else (rival, 1 - share)
    return f"; {ahead.name} better with {100 * sure:.0f} %"


def trips_table(comparison: Comparison) -> Table:
    """Return time, fuel and stops of each trip for each airplane."""
    groups = []
    for trip in dict.fromkeys(leg.trip for leg in comparison.trip_legs):
        legs = {leg.aircraft: leg for leg in comparison.trip_legs if leg.trip == trip}
        rows = []
        known = [(e, legs[e.key]) for e in comparison.entries if e.key in legs]
        for label, keys in (
            ("Flying time", {e.key: leg.time for e, leg in known}),
            ("Fuel burnt", {e.key: leg.fuel for e, leg in known}),
            ("Fuel stops", {e.key: leg.stops for e, leg in known}),
            ("Time with taxi and stops", {e.key: leg.elapsed for e, leg in known}),
            ("There and back", {e.key: leg.both_ways for e, leg in known}),
            ("Altitude", {e.key: leg.altitude for e, leg in known}),
        ):
            if not any(keys.values()):
                continue
            figures = [comparison.figures.get(keys.get(e.key, "")) for e in comparison.entries]
            rows.append(Row(label, tuple(cell(figure) for figure in figures)))
        words = {e.key: _nonstop(leg.nonstop, leg.reason) for e, leg in known}
        rows.append(Row("Nonstop", tuple(Cell(words.get(e.key, "—")) for e in comparison.entries)))
        distance = next(iter(legs.values())).distance_m / nmi
        length = "" if math.isnan(distance) else f", {distance:,.0f} nmi"
        groups.append(Group(f"{trip}{length}{_ends(comparison, trip)}", tuple(rows)))
    return Table("Each trip, airplane by airplane", "Trip", columns(comparison.entries), tuple(groups))


def _ends(comparison: Comparison, name: str) -> str:
    for trip in comparison.trips:
        if name in (trip.name, f"{trip.name}, back"):
            ends = (trip.start, trip.end) if name == trip.name else (trip.end, trip.start)
            return f", {ends[0]} to {ends[1]}"
    return ""


def _nonstop(nonstop: bool | None, reason: str) -> str:
    word = {True: "yes", False: "no", None: "not known"}[nonstop]
    return f"{word}: {reason}" if reason else word


def options_table(comparison: Comparison) -> Table | None:
    """Return what each option costs in payload, money and speed; None where there are none."""
    groups = []
    for entry in comparison.entries:
        rows = tuple(
            Row(
                option.name,
                tuple(
                    cell(comparison.figures.get(key or ""))
                    for key in (option.payload, option.price, option.speed)
                ),
            )
            for option in comparison.options
            if option.aircraft == entry.key
        )
        if rows:
            groups.append(Group(entry.name, rows))
    if not groups:
        return None
    heads = (Column("Payload given up"), Column("Price"), Column("Cruise speed"))
    return Table("What each option costs", "Option", heads, tuple(groups))


def evidence_table(comparison: Comparison) -> Table | None:
    """Return each headline of each flown airplane on every kind of evidence; None where none was flown."""
    groups = []
    for entry in comparison.entries:
        rows = tuple(
            Row(
                headline.label,
                (
                    *(cell(comparison.figures.get(headline.on[kind])) for kind in KINDS),
                    *(_signed(comparison.figures.get(key), "") for key in headline.less_handbook.values()),
                ),
            )
            for headline in comparison.headlines
            if headline.aircraft == entry.key
        )
        if rows:
            groups.append(Group(entry.name, rows))
    if not groups:
        return None
    heads = [Column(READINGS[kind].name.capitalize()) for kind in KINDS]
    heads += [Column(f"{READINGS[kind].name} less handbook".capitalize()) for kind in KINDS[1:]]
    return Table("Each headline on each kind of evidence", "Quantity", tuple(heads), tuple(groups))


def best_speeds_table(comparison: Comparison) -> Table | None:
    """Return what each fitted airplane does at its best; None where none was flown."""
    figures = comparison.figures
    flown = [e for e in comparison.entries if any(best_key(e.key, quantity) in figures for quantity in BEST)]
    if not flown:
        return None
    rows = (
        Row(label, tuple(cell(figures.get(best_key(entry.key, quantity))) for entry in flown))
        for quantity, (label, _) in BEST.items()
    )
    return Table("At its best, by the fitted model", "Quantity", columns(flown), (Group("", tuple(rows)),))


def book_table(comparison: Comparison) -> Table:
    """Return whether each flown airplane makes book, statement by statement, overall and by altitude."""
    groups = []
    names = {entry.key: entry.name for entry in comparison.entries}
    for aircraft in dict.fromkeys(v.aircraft for v in comparison.book):
        rows = []
        for verdict in (v for v in comparison.book if v.aircraft == aircraft):
            words = Cell(_sentence(verdict.words.partition(":")[0]), note="; ".join(verdict.notes))
            figure = comparison.figures.get(verdict.difference)
            rows.append(Row(verdict.label, (_signed(figure, ""), Cell(str(verdict.conditions)), words)))
            for key in verdict.levels if len(verdict.levels) > 1 else ():
                level = comparison.figures[key]
                count = str(len(level.trace.inputs))
                rows.append(Row(f"at {level.terms['altitude']}", (_signed(level, ""), Cell(count), Cell(""))))
        groups.append(Group(names[aircraft], tuple(rows)))
    heads = (Column("Flown less handbook"), Column("Conditions"), Column("In words"))
    return Table("Each statement, overall and by altitude", "Handbook statement", heads, tuple(groups))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def flown_tables(comparison: Comparison) -> Iterator[Table]:
    """Yield, for each kind of handbook statement, each flown condition beside it."""
    labels = {v.statement: v.label for v in comparison.book}
    names = {entry.key: entry.name for entry in comparison.entries}
    for statement, label in labels.items():
        every = [p for p in comparison.flown if p.statement == statement]
        groups = []
        for flight in dict.fromkeys((p.aircraft, p.flight) for p in every):
            points = [p for p in every if (p.aircraft, p.flight) == flight]
            rows = tuple(Row(p.condition, _flown_cells(comparison, p)) for p in points)
            groups.append(Group(f"{names[flight[0]]}, flown {flight[1]}", rows))
        heads = ("As flown", "Corrections", "Handbook", "Corrected less handbook")
        if groups:
            yield Table(label, "Condition", tuple(Column(h) for h in heads), tuple(groups), folded=True)


def _flown_cells(comparison: Comparison, point: FlownPoint) -> tuple[Cell, ...]:
    figures = comparison.figures
    return (
        cell(figures.get(point.flown)),
        Cell(point.corrections),
        cell(figures.get(point.handbook)),
        _signed(figures.get(point.difference), point.verdict),
    )


def _signed(figure: Figure | None, note: str) -> Cell:
    return NOTHING if figure is None else Cell(figure=figure, note=note, signed=True)
