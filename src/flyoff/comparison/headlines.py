"""The headline figures of one airplane on each kind of evidence that there is, side by side."""

from dataclasses import replace

from flyoff.comparison.case import Case
from flyoff.comparison.cruise import cruise_at
from flyoff.comparison.evidence import KINDS, READINGS
from flyoff.comparison.payload_range import range_figures
from flyoff.comparison.results import Headline
from flyoff.core.figure import Figure, difference

QUANTITIES = (
    "cruise_speed",
    "cruise_fuel_flow",
    "specific_range",
    "range",
    "endurance",
    "range_full_tanks",
    "endurance_full_tanks",
)


def headline_figures(case: Case) -> tuple[list[Figure], list[Headline]]:
    """Return the headlines of an airplane that was flown, each kind by itself and less the handbook.

    None of an airplane that was not flown: it has one kind of evidence.
    """
    if not case.evidences.flights:
        return [], []
    on = {kind: replace(case, kind=kind) for kind in KINDS}
    found = {kind: _headlines(own) for kind, own in on.items()}
    figures, headlines = [], []
    for quantity in QUANTITIES:
        label = found["handbook"][quantity].label
        named = {kind: _named(own, found[kind][quantity]) for kind, own in on.items()}
        apart = {
            kind: _less_handbook(
                figure,
                named["handbook"],
                f"{case.key}.{quantity}?evidence={kind}-handbook",
                f"{label}, {READINGS[kind].name}",
            )
            for kind, figure in named.items()
            if kind != "handbook"
        }
        figures += [*named.values(), *apart.values()]
        keys = ({kind: figure.key for kind, figure in part.items()} for part in (named, apart))
        headlines.append(Headline(case.key, quantity, label, *keys))
    return figures, headlines


def _headlines(case: Case) -> dict[str, Figure]:
    """Return the headline figures of a case by quantity."""
    figures = (*cruise_at(case, case.terms.altitude.si, {}), *range_figures(case))
    by_key = {figure.key: figure for figure in figures}
    return {quantity: by_key[f"{case.key}.{quantity}"] for quantity in QUANTITIES}


def _named(case: Case, figure: Figure) -> Figure:
    """Return a figure that says which evidence it rests on."""
    other = {} if case.kind == case.terms.evidence else {"evidence": case.reading.name}
    return replace(
        figure,
        key=f"{figure.key}?evidence={case.kind}",
        label=f"{figure.label}, on {case.reading.name}",
        terms={**figure.terms, **other},
    )


def _less_handbook(figure: Figure, handbook: Figure, key: str, label: str) -> Figure:
    """Return a headline less the handbook's, its remarks in the words of its evidence."""
    book = READINGS["handbook"].name
    apart = difference(key, f"{label} less {book}", figure, handbook)
    remarks = dict.fromkeys((f"unequal evidence, set against {book}", *figure.remarks, *handbook.remarks))
    return replace(apart, remarks=tuple(remarks))
