"""Where a value was written down, and where the writer had it from."""

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Place:
    """A place in a file: what an error or a trace points at."""

    file: str
    line: int = 0
    field: str = ""

    def __str__(self) -> str:
        """Return ``file:line``, or the file alone where no line is known."""
        return f"{self.file}:{self.line}" if self.line else self.file


@dataclass(frozen=True)
class Source:
    """A published or private record that values are taken from."""

    key: str
    title: str
    year: int | None = None
    publisher: str = ""
    kind: str = ""
    note: str = ""

    def __str__(self) -> str:
        """Return the citation in one line."""
        parts = [self.title, self.publisher, str(self.year) if self.year else ""]
        return ", ".join(part for part in parts if part)
