"""Any file that may hold a draft, as a draft; the file itself is never changed."""

from pathlib import Path

from flyoff.core.files import MEBIBYTE, read_text
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.captions import caption_blocks
from flyoff.draft.docx import docx_blocks
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.sidefile import bind, bindings
from flyoff.draft.text import Draft, plain_blocks

TEXT_LIMIT = 16 * MEBIBYTE
"""Two million words; own limit."""
KINDS = (".md", ".markdown", ".txt", ".docx", ".srt", ".vtt")


def read_draft(path: Path) -> Draft:
    """Return a draft as its file's name says: Markdown, plain text, DOCX, SubRip or WebVTT.

    Words of captions that the file beside them binds to figures are linked to them.

    Raises
    ------
    Problems
        If the file cannot be read as that, or the file beside it binds what is not there.
    """
    file, kind = str(path), path.suffix.lower()
    if kind in (".docx", ".docm"):
        return Draft(file, *docx_blocks(path, file))
    if kind not in KINDS:
        found = f"a file named {path.suffix or 'without an ending'}"
        raise Problems([Problem(Place(file), found, f"expected one of {', '.join(KINDS)}")])
    text = read_text(path, file, TEXT_LIMIT)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise Problems([Problem(Place(file, line), "a NUL byte", "expected a text file saved as UTF-8")])
    if kind in (".srt", ".vtt"):
        draft = Draft(file, *caption_blocks(text, file, web=kind == ".vtt"))
        return bind(draft, bindings(draft, path))
    if kind == ".txt":
        return Draft(file, plain_blocks(text))
    return Draft(file, markdown_blocks(text))
