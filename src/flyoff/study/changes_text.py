"""Changes in words, as a correction notice can use them, and as data."""

from collections.abc import Iterator
from typing import Any

from flyoff.core.caution import CAUTION
from flyoff.study.changes import Changes, FigureChange
from flyoff.study.editions import WORKING
from flyoff.study.kept import Rebuilt

_KNOWN = {
    "only change": "the only file that changed",
    "trace": "the only changed file that these figures rest on",
    "rerun": "found by running the earlier records with one changed file at a time",
    "together": "no one of them changes these figures alone",
    "program": "the records do not account for it",
    "unreadable": "this program cannot read the earlier records any more",
}
_INPUTS = 3
_LINES = 4


def changes_text(found: Changes) -> str:
    """Return the changes in words, each cause with its figures."""
    return "\n".join(_lines(found))


def _lines(found: Changes) -> Iterator[str]:
    read = [change for change in found.figures if change.printed]
    yield f"From {_called(found.first)} to {_called(found.second)}: {_count(len(read), 'figure')} to correct."
    yield from (f"The program differs: {words}." for words in found.program)
    groups: dict[tuple[tuple[str, ...], str], list[FigureChange]] = {}
    for change in read:
        groups.setdefault((change.files, change.how), []).append(change)
    for (files, how), figures in groups.items():
        cause = " and ".join(files) or "the program"
        yield ""
        yield f"Because of {cause} ({_KNOWN[how]}):"
        for file in files:
            yield from _file_lines(found, file)
        told: tuple[str, ...] = ()
        for change in figures:
            yield f"- {_correction(change)}"
            if change.inputs != told:
                yield from (f"    {words}" for words in change.inputs[:_INPUTS])
            told = change.inputs
    silent = len(found.figures) - len(read)
    if silent:
        yield ""
        yield f"{_count(silent, 'figure')} changed by less than is printed."
    idle = [
        f"{f.file} ({f.change})" for f in found.files if not any(f.file in c.files for c in found.figures)
    ]
    if idle:
        yield ""
        yield f"Changed without effect on any figure: {', '.join(idle)}."
    yield ""
    yield CAUTION


def _file_lines(found: Changes, file: str) -> Iterator[str]:
    change = next(f for f in found.files if f.file == file)
    if change.change != "changed":
        yield f"    {file} was {change.change}"
    for line, was, now in change.lines[:_LINES]:
        yield f"    {file}:{line}: {now or '(gone)'}    was: {was or '(not there)'}"
    if len(change.lines) > _LINES:
        yield f"    and {len(change.lines) - _LINES} more lines of it"


def _correction(change: FigureChange) -> str:
    name = f"{change.label} ({change.key})"
    if change.before is None:
        return f"{name}: {change.after}, not published before"
    if change.after is None:
        return f"{name}: {change.before} is withdrawn"
    return f"{name}: {change.after}, not {change.before}"


def _called(name: str) -> str:
    return "the study as it is" if name == WORKING else f"edition {name}"


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def changes_data(found: Changes) -> dict[str, Any]:
    """Return the changes as data."""
    return {
        "first": found.first,
        "second": found.second,
        "program": list(found.program),
        "files": [
            {
                "file": f.file,
                "change": f.change,
                "lines": [{"line": line, "before": was, "after": now} for line, was, now in f.lines],
            }
            for f in found.files
        ],
        "figures": [
            {
                "key": c.key,
                "label": c.label,
                "before": c.before,
                "after": c.after,
                "printed": c.printed,
                "files": list(c.files),
                "how": c.how,
                "inputs": list(c.inputs),
            }
            for c in found.figures
        ],
    }


def rebuilt_text(rebuilt: Rebuilt) -> str:
    """Return what came of making an edition again."""
    lines = [f"not the same program as then: {words}" for words in rebuilt.other_program]
    if not rebuilt.differing:
        lines.append(f"edition {rebuilt.name}: all {rebuilt.count} files as published, byte for byte")
    else:
        lines += [f"not as published: {file}" for file in rebuilt.differing]
        number = _count(len(rebuilt.differing), "file")
        cause = "the program" if rebuilt.other_program else "nothing that was kept"
        lines.append(f"edition {rebuilt.name}: {number} not as published; {cause} accounts for it")
    return "\n".join([*lines, f"Made again in {rebuilt.folder}", "", CAUTION])


def rebuilt_data(rebuilt: Rebuilt) -> dict[str, Any]:
    """Return the same as data."""
    return {
        "edition": rebuilt.name,
        "folder": str(rebuilt.folder),
        "files": rebuilt.count,
        "differing": list(rebuilt.differing),
        "program": list(rebuilt.other_program),
    }
