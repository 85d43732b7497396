"""Editions: what was published, kept with the records that it was made from, and made again from them."""

import hashlib
import importlib.metadata
import json
import platform
import posixpath
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from flyoff.charts.house import NAME as HOUSE
from flyoff.core.caution import CAUTION
from flyoff.core.files import TemporaryFolder, write_bytes, write_folder
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.report.terms import terms_table
from flyoff.study.export import FILM
from flyoff.study.folder import Folder, read_folder
from flyoff.study.run import Build, Progress, Study, build

EDITIONS = "editions"
MANIFEST, FIGURES, RECORDS = "edition.json", "figures.json", "records"
WORKING = "working"
"""What stands for the study as it is, where an edition is asked for; no edition may have this name."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


def check_name(name: str) -> None:
    """Refuse what is no name for an edition.

    Raises
    ------
    Problems
        If it is anything but letters, digits, dots, hyphens and underscores, or reserved.
    """
    if name == WORKING:
        found, expected = f"'{name}' is the study as it is", "expected another name"
    elif not _NAME.fullmatch(name) or name.endswith("."):
        found = f"'{name[:80]}' is no name for an edition"
        expected = "expected up to 64 letters, digits, dots, hyphens and underscores, such as 2026-06"
    else:
        return
    raise Problems([Problem(Place("--edition"), found, expected)])


def record_paths(folder: Folder) -> dict[str, Path]:
    """Return every file that a study's figures and report are made from, by its name in the study."""
    names = ["study.toml", "sources.toml"]
    if (folder.path / HOUSE).exists():
        names.append(HOUSE)
        names += [
            p.relative_to(folder.path).as_posix() for p in (folder.path / "fonts").rglob("*") if p.is_file()
        ]
    for dossier in folder.dossiers:
        names.append(f"aircraft/{dossier.key}.toml")
        names += [f"aircraft/{table.file}" for table in dossier.airplane.tables]
    for flight in folder.flights:
        names.append(flight.name)
        names += [posixpath.join(posixpath.dirname(flight.name), log.file) for log in flight.card.logs]
    names += [profile.file for profile in folder.record.terms.aloft.values() if profile.file]
    return {name: folder.path / name for name in sorted({posixpath.normpath(name) for name in names})}


def digest(data: bytes) -> str:
    """Return the SHA-256 of some bytes (FIPS 180-4), in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


@cache
def made_with() -> dict[str, str]:
    """Return what makes the figures: flyoff, a digest of its files, Python, and each library, by version."""
    program = hashlib.sha256()
    for name, data in sorted(_program(files("flyoff"), "")):
        program.update(f"{name}\0{digest(data)}\n".encode())
    names = {re.split(r"[\s<>=!~;\[(]", text, maxsplit=1)[0] for text in _required()}
    libraries = {name: importlib.metadata.version(name) for name in sorted(names)}
    own = {"flyoff": importlib.metadata.version("flyoff"), "program": program.hexdigest()}
    return {**own, "python": platform.python_version(), **libraries}


def _required() -> list[str]:
    return [text for text in importlib.metadata.requires("flyoff") or () if "extra ==" not in text]


def _program(folder: Traversable, below: str) -> list[tuple[str, bytes]]:
    found = []
    for entry in folder.iterdir():
        name = f"{below}{entry.name}"
        if entry.is_dir() and entry.name != "__pycache__":
            found += _program(entry, f"{name}/")
        elif entry.is_file():
            found.append((name, entry.read_bytes()))
    return found


def differences_of_program(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[str, ...]:
    """Return in words what of the program and its libraries differs."""
    words = []
    for name in sorted({*then, *now}):
        before, after = then.get(name, "none"), now.get(name, "none")
        if before == after:
            continue
        if name == "program":
            words.append(f"flyoff's own files {before[:12]} then, {after[:12]} now")
        else:
            words.append(f"{name} {before} then, {after} now")
    return tuple(words)


def build_edition(path: Path, name: str, progress: Progress = lambda _: None, *, film: bool = False) -> Build:
    """Build a study, and keep what was published with a copy of its records as an edition.

    The report is built from the copy: what the edition holds is all that it takes. Of a film
    nothing is kept: its encoder need not give the same bytes again.

    Raises
    ------
    Problems
        Everything that is wrong in the study, or if the name is none or is taken.
    """
    check_name(name)
    target = path / EDITIONS / name
    if target.exists() or target.is_symlink():
        expected = "expected a new name: an edition is never written over"
        raise Problems([Problem(Place(str(target)), "this edition exists", expected)])
    records = {key: file.read_bytes() for key, file in record_paths(read_folder(path)).items()}
    with TemporaryFolder(prefix="flyoff-") as temporary:
        for key, data in records.items():
            write_bytes(Path(temporary) / key, data)
        built = build(Path(temporary), progress, into=path / "out", film=film)
    names = {file.relative_to(path / "out").as_posix(): file for file in built.written}
    published = {key: file.read_bytes() for key, file in names.items() if not key.startswith(f"{FILM}/")}
    contents = {f"{RECORDS}/{key}": data for key, data in records.items()}
    contents |= {
        MANIFEST: manifest(name, built.study, records, published),
        FIGURES: published[FIGURES],
    }
    write_folder(target, contents)
    return built


def manifest(
    name: str, study: Study, records: Mapping[str, bytes], published: Mapping[str, bytes]
) -> bytes:  # fmt: skip
    """Return what an edition says of itself, as JSON, with a digest of all of it."""
    table = terms_table(study.comparison, study.folder.sources)
    terms = [
        {"term": row.head, "written": row.cells[0].text, "source": row.cells[1].text}
        for group in table.groups
        for row in group.rows
    ]
    said: dict[str, Any] = {
        "edition": name,
        "title": study.comparison.title,
        "caution": CAUTION,
        "made_with": made_with(),
        "terms": terms,
        "figures": {key: str(figure) for key, figure in study.figures().items()},
        "records": {key: digest(data) for key, data in sorted(records.items())},
        "published": {key: digest(data) for key, data in sorted(published.items())},
    }
    said["digest"] = manifest_digest(said)
    return (json.dumps(said, ensure_ascii=False, indent=1) + "\n").encode()


def manifest_digest(said: Mapping[str, Any]) -> str:
    """Return the digest of all that an edition says of itself but the digest."""
    rest = {key: value for key, value in said.items() if key != "digest"}
    return digest(json.dumps(rest, ensure_ascii=False, sort_keys=True).encode())
