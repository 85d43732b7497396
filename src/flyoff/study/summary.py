"""The comparison as a table in a terminal."""

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from flyoff.comparison.results import Comparison
from flyoff.core.figure import Figure
from flyoff.core.wording import AS_WRITTEN, Wording


def print_comparison(
    comparison: Comparison, wording: Wording = AS_WRITTEN, console: Console | None = None
) -> None:
    """Print the comparison as a house words it: a row for each quantity, a column for each airplane."""
    console = console or Console(highlight=False)
    if not console.is_terminal:  # a file or a pipe has no edge to wrap at
        console = Console(highlight=False, width=44 + 22 * len(comparison.entries))
    table = Table(title=Text(comparison.title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("")
    for entry in comparison.entries:
        table.add_column(Text(entry.name), justify="right")
    notes: dict[str, int] = {}
    group = ""
    for row in comparison.rows:
        if row.group != group:
            group = row.group
            table.add_section()
            table.add_row(Text(wording.text(group), style="bold"))
        figures = [wording.figure(comparison.figure(entry.key, row.quantity)) for entry in comparison.entries]
        unit = next((f", {figure.unit_label}" for figure in figures if figure.unit_label), "")
        table.add_row(
            Text(f"  {wording.text(row.label)}{unit}"), *(_cell(figure, notes, wording) for figure in figures)
        )
    console.print(table)
    for answer in comparison.answers:
        console.print(wording.text(f"{answer.name}: {answer.words}"), markup=False)
    for entry in comparison.entries:
        for remark in entry.remarks:
            console.print(f"{entry.name}: {wording.text(remark)}", markup=False)
    for note, number in notes.items():
        console.print(f"[{number}] {wording.text(note)}", markup=False)
    for remark in comparison.remarks:
        console.print(wording.text(remark), markup=False)


def _cell(figure: Figure, notes: dict[str, int], wording: Wording) -> str:
    if figure.si is None:
        return f"missing \\[{notes.setdefault(figure.missing, len(notes) + 1)}]"
    marks = "".join(f" \\[{notes.setdefault(remark, len(notes) + 1)}]" for remark in figure.remarks)
    return f"{wording.numerals(figure.number)}{marks}"
