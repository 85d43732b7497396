"""TOML read so that every value knows the line it stands on.

`tomllib` decides what the file means; the scanner here only follows the same
text to learn on which line each key and value stands. It runs on text that
`tomllib` has already accepted, so it need not check the grammar.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from flyoff.core.files import read_text
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place

Path_: TypeAlias = tuple[str | int, ...]

_BARE_END = set(" \t\r\n=.]},#[{")


class Written(str):
    """A string that knows where it was written."""

    place: Place

    @classmethod
    def at(cls, text: str, place: Place) -> "Written":
        """Return `text` with its place."""
        written = cls(text)
        written.place = place
        return written


@dataclass(frozen=True)
class Document:
    """A TOML file: its data (arrays as tuples), and the line of every key path."""

    name: str
    data: dict[str, Any]
    lines: Mapping[Path_, int]

    def place(self, *path: str | int) -> Place:
        """Return the place of a key path, or of the nearest table above it."""
        field = ".".join(str(part) for part in path)
        for length in range(len(path), 0, -1):
            line = self.lines.get(path[:length])
            if line is not None:
                return Place(self.name, line, field)
        return Place(self.name, self.lines.get((), 1), field)


def read_toml(path: Path, name: str) -> Document:
    """Return a TOML file's data and positions; `name` is what problems call it.

    Raises
    ------
    Problems
        If the file cannot be read or is not TOML.
    """
    return parse_toml(read_text(path, name), name)


def parse_toml(text: str, name: str) -> Document:
    """Return the data and positions of TOML text.

    Raises
    ------
    Problems
        If the text is not TOML.
    """
    text = text.replace("\r\n", "\n")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Problems([_syntax_problem(str(error), text, name)]) from None
    except ValueError:
        # Python converts no integer of thousands of digits.
        raise Problems(
            [Problem(Place(name), "a number too long to read", "expected sensible numbers")]
        ) from None
    except RecursionError:
        raise Problems([Problem(Place(name), "nested too deeply", "expected a flat TOML file")]) from None
    scanner = _Scanner(text)
    scanner.run()
    document = Document(name, data, scanner.lines)
    return Document(name, _with_places(data, (), document), scanner.lines)


def _syntax_problem(message: str, text: str, name: str) -> Problem:
    what, _, where = message.partition(" (at ")
    line = int(where.split()[1].rstrip(",")) if where.startswith("line ") else text.rstrip().count("\n") + 1
    return Problem(Place(name, line), f"not TOML: {what[:1].lower()}{what[1:]}", 'expected key = "value"')


def _with_places(value: Any, path: Path_, document: Document) -> Any:
    if isinstance(value, dict):
        return {key: _with_places(item, (*path, key), document) for key, item in value.items()}
    if isinstance(value, list):
        return tuple(_with_places(item, (*path, index), document) for index, item in enumerate(value))
    if isinstance(value, str):
        return Written.at(value, document.place(*path))
    return value


class _Scanner:
    """Follows valid TOML and notes the line of each path."""

    def __init__(self, text: str) -> None:
        self.text, self.at, self.line = text, 0, 1
        self.lines: dict[Path_, int] = {}
        self.counts: dict[Path_, int] = {}

    def run(self) -> None:
        table: Path_ = ()
        while self._skip(newlines=True):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _advance(self, count: int = 1) -> None:
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count

    def _skip(self, *, newlines: bool) -> bool:
        """Pass white space and comments; say whether anything is left."""
        while self.at < len(self.text):
            char = self.text[self.at]
            if char == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif char in " \t" or (char == "\n" and newlines):
                self._advance()
            else:
                return True
        return False

    def _note(self, path: Path_) -> None:
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], self.line)

    def _key(self) -> Path_:
        parts: list[str | int] = []
        while True:
            self._skip(newlines=False)
            char = self.text[self.at]
            if char in "\"'":
                start = self.at
                self._string()
                parts.append(tomllib.loads(f"k = {self.text[start : self.at]}")["k"])
            else:
                start = self.at
                while self.text[self.at] not in _BARE_END:
                    self.at += 1
                parts.append(self.text[start : self.at])
            self._skip(newlines=False)
            if self.text[self.at] != ".":
                return tuple(parts)
            self.at += 1

    def _resolve(self, path: Path_) -> Path_:
        """Put the running index after each array of tables in a path."""
        resolved: Path_ = ()
        for part in path:
            resolved = (*resolved, part)
            if resolved in self.counts:
                resolved = (*resolved, self.counts[resolved])
        return resolved

    def _header(self) -> Path_:
        is_array = self.text.startswith("[[", self.at)
        self._advance(2 if is_array else 1)
        key = self._key()
        if is_array:
            array = (*self._resolve(key[:-1]), key[-1])
            self.counts[array] = self.counts.get(array, -1) + 1
        path = self._resolve(key)
        self._note(path)
        self._advance(2 if is_array else 1)
        return path

    def _pair(self, table: Path_) -> None:
        key = self._key()
        path = (*table, *key)
        self._note(path)
        self._advance()  # the equals sign
        self._value(path)

    def _value(self, path: Path_) -> None:
        self._skip(newlines=True)
        char = self.text[self.at]
        if char in "\"'":
            self._string()
        elif char == "[":
            self._array(path)
        elif char == "{":
            self._inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def _array(self, path: Path_) -> None:
        self._advance()
        index = 0
        while True:
            self._skip(newlines=True)
            if self.text[self.at] == "]":
                self._advance()
                return
            self._note((*path, index))
            self._value((*path, index))
            index += 1
            self._skip(newlines=True)
            if self.text[self.at] == ",":
                self._advance()

    def _inline_table(self, path: Path_) -> None:
        self._advance()
        while True:
            self._skip(newlines=True)
            if self.text[self.at] == "}":
                self._advance()
                return
            self._pair(path)
            self._skip(newlines=True)
            if self.text[self.at] == ",":
                self._advance()

    def _string(self) -> None:
        quote = self.text[self.at]
        triple = quote * 3
        if self.text.startswith(triple, self.at):
            self._advance(3)
            while not self.text.startswith(triple, self.at):
                self._advance(2 if quote == '"' and self.text[self.at] == "\\" else 1)
            self._advance(3)
            while self.at < len(self.text) and self.text[self.at] == quote:  # quotes just before the end
                self._advance()
            return
        self._advance()
        while self.text[self.at] != quote:
            self._advance(2 if quote == '"' and self.text[self.at] == "\\" else 1)
        self._advance()
