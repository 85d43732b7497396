"""The traces as a printed appendix: inputs, methods and remarks told once, each figure by their numbers."""

import re
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from typing import Any, TypeAlias, TypeVar

from flyoff.report.blocks import Document, Row, Table, TraceInput, TraceNote
from flyoff.report.html import printed
from flyoff.report.traces import is_difference, method_words

_Record: TypeAlias = dict[str, Any]
T = TypeVar("T", bound=Hashable)


def shown_figures(document: Document) -> tuple[str, ...]:
    """Return the keys of the figures that a document's tables show, in order, each once."""
    cells = (cell for row in _rows(document) for cell in row.cells)
    return tuple(dict.fromkeys(cell.figure.key for cell in cells if cell.figure))


def _rows(document: Document) -> Iterator[Row]:
    for part in document.parts:
        for block in part.blocks:
            if isinstance(block, Table):
                for group in block.groups:
                    yield from group.rows


def traced_figures(document: Document) -> frozenset[str]:
    """Return the keys of the figures to trace: those shown and all that they rest on.

    But differences: that they are one figure less another says it all.
    """
    notes = _notes(document)
    resting = _resting(notes, shown_figures(document))
    return frozenset(key for key in resting if not is_difference(notes[key].figure.trace.method))


def _notes(document: Document) -> dict[str, TraceNote]:
    return {note.figure.key: note for _, group in document.index for note in group}


def appendix(document: Document, told: Collection[str]) -> _Record:
    """Return the traces of some figures of a document."""
    notes, shown = _notes(document), set(shown_figures(document))
    traced = [note for key, note in notes.items() if key in told]
    given = _by_source(given for note in traced for given in note.inputs if not given.figure)
    inputs = _numbered(entry for _, _, entries in given for entry in entries)
    methods = _numbered(_method(note) for note in traced)
    remarks = _numbered(remark for note in traced for remark in _remarks(note))
    figures = _numbered(
        note.figure.key for _, group in document.index for note in group if note.figure.key in told
    )
    groups: list[_Record] = [
        {
            "name": name,
            "traces": [
                _trace(note, name, notes, inputs, methods, remarks, figures, shown=note.figure.key in shown)
                for note in group
                if note.figure.key in told
            ],
        }
        for name, group in document.index
    ]
    _alike(trace for group in groups for trace in group["traces"])
    return {
        "inputs": [
            {
                "label": label,
                "source": source,
                "entries": [(inputs[entry], entry.text, *_place(entry.where)) for entry in entries],
            }
            for source, label, entries in given
        ],
        "remarks": list(remarks),
        "methods": [{"text": text, "source": source} for text, source in methods],
        "groups": [group for group in groups if group["traces"]],
        "left_out": len(notes.keys() - shown - set(told)),
    }


def _resting(notes: dict[str, TraceNote], shown: tuple[str, ...]) -> set[str]:
    """Return the keys of some figures and of every figure that they rest on."""
    found: set[str] = set()
    waiting = [key for key in shown if key in notes]
    while waiting:
        key = waiting.pop()
        if key not in found:
            found.add(key)
            waiting += [given.figure for given in notes[key].inputs if given.figure]
    return found


def _numbered(things: Iterable[T]) -> dict[T, int]:
    """Return each different thing with its number, in the order met."""
    return {thing: number for number, thing in enumerate(dict.fromkeys(things), 1)}


def _by_source(inputs: Iterable[TraceInput]) -> list[tuple[str, str, list[TraceInput]]]:
    """Return different inputs under their source and label, in the order met."""
    found: dict[str, dict[str, list[TraceInput]]] = {}
    for given in dict.fromkeys(inputs):
        found.setdefault(given.source, {}).setdefault(given.label, []).append(given)
    return [(source, label, entries) for source, under in found.items() for label, entries in under.items()]


def _remarks(note: TraceNote) -> tuple[str, ...]:
    """Return what is said of a figure: its terms that differ, and its remarks."""
    return (*(f"{name}: {text}" for name, text in note.figure.terms.items()), *note.figure.remarks)


def _method(note: TraceNote) -> tuple[str, str]:
    trace = note.figure.trace
    return method_words(trace.method), trace.source


def _trace(
    note: TraceNote,
    group: str,
    notes: Mapping[str, TraceNote],
    inputs: Mapping[TraceInput, int],
    methods: Mapping[tuple[str, str], int],
    remarks: Mapping[str, int],
    figures: Mapping[str, int],
    *,
    shown: bool,
) -> _Record:
    figure = note.figure
    value = f"missing: {figure.missing}"
    if figure.si is not None:
        parts = printed(figure)
        value = " ".join(filter(None, (parts.value, f"± {parts.u95}" if parts.u95 else "", parts.unit)))
    resting = dict.fromkeys(given.figure for given in note.inputs if given.figure)
    return {
        "number": figures[figure.key],
        "key": figure.key,
        "title": note.title.removeprefix(f"{group}: "),
        "value": value,
        "basis": figure.basis,
        "extrapolated": figure.extrapolated,
        "method": methods[_method(note)],
        "inputs": _runs({inputs[given] for given in note.inputs if not given.figure}),
        "figures": _runs({figures[key] for key in resting if key in figures}),
        "less": [
            tuple(figures[given.figure] for given in notes[key].inputs)
            for key in resting
            if key not in figures
        ],
        "remarks": _runs({remarks[remark] for remark in _remarks(note)}),
        "shown": shown,
    }


def _alike(traces: Iterable[_Record]) -> None:
    """Tell in each trace which one before it has the same inputs, where they are many."""
    first: dict[tuple[tuple[int, int], ...], int] = {}
    for trace in traces:
        inputs = tuple(trace["inputs"])
        met = first.setdefault(inputs, trace["number"])
        trace["alike"] = met if len(inputs) > 2 and met != trace["number"] else None


def _place(where: str) -> tuple[str, str]:
    """Return a place as its file and, with the colon, its line."""
    found = re.fullmatch(r"(.*?)(:\d+)?", where)
    assert found
    return found[1], found[2] or ""


def _runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """Return numbers as runs without gaps, each by its first and last."""
    runs: list[tuple[int, int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1] = runs[-1][0], number
        else:
            runs.append((number, number))
    return runs
