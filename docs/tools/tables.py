"""Markdown tables."""

from collections.abc import Iterable, Sequence


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return the lines of a table."""
    return [
        _row(head),
        _row(["---"] * len(head)),
        *(_row([cell.replace("|", "\\|").replace("\n", " ") for cell in row]) for row in rows),
        "",
    ]


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
