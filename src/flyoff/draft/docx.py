"""DOCX as blocks, read with suspicion: no macros, no bombs, nothing fetched, nothing written.

ISO/IEC 29500-1:2016 (Office Open XML), 17.3 (paragraphs), 17.4 (tables), 17.13.5 (revisions), 17.13.4
(comments). A place is a paragraph's number, counted as a reader counts.
"""

import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

from flyoff.core.files import MEBIBYTE
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.text import Block, BlockBuilder, Cell, Note

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_FALLBACK = "{http://schemas.openxmlformats.org/markup-compatibility/2006}Fallback"
_BODY = "word/document.xml"
FILE_LIMIT = 64 * MEBIBYTE
PART_LIMIT = 32 * MEBIBYTE
RATIO_LIMIT = 200
"""Prose packs to a tenth; own limit, far above it."""
DEPTH_LIMIT = 60
_DELETED = {f"{_W}del", f"{_W}moveFrom"}
_INSERTED = {f"{_W}ins", f"{_W}moveTo"}


def docx_blocks(path: Path, file: str) -> tuple[tuple[Block, ...], tuple[Note, ...]]:
    """Return the paragraphs and cells of a DOCX file, and what is to be noted of it.

    Tracked deletions are left out and tracked insertions are read; comments are
    not the author's text and are left out. Each is noted.

    Raises
    ------
    Problems
        If it is no DOCX file, has macros, is packed like a bomb, or is too large or too deep.
    """
    root, names = _body(path, file)
    reader = _Reader()
    blocks = tuple(reader.blocks(root))
    notes = []
    if reader.deleted or reader.inserted:
        changes = f"{reader.deleted} deleted and {reader.inserted} inserted stretches"
        words = f"tracked changes ({changes}): read as if they were accepted"
        notes.append(Note(Place(file), words))
    if "word/comments.xml" in names:
        notes.append(Note(Place(file), "it has comments: they were not read"))
    unread = [part for part in ("footnotes", "endnotes") if f"word/{part}.xml" in names]
    notes += [Note(Place(file), f"it has {part}: they were not read") for part in unread]
    return blocks, tuple(notes)


def _body(path: Path, file: str) -> tuple[ElementTree.Element, set[str]]:
    def fail(found: str, expected: str) -> Problems:
        return Problems([Problem(Place(file), found, expected)])

    try:
        if path.stat().st_size > FILE_LIMIT:
            raise fail("too large for a draft", f"expected at most {FILE_LIMIT // MEBIBYTE} MiB")
        with zipfile.ZipFile(path) as package:
            names = set(package.namelist())
            if any("vbaproject" in name.lower() for name in names) or path.suffix.lower() == ".docm":
                raise fail("it carries macros", "expected a document without macros; save it as plain DOCX")
            if _BODY not in names:
                raise fail("no word/document.xml in it", "expected a DOCX document")
            info = package.getinfo(_BODY)
            if info.file_size > PART_LIMIT or info.file_size > RATIO_LIMIT * max(info.compress_size, 1024):
                raise fail(
                    f"its text would unpack to {info.file_size / MEBIBYTE:,.0f} MiB,"
                    f" {info.file_size / max(info.compress_size, 1):,.0f} times its size",
                    "expected the text of an article; it is packed like a bomb and was not unpacked",
                )
            with package.open(info) as stream:
                data = stream.read(PART_LIMIT + 1)  # whatever the directory claims
    except FileNotFoundError:
        raise fail("no such file", "expected the file to be there") from None
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, zlib.error) as error:
        raise fail(
            f"cannot be unpacked ({error})", "expected a DOCX document, whole and unencrypted"
        ) from None
    if len(data) > PART_LIMIT:
        raise fail("its text unpacks to more than it says", "expected the text of an article")
    if re.search(rb"<!DOCTYPE|<!ENTITY", data[:4096]) or b"<!ENTITY" in data:
        raise fail("its text declares entities", "expected a DOCX document, which has none")
    try:
        return ElementTree.fromstring(data), names
    except ElementTree.ParseError as error:
        raise fail(f"its text is not XML ({error})", "expected a DOCX document") from None


class _Reader:
    def __init__(self) -> None:
        self.paragraph = self.deleted = self.inserted = 0

    def blocks(self, root: ElementTree.Element, depth: int = 0) -> Iterator[Block]:
        if depth > DEPTH_LIMIT:
            return
        for child in root:
            if child.tag == f"{_W}p":
                if block := self._paragraph(child).block():
                    yield block
            elif child.tag == f"{_W}tbl":
                yield from self._table(child, depth)
            elif child.tag not in _DELETED and child.tag != _FALLBACK:
                yield from self.blocks(child, depth + 1)

    def _paragraph(self, element: ElementTree.Element) -> BlockBuilder:
        self.paragraph += 1
        style = element.find(f"{_W}pPr/{_W}pStyle")
        heading = style is not None and str(style.get(f"{_W}val", "")).lower().startswith(
            ("heading", "title")
        )
        builder = BlockBuilder("heading" if heading else "paragraph")
        self._runs(element, builder, 0)
        return builder

    def _runs(self, element: ElementTree.Element, builder: BlockBuilder, depth: int) -> None:
        for child in element:
            if child.tag in _DELETED:
                self.deleted += 1
                continue
            if child.tag == _FALLBACK or depth > DEPTH_LIMIT:
                continue
            if child.tag in _INSERTED:
                self.inserted += 1
            if child.tag == f"{_W}t":
                builder.add(child.text or "", self.paragraph, builder.length + 1)
            elif child.tag in (f"{_W}tab", f"{_W}br", f"{_W}cr"):
                builder.add(" ", self.paragraph, builder.length + 1)
            elif child.tag == f"{_W}noBreakHyphen":
                builder.add("-", self.paragraph, builder.length + 1)
            else:
                self._runs(child, builder, depth + 1)

    def _table(self, table: ElementTree.Element, depth: int) -> Iterator[Block]:
        headings: list[str] = []
        for row_number, row in enumerate(table.iter(f"{_W}tr")):
            texts: list[str] = []
            for column, cell in enumerate(row.findall(f"{_W}tc")):
                blocks = list(self.blocks(cell, depth + 1))
                texts.append(" ".join(block.text.strip() for block in blocks))
                heading = headings[column] if row_number and column < len(headings) else ""
                place = Cell(texts[0] if row_number else "", heading)
                yield from (Block(b.text, b.spots, "cell", b.links, place) for b in blocks)
            if not row_number:
                headings = texts
