"""Reading text without surprises and writing it all or not at all."""

import os
import tempfile
from pathlib import Path

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place

MEBIBYTE = 1024 * 1024


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
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text whole or not at all."""
    write_bytes(path, text.encode())
