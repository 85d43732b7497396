"""Reading text without surprises and writing it all or not at all."""

import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place

MEBIBYTE = 1024 * 1024


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


_UMASK = _umask()
"""Asked once: asking sets it, for every thread of the process."""


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Let an interrupt from the keyboard wait for the end of what must not be left half done."""
    usual = signal.getsignal(signal.SIGINT)
    if usual is None or threading.current_thread() is not threading.main_thread():
        yield  # signals come to the main thread alone
        return
    held: list[int] = []

    def hold(number: int, _: FrameType | None) -> None:
        held.append(number)

    signal.signal(signal.SIGINT, hold)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
        if held:
            signal.raise_signal(signal.SIGINT)


class TemporaryFolder(tempfile.TemporaryDirectory[str]):
    """A temporary folder that is taken away whole, however often that is interrupted."""

    def __exit__(self, *raised: Any) -> None:
        """Take the folder away."""
        with uninterrupted():
            super().__exit__(*raised)


def read_text(path: Path, name: str, limit: int = 4 * MEBIBYTE, encoding: str = "utf-8-sig") -> str:
    """Return a text file's content; `name` is what problems call the file.

    Raises
    ------
    Problems
        If it is missing, not a file, empty, larger than `limit` bytes, or not
        text in `encoding`.
    """

    def fail(found: str, expected: str, line: int = 0) -> Problems:
        return Problems([Problem(Place(name, line), found, expected)])

    try:
        size = path.stat().st_size
        if not path.is_file():
            raise fail("not a file", "expected a text file")
        if size > limit:
            raise fail(
                f"{size / MEBIBYTE:,.0f} MiB is too large for this kind of file",
                f"expected at most {limit / MEBIBYTE:,.0f} MiB",
            )
        data = path.read_bytes()
    except FileNotFoundError:
        raise fail("no such file", "expected the file to be there") from None
    except OSError as error:
        raise fail(f"cannot be read ({error.strerror})", "expected a readable text file") from None
    if not data.strip():
        raise fail("the file is empty", "expected content")
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise fail(
            f"byte 0x{data[error.start]:02x} is not {encoding.removesuffix('-sig').upper()} text",
            "expected a file saved as UTF-8",
            line,
        ) from None


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: to a new name beside it, then renamed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).chmod(0o666 & ~_UMASK)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def write_folder(
    folder: Path, contents: Mapping[str, bytes], dropped: Collection[str] = ()
) -> tuple[Path, ...]:
    """Write a folder of files whole or not at all, in place of what it held of the same names.

    The new folder is made beside the old one and takes its name at the end.
    What else stood in the old one, by its topmost name, is kept, unless it is to be `dropped`.

    Raises
    ------
    Problems
        If something that is no folder has the name.
    """
    if folder.exists() and not folder.is_dir():
        raise Problems([Problem(Place(str(folder)), "a file", "expected a folder, or a name that is free")])
    folder.parent.mkdir(parents=True, exist_ok=True)
    with TemporaryFolder(prefix=f".{folder.name}.", dir=folder.parent) as temporary:
        new, old = Path(temporary) / "new", Path(temporary) / "old"
        new.mkdir(mode=0o777)
        new.chmod(0o777 & ~_UMASK)
        for name, data in contents.items():
            write_bytes(new / name, data)
        ours = {*(Path(name).parts[0] for name in contents), *dropped}
        if folder.exists():
            for kept in [path for path in folder.iterdir() if path.name not in ours]:
                _copy(kept, new / kept.name)
        with uninterrupted():
            _take_over(new, folder, old)
    return tuple(folder / name for name in contents)


def _take_over(new: Path, folder: Path, old: Path) -> None:
    """Give a new folder the name of one that becomes the old, or leave that as it was."""
    if folder.exists():
        folder.rename(old)
    try:
        new.rename(folder)
    except BaseException:
        if old.exists():
            old.rename(folder)
        raise


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, symlinks=True)
    else:
        shutil.copy2(source, target, follow_symlinks=False)


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text whole or not at all."""
    write_bytes(path, text.encode())


def write_files(contents: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """Write several files, each whole; where one fails, those before it become what they were."""
    before = {path: path.read_bytes() if path.exists() else None for path in contents}
    written: list[Path] = []
    try:
        for path, data in contents.items():
            write_bytes(path, data)
            written.append(path)
    except BaseException:
        for path in reversed(written):
            data_before = before[path]
            if data_before is None:
                path.unlink(missing_ok=True)
            else:
                write_bytes(path, data_before)
        raise
    return tuple(contents)
