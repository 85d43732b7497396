"""Checking drafts and captions against a study's figures, or against physics and arithmetic alone."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flyoff.core.files import write_text
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.bound import figure_of
from flyoff.draft.check import check_draft
from flyoff.draft.claims import Records
from flyoff.draft.findings import Checked
from flyoff.draft.links import unreadable_links
from flyoff.draft.output import findings_data, lines
from flyoff.draft.page import html_page
from flyoff.draft.read import read_draft
from flyoff.draft.text import Draft, Note

if TYPE_CHECKING:
    from flyoff.study.run import Study

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Checking:
    """Drafts as checked, and what they were checked against; `study` is None where none was named."""

    checked: tuple[Checked, ...]
    records: Records
    study: "Study | None" = None

    @property
    def faulty(self) -> bool:
        """Whether anything is contradicted or impossible, or bound to a figure that is not there."""
        if self.study is None:
            return any(one.accused for one in self.checked)
        return any(
            one.accused or any(f.figure and f.verdict == "unsupported" for f in one.findings)
            for one in self.checked
        )

    @property
    def unused(self) -> tuple[str, ...]:
        """The study's figures that no quantity of the drafts was compared with."""
        used = {finding.figure for one in self.checked for finding in one.findings}
        return tuple(key for key in (self.study.figures() if self.study else ()) if key not in used)


def checking(
    paths: Sequence[Path], study: Path | None = None, progress: Progress = lambda _: None
) -> Checking:
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
    records, against = _against(study, drafts, progress) if study else (Records(), None)
    checked = []
    for draft in drafts:
        progress(f"checking {draft.file}")
        one = check_draft(draft, records)
        noted = (*one.notes, *_link_notes(one), *_chart_notes(one, records, against))
        checked.append(replace(one, notes=noted))
    return Checking(tuple(checked), records, against)


def check(
    paths: Sequence[Path], study: Path | None = None, progress: Progress = lambda _: None
) -> tuple[Checked, ...]:
    """Return each draft checked, as `checking` does."""
    return checking(paths, study, progress).checked


def _against(folder: Path, drafts: Sequence[Draft], progress: Progress) -> tuple[Records, "Study"]:
    from flyoff.study.asked import records_of  # a second of work that a check without a study does not need
    from flyoff.study.run import load

    asked = (figure_of(link) for draft in drafts for block in draft.blocks for link in block.links)
    study = load(folder, progress)
    return records_of(study, filter(None, asked), progress), study


def _chart_notes(one: Checked, records: Records, study: "Study | None") -> Iterator[Note]:
    if study is not None:
        from flyoff.study.charted import chart_notes  # charts take as long to import

        yield from chart_notes(one, records, study.comparison)


def _link_notes(one: Checked) -> Iterator[Note]:
    """Yield what is wrong with links to figures, apart from what they say."""
    if one.draft.file.lower().endswith((".md", ".markdown")):
        for line, words in unreadable_links(one.draft.blocks):
            yield Note(Place(one.draft.file, line), words)
    bound: dict[int, list[int]] = {}
    for finding in one.findings:
        if finding.figure:
            bound.setdefault(finding.block, []).append(finding.start)
    for number, block in enumerate(one.draft.blocks):
        for link in block.links:
            inside = any(link.start <= start < link.end for start in bound.get(number, ()))
            if figure_of(link) and not inside:
                words = f"no quantity in '{block.text[link.start : link.end]}', bound to {figure_of(link)}"
                yield Note(Place(one.draft.file, block.spot(link.start).line), words)


def check_text(checking: Checking, *, everything: bool, unused: bool = False) -> str:
    """Return the findings as lines; with `unused`, then the figures that are used nowhere."""
    figures = checking.study is not None
    found = [*lines(checking.checked, everything=everything, figures=figures)]
    if figures and checking.unused:
        count = len(checking.study.figures()) if checking.study else 0
        told = "" if unused else " (--unused lists them)"
        found.append(f"{len(checking.unused):,} of the study's {count:,} figures are used nowhere{told}")
        found += [f"unused: {key}" for key in checking.unused] if unused else []
    return "\n".join(found)


def check_data(checking: Checking) -> dict[str, Any]:
    """Return the findings as data."""
    return {**findings_data(checking.checked), "unused": list(checking.unused)}


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
