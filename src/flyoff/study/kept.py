"""An edition read back, whole and as it was kept, or refused with what is not; and made again."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flyoff.core.files import MEBIBYTE, read_text
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.sources import Place
from flyoff.study.editions import (
    EDITIONS,
    FIGURES,
    MANIFEST,
    RECORDS,
    check_name,
    differences_of_program,
    digest,
    made_with,
    manifest_digest,
)
from flyoff.study.run import Progress, build

REBUILT = "rebuilt"
_LIMIT = 256 * MEBIBYTE
_HOLDS: Mapping[str, type] = {
    "edition": str,
    "made_with": dict,
    "figures": dict,
    "records": dict,
    "published": dict,
    "digest": str,
}


@dataclass(frozen=True)
class Edition:
    """An edition as kept: figures by key as published, and as printed; digests by file."""

    name: str
    path: Path
    made_with: Mapping[str, str]
    figures: Mapping[str, Mapping[str, Any]]
    printed: Mapping[str, str]
    records: Mapping[str, str]
    published: Mapping[str, str]


@dataclass(frozen=True)
class Rebuilt:
    """An edition made again from its records: where, and which of its files are not as published."""

    name: str
    folder: Path
    differing: tuple[str, ...]
    count: int
    other_program: tuple[str, ...]
    """In words, what of the program and its libraries is not as it was then."""


def edition_names(path: Path) -> list[str]:
    """Return the names of a study's editions."""
    return sorted(p.name for p in (path / EDITIONS).glob("*") if p.is_dir() and not p.name.startswith("."))


def read_edition(path: Path, name: str) -> Edition:
    """Return an edition of a study.

    Raises
    ------
    Problems
        If there is none of that name, or only part of it, or any of it is not as it was kept.
    """
    check_name(name)
    folder = path / EDITIONS / name
    if not folder.is_dir():
        names = edition_names(path)
        expected = f"expected one of {', '.join(names)}" if names else "none has been kept yet"
        expected += near_miss(name, names)
        raise Problems([Problem(Place(str(folder)), "no such edition", expected)])
    said = _manifest(folder, name)
    collector = Collector()
    _check(folder / FIGURES, said["published"].get(FIGURES, ""), collector)
    for key, known in said["records"].items():
        _check(folder / RECORDS / key, known, collector)
    for file in sorted((folder / RECORDS).rglob("*")):
        if file.is_file() and file.relative_to(folder / RECORDS).as_posix() not in said["records"]:
            collector.add(Place(str(file)), "it is no record of this edition", "expected only what was kept")
    collector.raise_any()
    figures = json.loads((folder / FIGURES).read_text("utf-8"))["figures"]
    return Edition(
        name,
        folder,
        said["made_with"],
        {record["key"]: record for record in figures},
        said["figures"],
        said["records"],
        said["published"],
    )


def _manifest(folder: Path, name: str) -> dict[str, Any]:
    path = folder / MANIFEST
    place = Place(str(path))
    if not path.is_file():
        found, expected = f"the edition has no {MANIFEST}", "expected a whole edition; this is part of one"
        raise Problems([Problem(Place(str(folder)), found, expected)])
    try:
        said = json.loads(read_text(path, str(path), _LIMIT))
    except ValueError as error:
        raise Problems([Problem(place, f"no JSON ({error})", "expected it as it was kept")]) from None
    if not isinstance(said, dict):
        raise Problems([Problem(place, "no JSON object", "expected it as it was kept")])
    for key, kind in _HOLDS.items():
        if not isinstance(said.get(key), kind):
            raise Problems([Problem(place, f"'{key}' is not as it should be", "expected it as it was kept")])
    if said["digest"] != manifest_digest(said):
        found = f"its digest is {manifest_digest(said)[:12]}, not {said['digest'][:12]}"
        raise Problems([Problem(place, found, "expected it as it was kept")])
    if said["edition"] != name:
        found = f"it calls itself '{said['edition']}'"
        raise Problems([Problem(place, found, f"expected '{name}', as its folder is called")])
    return said


def _check(path: Path, known: str, collector: Collector) -> None:
    if not path.is_file():
        collector.add(Place(str(path)), "it is gone", "expected it as it was kept")
        return
    found = digest(path.read_bytes())
    if found != known:
        words = f"its digest is {found[:12]}, not {known[:12]}: it was changed"
        collector.add(Place(str(path)), words, "expected it as it was kept")


def rebuild(path: Path, name: str, progress: Progress = lambda _: None) -> Rebuilt:
    """Make an edition again from its own records, and hold every file against what was published.

    Raises
    ------
    Problems
        If there is no such edition, or it is not as it was kept.
    """
    edition = read_edition(path, name)
    into = path / REBUILT / name
    built = build(edition.path / RECORDS, progress, into=into)
    made = {file.relative_to(into).as_posix(): digest(file.read_bytes()) for file in built.written}
    keys = sorted({*made, *edition.published})
    differing = tuple(key for key in keys if made.get(key) != edition.published.get(key))
    other = differences_of_program(edition.made_with, made_with())
    return Rebuilt(name, into, differing, len(edition.published), other)
