"""The answers to the study's questions, how sure each is, and what would change it."""

from collections.abc import Iterator

from flyoff.comparison.results import Comparison, Verdict
from flyoff.core.caution import CAUTION
from flyoff.report.blocks import Block, Cell, Column, Group, Items, Part, Row, Table, Text
from flyoff.report.comparing import NOTHING, cell

_WORDS = (
    "Each answer rests on the figures of this report. Its probability is the share of draws in which it"
    " holds, all airplanes drawn together, so that what they share moves them alike. Below 95 %, the coverage"
    " of every interval here, or below the bar that a question sets, it is too close to call. Without"
    " evidence, or on unequal terms, nobody is ranked."
)


def verdict_part(comparison: Comparison) -> Part:
    """Return the part of the answers; empty where nothing is asked."""
    if not comparison.answers:
        return Part("verdict", "", "", ())
    told = Items(tuple(f"{verdict.name}: {verdict.words}." for verdict in comparison.answers))
    blocks: list[Block] = [Text(CAUTION, "caution"), told, Text(_WORDS), _rankings(comparison)]
    changes = _changes(comparison)
    blocks += [changes] if changes.groups else []
    unmoved = tuple(
        f"{verdict.name}: nothing changes with {'; '.join(verdict.unmoved)}."
        for verdict in comparison.answers
        if verdict.unmoved
    )
    blocks += [Text("Within the range searched, on nominal values:"), Items(unmoved)] if unmoved else []
    return Part("verdict", "The answers", "Answers", tuple(blocks))


def _rankings(comparison: Comparison) -> Table:
    groups = tuple(Group(_title(v), tuple(_ranked(comparison, v))) for v in comparison.answers)
    heads = (Column("Figure"), Column("Comes first, or reaches it"), Column("Better than the next"))
    caption, dash = "Each question, the airplanes in their order", "the question does not ask for one"
    return Table(caption, "Airplane", heads, groups, dash=dash)


def _title(verdict: Verdict) -> str:
    return f"{verdict.name}: {verdict.threshold} or {verdict.better}" if verdict.threshold else verdict.name


def _ranked(comparison: Comparison, verdict: Verdict) -> Iterator[Row]:
    """Yield the airplanes in their order, then those that are not ranked, and why."""
    names = {entry.key: entry.name for entry in comparison.entries}
    figures = comparison.figures
    keys = [standing.aircraft for standing in verdict.ranked]
    for number, standing in enumerate(verdict.ranked):
        pair = verdict.pairs.get((standing.aircraft, keys[number + 1]), "") if number + 1 < len(keys) else ""
        share = cell(figures.get(standing.first or standing.reaches))
        told = (cell(figures[standing.figure]), share, cell(figures.get(pair)))
        yield Row(names[standing.aircraft], told)
    if verdict.probability:
        yield Row("The whole order", (NOTHING, cell(figures[verdict.probability]), NOTHING))
    for key, why in verdict.unranked:
        yield Row(names[key], (Cell("not ranked", note=why), NOTHING, NOTHING))


def _changes(comparison: Comparison) -> Table:
    """Return the break-even values of the terms."""
    groups = tuple(
        Group(
            verdict.name,
            tuple(
                Row(
                    f"{found.term[:1].upper()}{found.term[1:]}, {found.beyond}",
                    (cell(comparison.figures[found.figure]), Cell(found.words)),
                )
                for found in verdict.break_evens
            ),
        )
        for verdict in comparison.answers
        if verdict.break_evens
    )
    heads = (Column("Break-even"), Column("Beyond it"))
    return Table("What would change an answer, one term at a time", "Term", heads, groups)
