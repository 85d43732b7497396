"""Findings as lines for a terminal and as JSON for other programs."""

from collections.abc import Iterator, Sequence
from typing import Any

from flyoff.draft.findings import VERDICTS, Checked, Finding


def lines(checked: Sequence[Checked], *, everything: bool, figures: bool) -> Iterator[str]:
    """Yield each finding as a compiler gives its errors, then a count.

    What is no figure is shown only with `everything`. Without figures nothing can be
    supported: then only what cannot be true, or is not told, is shown.
    """
    for one in checked:
        yield from map(str, one.notes)
        for finding in one.findings:
            if everything or _worth_a_line(finding, figures=figures):
                yield str(finding)
    yield summary(checked, figures=figures)


def _worth_a_line(finding: Finding, *, figures: bool) -> bool:
    if finding.verdict == "not a figure":
        return False
    return figures or finding.verdict == "impossible" or bool(finding.relation)


def summary(checked: Sequence[Checked], *, figures: bool) -> str:
    """Return how many quantities there are, and of which verdict."""
    counts = {verdict: sum(one.counts()[verdict] for one in checked) for verdict in VERDICTS}
    number = sum(counts.values()) - counts["not a figure"]
    total = f"{number} {'quantity' if number == 1 else 'quantities'}"
    quiet = counts["not a figure"]
    others = (
        f"; {quiet} other {'number claims' if quiet == 1 else 'numbers claim'} nothing (--all)"
        if quiet
        else ""
    )
    if not figures:
        return (
            f"{total}, {counts['impossible']} impossible{others};"
            " no study was named (--study FOLDER), so none was compared with a figure"
        )
    parts = ", ".join(f"{counts[verdict]} {verdict}" for verdict in VERDICTS if verdict != "not a figure")
    return f"{total}: {parts}{others}"


def findings_data(checked: Sequence[Checked]) -> dict[str, Any]:
    """Return every finding, and what was noted of the files, with stable keys."""
    return {
        "findings": [
            {
                "file": finding.file,
                "line": finding.line,
                "column": finding.column,
                "time": finding.time or None,
                "text": finding.text,
                "verdict": finding.verdict,
                "why": finding.why,
                "expected": finding.expected or None,
                "figure": finding.figure or None,
                "relation": finding.relation or None,
            }
            for one in checked
            for finding in one.findings
        ],
        "notes": [
            {"file": note.place.file, "line": note.place.line or None, "words": note.words}
            for one in checked
            for note in one.notes
        ],
    }
