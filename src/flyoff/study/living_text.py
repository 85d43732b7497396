"""What is said of words bound to figures: proposals, updates, copies, exports."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from flyoff.core.problems import Collector
from flyoff.core.sources import Place
from flyoff.study.living import Change, Rewriting, export


def check_options(
    files: Sequence[Path], study: Path | None, target: Path | None, *, changing: bool, unused: bool
) -> None:
    """Refuse what cannot be asked together.

    Raises
    ------
    Problems
        If words are to be bound or updated, or unused figures listed, without a study, or several
        drafts exported into one.
    """
    collector = Collector()
    if changing and study is None:
        collector.add(
            Place("--bind, --write"), "no study", "expected --study FOLDER, whose figures are bound"
        )
    if unused and study is None:
        collector.add(Place("--unused"), "no study", "expected --study FOLDER, whose figures are listed")
    if target is not None and len(files) != 1:
        collector.add(Place("--export"), f"{len(files)} drafts", "expected one draft to export")
    if len(set(files)) < len(files):
        collector.add(Place("FILE"), "a file named twice", "expected each once")
    collector.raise_any()


def all_of_them(_change: Change) -> bool:
    """Choose every change."""
    return True


def changes_text(rewritings: Sequence[Rewriting], copies: Sequence[Path], *, written: bool) -> str:
    """Return what was, or would be, changed, and what has to be changed by hand."""
    count = sum(len(one.changes) for one in rewritings)
    lines = [line for one in rewritings for line in one.diff()]
    lines += [f"left alone: {words}" for one in rewritings for words in one.left]
    lines += [f"copy of what it was: {path}" for path in copies]
    done = "made" if written else "proposed; nothing was written (--write writes)"
    return "\n".join([*lines, f"{count} {'change' if count == 1 else 'changes'} {done}"])


def changes_data(rewritings: Sequence[Rewriting], copies: Sequence[Path]) -> dict[str, Any]:
    """Return the same as data."""
    return {
        "words": [
            {
                "file": change.place.file,
                "line": change.place.line,
                "old": change.old,
                "new": change.new,
                "figure": change.figure,
            }
            for one in rewritings
            for change in one.changes
        ],
        "left": [words for one in rewritings for words in one.left],
        "copies": [str(path) for path in copies],
    }


def exported(draft: Path, target: Path) -> str:
    """Write the draft without links, and say so."""
    count = export(draft, target)
    return f"{target}: {draft} without its {count} {'link' if count == 1 else 'links'} to figures"
