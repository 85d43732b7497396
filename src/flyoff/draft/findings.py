"""A finding: one quantity, where it stands, one of five words on it, and why."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from flyoff.draft.text import Draft, Note

Verdict: TypeAlias = Literal["supported", "contradicted", "impossible", "unsupported", "not a figure"]
VERDICTS: tuple[Verdict, ...] = ("impossible", "contradicted", "unsupported", "supported", "not a figure")
ACCUSED: tuple[Verdict, ...] = ("impossible", "contradicted")


@dataclass(frozen=True, order=True)
class Finding:
    """What is found of one quantity; `start` and `end` are its letters in block number `block`."""

    file: str
    line: int
    column: int
    text: str
    verdict: Verdict
    why: str
    expected: str = ""
    figure: str = ""
    relation: str = ""
    time: str = ""
    block: int = 0
    start: int = 0
    end: int = 0

    def __str__(self) -> str:
        """Return ``file:line:column: verdict: 'text': why``."""
        at = f" [{self.time}]" if self.time else ""
        return f"{self.file}:{self.line}:{self.column}: {self.verdict}: '{self.text}'{at}: {self.why}"


@dataclass(frozen=True)
class Checked:
    """One draft with its findings in order."""

    draft: Draft
    findings: tuple[Finding, ...]
    notes: tuple[Note, ...] = field(default=())

    @property
    def accused(self) -> bool:
        """Whether anything is contradicted or impossible."""
        return any(finding.verdict in ACCUSED for finding in self.findings)

    def counts(self) -> Counter[str]:
        """Return how many findings have each verdict."""
        return Counter(finding.verdict for finding in self.findings)
