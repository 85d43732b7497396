"""Writing the demo and the starter files into a folder: whole or not at all."""

from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path, PurePosixPath

from flyoff.core.files import write_bytes, write_folder
from flyoff.core.problems import Collector
from flyoff.core.sources import Place

_MADE_BY_US = ("out", "editions", "rebuilt")


def write_demo(folder: Path) -> tuple[Path, ...]:
    """Write the invented study into a folder and return its files.

    A folder that already holds just this study is left as it is.

    Raises
    ------
    Problems
        If the folder holds anything else, or files of the study that were changed.
    """
    return _write("files", folder)


def write_starter(folder: Path) -> tuple[Path, ...]:
    """Write the commented files of a new study into a folder and return them.

    Raises
    ------
    Problems
        If the folder holds anything else, or files of that name that were changed.
    """
    return _write("starter", folder)


def _write(name: str, folder: Path) -> tuple[Path, ...]:
    contents = dict(sorted(_contents(files("flyoff.demo") / name, PurePosixPath())))
    _check(folder, contents)
    if folder.exists():
        _write_missing(folder, contents)
    else:
        write_folder(folder, {str(path): data for path, data in contents.items()})
    return tuple(folder / path for path in contents)


def _contents(folder: Traversable, below: PurePosixPath) -> Iterator[tuple[PurePosixPath, bytes]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _contents(entry, below / entry.name)
        elif entry.name.endswith((".toml", ".csv", ".md", ".vtt")):
            yield below / entry.name, entry.read_bytes()


def _check(folder: Path, contents: dict[PurePosixPath, bytes]) -> None:
    """Collect everything in the folder that is not ours, or ours no longer."""
    collector = Collector()
    advice = "expected a new or empty folder; name another, or move this file away first"
    if folder.exists() and not folder.is_dir():
        collector.add(Place(str(folder)), "a file", "expected a folder, or a name that is free")
    elif folder.is_dir():
        for path in sorted(folder.rglob("*")):
            inside = PurePosixPath(path.relative_to(folder).as_posix())
            # What flyoff makes, and hidden files of editors and version control, are in nobody's way.
            if inside.parts[0] in _MADE_BY_US or inside.parts[0].startswith(".") or path.is_dir():
                continue
            if inside not in contents:
                collector.add(Place(str(path)), "a file of another study", advice)
            elif path.read_bytes() != contents[inside]:
                collector.add(Place(str(path)), "this file was changed since it was written", advice)
    collector.raise_any()


def _write_missing(folder: Path, contents: dict[PurePosixPath, bytes]) -> None:
    missing = [path for path in contents if not (folder / path).exists()]
    try:
        for path in missing:
            write_bytes(folder / path, contents[path])
    except BaseException:
        for path in missing:
            (folder / path).unlink(missing_ok=True)
        raise
