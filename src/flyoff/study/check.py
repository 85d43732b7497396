"""Checking drafts and captions against a study's figures, or against physics and arithmetic alone."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from flyoff.core.files import write_text
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.check import check_draft
from flyoff.draft.claims import Records, known_of
from flyoff.draft.findings import Checked
from flyoff.draft.output import findings_data, lines
from flyoff.draft.page import html_page
from flyoff.draft.read import read_draft
from flyoff.draft.text import Draft

Progress = Callable[[str], None]


def records_of(folder: Path, progress: Progress = lambda _: None) -> Records:
    """Return what a study lets be published.

    Raises
    ------
    Problems
        Everything that is wrong in any of its files.
    """
    from flyoff.study.run import load  # a second of work that a check without a study does not need

    study = load(folder, progress)
    known = (known_of(figure) for figure in study.figures().values())
    airplanes = {entry.key: entry.name for entry in study.comparison.entries}
    return Records(airplanes, {k.key: k for k in known if k is not None})


def check(
    paths: Sequence[Path], study: Path | None = None, progress: Progress = lambda _: None
) -> tuple[Checked, ...]:
    """Return each draft checked; without a study only what cannot be true is accused.

    Raises
    ------
    Problems
        Everything that is wrong with the files or the study.
    """
    drafts: list[Draft] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            drafts.append(read_draft(path))
        except Problems as found:
            problems.extend(found.problems)
    if problems:
        raise Problems(problems)
    records = records_of(study, progress) if study else Records()
    checked = []
    for draft in drafts:
        progress(f"checking {draft.file}")
        checked.append(check_draft(draft, records))
    return tuple(checked)


def check_text(checked: Sequence[Checked], *, everything: bool, figures: bool) -> str:
    """Return the findings as lines."""
    return "\n".join(lines(checked, everything=everything, figures=figures))


def check_data(checked: Sequence[Checked]) -> dict[str, Any]:
    """Return the findings as data."""
    return findings_data(checked)


def write_page(checked: Sequence[Checked], page: Path, *, figures: bool) -> None:
    """Write the HTML copy of the drafts."""
    write_text(page, html_page(checked, figures=figures))


def check_page(page: Path) -> None:
    """Refuse to write a page over what does not call itself one.

    Raises
    ------
    Problems
        If the name has no ending of a page, or is a folder's.
    """
    if page.suffix.lower() not in (".html", ".htm") or page.is_dir():
        raise Problems([Problem(Place(str(page)), "no name for a page", "expected a file ending in .html")])
