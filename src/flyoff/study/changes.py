"""What changed between two editions, or since one: the figures, and the file behind each change."""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Literal, TypeAlias

from flyoff.core.files import TemporaryFolder, write_bytes
from flyoff.core.problems import Problems
from flyoff.report.tables import figure_record
from flyoff.study.editions import (
    RECORDS,
    WORKING,
    differences_of_program,
    digest,
    made_with,
    record_paths,
)
from flyoff.study.kept import read_edition
from flyoff.study.run import Progress, load

How: TypeAlias = Literal["only change", "trace", "rerun", "together", "program", "unreadable"]
Record: TypeAlias = Mapping[str, Any]
_COMPARED = ("label", "value", "unit", "u95", "basis", "extrapolated", "terms", "missing", "remarks")
"""What of a figure is compared: all but how it came about."""
_EVERYWHERE = ("study.toml", "sources.toml")
"""Files that figures rest on without each trace naming them."""
_LARGEST_DIFF = 1_000_000
"""Bytes of a file beyond which its changed lines are not told; own limit."""
_LINES = 20


@dataclass(frozen=True)
class State:
    """One edition, or the study as it is."""

    name: str
    figures: Mapping[str, Record]
    printed: Mapping[str, str]
    files: Mapping[str, Path]
    digests: Mapping[str, str]
    made_with: Mapping[str, str]


@dataclass(frozen=True)
class FileChange:
    """A file that changed: how, and its changed lines as they were and are, by number."""

    file: str
    change: Literal["changed", "added", "removed"]
    lines: tuple[tuple[int, str, str], ...] = ()


@dataclass(frozen=True)
class FigureChange:
    """A figure that changed, as printed before and after, and why: files, and how that is known."""

    key: str
    label: str
    before: str | None
    after: str | None
    files: tuple[str, ...]
    how: How
    inputs: tuple[str, ...] = ()
    """What it rests on of those files, as it was and is, in words."""

    @property
    def printed(self) -> bool:
        """Whether it reads differently; else only what is not printed changed."""
        return self.before != self.after


@dataclass(frozen=True)
class Changes:
    """All that changed from one state to another."""

    first: str
    second: str
    figures: tuple[FigureChange, ...]
    files: tuple[FileChange, ...]
    program: tuple[str, ...] = ()
    """In words, what of the program differs between the two."""


def changes(path: Path, first: str, second: str, progress: Progress = lambda _: None) -> Changes:
    """Return what changed from one edition of a study to another; `working` is the study as it is.

    Where one file changed, it is the cause. Where several did, the traces say which one a figure rests on;
    where these do not decide, the first one's records are run again with one file at a time from the second.

    Raises
    ------
    Problems
        If there is no such edition, or it is not as it was kept, or the study has faults.
    """
    a, b = state(path, first, progress), state(path, second, progress)
    keys = [k for k in dict.fromkeys((*a.figures, *b.figures)) if _differs(a, b, k)]
    files = tuple(_file_changes(a, b))
    causes = _Causes(a, b, [change.file for change in files], progress)
    found = tuple(_figure_change(key, a, b, causes) for key in keys)
    return Changes(first, second, found, files, differences_of_program(a.made_with, b.made_with))


def state(path: Path, name: str, progress: Progress = lambda _: None) -> State:
    """Return an edition of a study, or the study as it is.

    Raises
    ------
    Problems
        If there is no such edition, or it is not as it was kept, or the study has faults.
    """
    if name == WORKING:
        study = load(path, progress)
        files = record_paths(study.folder)
        digests = {file: digest(where.read_bytes()) for file, where in files.items()}
        figures = study.figures()
        records = {key: figure_record(figure) for key, figure in figures.items()}
        return State(name, records, {k: str(f) for k, f in figures.items()}, files, digests, made_with())
    kept = read_edition(path, name)
    files = {file: kept.path / RECORDS / file for file in kept.records}
    return State(name, kept.figures, kept.printed, files, kept.records, kept.made_with)


def _differs(a: State, b: State, key: str) -> bool:
    return _told(a.figures.get(key)) != _told(b.figures.get(key)) or a.printed.get(key) != b.printed.get(key)


def _told(record: Record | None) -> tuple[Any, ...] | None:
    return None if record is None else tuple(record[name] for name in _COMPARED)


def _file_changes(a: State, b: State) -> Iterator[FileChange]:
    for file in sorted({*a.digests, *b.digests}):
        if file not in a.digests:
            yield FileChange(file, "added")
        elif file not in b.digests:
            yield FileChange(file, "removed")
        elif a.digests[file] != b.digests[file]:
            yield FileChange(file, "changed", tuple(_changed_lines(a.files[file], b.files[file])))


def _changed_lines(before: Path, after: Path) -> list[tuple[int, str, str]]:
    if max(before.stat().st_size, after.stat().st_size) > _LARGEST_DIFF:
        return []
    old, new = (p.read_text("utf-8", errors="replace").splitlines() for p in (before, after))
    found: list[tuple[int, str, str]] = []
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False) if len(old) < _LINES * 100 else None
    for tag, i, i_end, j, j_end in matcher.get_opcodes() if matcher else ():
        if tag != "equal":
            for step in range(max(i_end - i, j_end - j)):
                was = old[i + step] if i + step < i_end else ""
                now = new[j + step] if j + step < j_end else ""
                found.append((j + step + 1, was.strip(), now.strip()))
    return found[:_LINES]


def _figure_change(key: str, a: State, b: State, causes: "_Causes") -> FigureChange:
    files, how = causes.of(key)
    label = (b.figures.get(key) or a.figures[key])["label"]
    inputs = tuple(_inputs_changed(key, a, b, files))
    return FigureChange(key, label, a.printed.get(key), b.printed.get(key), files, how, inputs)


class _Causes:
    """Finds the file behind each figure's change; whole runs only where nothing cheaper decides."""

    def __init__(self, a: State, b: State, changed: Sequence[str], progress: Progress) -> None:
        self.a, self.b, self.changed, self.progress = a, b, tuple(changed), progress
        self._runs: dict[str, Mapping[str, Record] | None] = {}
        now = made_with()
        self._one_program = a.made_with == b.made_with == now

    def of(self, key: str) -> tuple[tuple[str, ...], How]:
        """Return the files behind a figure's change, and how that is known."""
        if self._one_program and len(self.changed) == 1:
            return self.changed, "only change"
        if self._one_program and not {*self.changed} & {*_EVERYWHERE}:
            rested = _files_of(key, self.a) | _files_of(key, self.b)
            traced = tuple(file for file in self.changed if file in rested)
            if len(traced) == 1:
                return traced, "trace"
        if self._baseline is None:
            return (), "unreadable"
        alone = [f for f in self.changed if (run := self._run(f)) is not None and self._moves(run, key)]
        if alone:
            return tuple(alone), "rerun"
        return (self.changed, "together") if self._moves(self._second, key) else ((), "program")

    def _moves(self, run: Mapping[str, Record] | None, key: str) -> bool:
        return _told((run or {}).get(key)) != _told((self._baseline or {}).get(key))

    @cached_property
    def _baseline(self) -> Mapping[str, Record] | None:
        """The figures of the first by this program; None where it cannot read its records."""
        return self._by_this_program(self.a)

    @cached_property
    def _second(self) -> Mapping[str, Record] | None:
        return self._by_this_program(self.b)

    def _by_this_program(self, one: State) -> Mapping[str, Record] | None:
        if one.made_with == made_with():
            return one.figures
        self.progress(f"running {one.name} again with this program")
        return _figures(one.files)

    def _run(self, file: str) -> Mapping[str, Record] | None:
        """Return the figures with one file of the second; None where it cannot stand among the first's."""
        if file not in self._runs:
            self.progress(f"running {self.a.name} again with {file} of {self.b.name}")
            files = {name: path for name, path in self.a.files.items() if name != file}
            if file in self.b.files:
                files[file] = self.b.files[file]
            self._runs[file] = _figures(files)
        return self._runs[file]


def _figures(files: Mapping[str, Path]) -> Mapping[str, Record] | None:
    with TemporaryFolder(prefix="flyoff-") as temporary:
        for name, path in files.items():
            write_bytes(Path(temporary) / name, path.read_bytes())
        try:
            study = load(temporary)
        except Problems:
            return None
        return {key: figure_record(figure) for key, figure in study.figures().items()}


def _leaves(key: str, at: State) -> list[Record]:
    """Return every written value that a figure rests on, through the figures that it rests on."""
    found, seen, waiting = [], {key}, [key]
    while waiting:
        record = at.figures.get(waiting.pop())
        for given in record["trace"]["inputs"] if record else ():
            if given["file"]:
                found.append(given)
            if given["figure"] and given["figure"] not in seen:
                seen.add(given["figure"])
                waiting.append(given["figure"])
    return found


def _files_of(key: str, at: State) -> set[str]:
    return {str(given["file"]) for given in _leaves(key, at)}


def _inputs_changed(key: str, a: State, b: State, files: Sequence[str]) -> Iterator[str]:
    """Yield in words what a figure rests on in some files and that changed, where it is one thing for one."""
    old, new = _texts(key, a, files), _texts(key, b, files)
    for where in dict.fromkeys((*old, *new)):
        was, now = old.get(where, {}), new.get(where, {})
        gone, come = [t for t in was if t not in now], [t for t in now if t not in was]
        if len(gone) == len(come) == 1:
            line = now[come[0]]
            yield f"{where[1]} is {come[0]}, was {gone[0]} ({where[0]}{f':{line}' if line else ''})"


def _texts(key: str, at: State, files: Sequence[str]) -> dict[tuple[str, str], dict[str, int | None]]:
    """Return what a figure rests on in some files: by file and label each text with its line."""
    found: dict[tuple[str, str], dict[str, int | None]] = {}
    for given in _leaves(key, at):
        if given["file"] in files:
            found.setdefault((given["file"], given["label"]), {})[given["text"]] = given["line"]
    return found
