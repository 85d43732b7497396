"""The corpus of right and wrong statements: what each says, and the half that it belongs to."""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "draft"
CORPUS, FURTHER = FOLDER / "corpus.txt", FOLDER / "further.txt"
TWIN = 12


@dataclass(frozen=True)
class Item:
    """One statement with its key."""

    line: int
    style: str
    verdict: str
    reasons: tuple[str, ...]
    text: str

    @property
    def wrong(self) -> bool:
        """Whether it should be accused."""
        return self.verdict != "right"

    @property
    def held_out(self) -> bool:
        """Whether it belongs to the half that nothing is tuned on.

        By a digest of its first letters, so that a right statement and its
        wrong twin, which begin alike, fall into the same half.
        """
        return hashlib.sha256(self.text[:TWIN].lower().encode()).digest()[0] % 2 == 1


def items(*, held_out: bool) -> Iterator[Item]:
    """Yield the statements of one half."""
    yield from (item for item in items_of(CORPUS) if item.held_out == held_out)


def items_of(path: Path) -> Iterator[Item]:
    """Yield the statements of a file."""
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        if line and not line.startswith("#"):
            style, verdict, reason, text = re.split(r" \| ", line, maxsplit=3)
            text = text.replace("⏎", "\n").replace("\\|", "|")
            yield Item(number, style, verdict, tuple(reason.split(" / ")), text)
