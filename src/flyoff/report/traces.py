"""The trace of every figure, told for readers, and the methods and sources they name."""

from collections import defaultdict
from collections.abc import Mapping

from flyoff.comparison.results import Comparison
from flyoff.core.figure import Figure, Input
from flyoff.core.sources import Source
from flyoff.report.blocks import TraceInput, TraceNote
from flyoff.report.terms import source_words, split_page


def trace_index(
    comparison: Comparison, sources: Mapping[str, Source], seen: Mapping[str, tuple[str, str]]
) -> tuple[tuple[str, tuple[TraceNote, ...]], ...]:
    """Return every figure's trace, under the airplane or the pair of airplanes it is about.

    `seen` is where else the document shows a figure, by its key: anchor and words.
    """
    titles = {key: _title(figure, comparison) for key, figure in comparison.figures.items()}
    used_by: dict[str, list[str]] = defaultdict(list)
    for key, figure in comparison.figures.items():
        for given in dict.fromkeys(i.figure for i in figure.trace.inputs if i.figure):
            used_by[given].append(key)
    groups: dict[str, list[TraceNote]] = {}
    for key, figure in comparison.figures.items():
        note = TraceNote(
            figure,
            titles[key],
            tuple(_input(given, comparison, sources) for given in figure.trace.inputs),
            tuple((user, titles[user]) for user in used_by[key]),
            (seen[key],) if key in seen else (),
        )
        groups.setdefault(subject(key, comparison), []).append(note)
    return tuple((name, tuple(notes)) for name, notes in groups.items())


def subject(key: str, comparison: Comparison) -> str:
    """Return the name of the airplane, or of the pair of airplanes, that a key begins with."""
    first = key.partition(".")[0]
    names = {entry.key: entry.name for entry in comparison.entries}
    if first == "verdict":
        return "The answers"
    if first in names:
        return names[first]
    pair = ((a, b) for a in names for b in names if first == f"{a}-{b}")
    return next((f"{names[a]} less {names[b]}" for a, b in pair), first)


def _title(figure: Figure, comparison: Comparison) -> str:
    name = subject(figure.key, comparison)
    return figure.label if figure.label.startswith(name) else f"{name}: {figure.label}"


def _input(given: Input, comparison: Comparison, sources: Mapping[str, Source]) -> TraceInput:
    return TraceInput(
        given.label,
        given.text,
        str(given.place) if given.place else "",
        source_words(given.source, sources) if given.source else "",
        given.figure if given.figure in comparison.figures and given.figure else "",
    )


def methods(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Return each method once with its source; differences are one method, whatever they are between."""
    found: dict[tuple[str, str], None] = {}
    for figure in comparison.figures.values():
        found.setdefault((method_words(figure.trace.method), figure.trace.source))
    return tuple(found)


def method_words(method: str) -> str:
    """Return a method in words; that of any difference alike, whatever it is between."""
    if is_difference(method):
        return "difference of two figures, draw by draw, so that what they share cancels"
    return method


def is_difference(method: str) -> bool:
    """Tell whether a method is one figure less another."""
    return method.endswith(", draw by draw")


def sources_used(
    comparison: Comparison, sources: Mapping[str, Source]
) -> tuple[tuple[str, Source | None], ...]:
    """Return the sources that figures rest on, None where the study does not describe one."""
    named = (i.source for f in comparison.figures.values() for i in f.trace.inputs if i.source)
    keys = dict.fromkeys(split_page(name, sources)[0] for name in named)
    every = dict.fromkeys([*keys, *sources])
    return tuple((key, sources.get(key)) for key in every)
