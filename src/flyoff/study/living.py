"""Living figures: words bound to figures, updated when those change, and set free for publication."""

import difflib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from flyoff.core.files import read_text, write_bytes, write_files
from flyoff.core.problems import Collector, Problem, Problems
from flyoff.core.sources import Place
from flyoff.draft.bound import is_end
from flyoff.draft.check import read_mentions
from flyoff.draft.claims import agrees
from flyoff.draft.findings import Checked, Finding
from flyoff.draft.links import Edit, Raw, edited, figure_links, link_to, linked, unlinked
from flyoff.draft.read import TEXT_LIMIT
from flyoff.draft.rewording import reworded
from flyoff.draft.sidefile import (
    Binding,
    BoundWords,
    bindings,
    places_of,
    quoted,
    read_side_file,
    side_path,
    side_text,
)
from flyoff.study.check import Checking

MARKDOWN, CAPTIONS = (".md", ".markdown"), (".srt", ".vtt")
Choose = Callable[["Change"], bool]
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Change:
    """Words to be changed, or bound, where they stand: what they are now and what they become."""

    place: Place
    old: str
    new: str
    figure: str


@dataclass(frozen=True)
class Rewriting:
    """What is to be written of one draft: its changes, its files before and after, what is left alone."""

    path: Path
    changes: tuple[Change, ...]
    before: Mapping[Path, str]
    after: Mapping[Path, str]
    left: tuple[str, ...] = ()

    def diff(self) -> Iterator[str]:
        """Yield the changes as a unified diff."""
        for path, text in self.after.items():
            old, new = self.before.get(path, "").splitlines(), text.splitlines()
            yield from difflib.unified_diff(old, new, str(path), str(path), lineterm="", n=1)


def bound_anew(checking: Checking, choose: Choose = lambda _: True) -> tuple[Rewriting, ...]:
    """Return the drafts with links to the figures that their words agree with, as far as chosen.

    Words that a figure contradicts are not bound: which figure they mean is not sure.

    Raises
    ------
    Problems
        If words of a file of this kind cannot be bound.
    """
    _refuse_others(checking, (*MARKDOWN, *CAPTIONS))
    return tuple(_bound_anew(one, choose) for one in checking.checked)


def updated(checking: Checking) -> tuple[Rewriting, ...]:
    """Return the drafts with bound words that no longer hold put right, in their author's unit and manner.

    Raises
    ------
    Problems
        If words of a file of this kind cannot be bound.
    """
    _refuse_others(checking, (*MARKDOWN, *CAPTIONS))
    return tuple(_updated(one, checking) for one in checking.checked)


def write(rewritings: Iterable[Rewriting]) -> tuple[Path, ...]:
    """Write drafts, each after a copy of what it was, all or none; return the copies.

    Raises
    ------
    Problems
        If a file has changed since it was read.
    """
    contents: dict[Path, bytes] = {}
    copies, collector = [], Collector()
    for rewriting in rewritings:
        for path, text in rewriting.after.items():
            old = path.read_bytes() if path.exists() else b""
            if old.removeprefix(_BOM).decode(errors="replace") != rewriting.before.get(path, ""):
                collector.add(
                    Place(str(path)), "it changed while it was read", "expected it to stay; try again"
                )
            if old:
                copies.append(_free_name(path))
                contents[copies[-1]] = old
            contents[path] = (_BOM if old.startswith(_BOM) else b"") + text.encode()
    collector.raise_any()
    write_files(contents)
    return tuple(copies)


def export(path: Path, target: Path) -> int:
    """Write a Markdown draft without its links to figures, and return how many there were.

    Raises
    ------
    Problems
        If the draft is no Markdown, or the other name belongs to a draft with links.
    """
    text = _text(path)
    if path.suffix.lower() not in MARKDOWN:
        raise Problems([Problem(Place(str(path)), "no Markdown", "expected a draft with links to strip")])
    if target.suffix.lower() not in MARKDOWN or target.is_dir():
        raise Problems([Problem(Place(str(target)), "no name for a draft", "expected a file ending in .md")])
    if target.exists() and (target.samefile(path) or figure_links(_text(target), str(target))):
        expected = "expected a new name, or a file without links to figures"
        raise Problems([Problem(Place(str(target)), "a draft with links to figures", expected)])
    count = len(figure_links(text, str(path)))
    bom = _BOM if path.read_bytes().startswith(_BOM) else b""
    write_bytes(target, bom + unlinked(text, str(path)).encode())
    return count


def _refuse_others(checking: Checking, kinds: Sequence[str]) -> None:
    collector = Collector()
    for one in checking.checked:
        kind = Path(one.draft.file).suffix
        if kind.lower() not in kinds:
            expected = f"expected one of {', '.join(kinds)}"
            collector.add(Place(one.draft.file), f"no words of a {kind} file can be bound", expected)
    collector.raise_any()


def _text(path: Path) -> str:
    return read_text(path, str(path), TEXT_LIMIT)


def _raw(path: Path) -> Raw:
    return Raw(_text(path), captions=path.suffix.lower() in CAPTIONS)


def _free_name(path: Path) -> Path:
    number = 1
    while True:
        name = f"{path.name}.bak" if number == 1 else f"{path.name}.{number}.bak"
        if not path.with_name(name).exists():
            return path.with_name(name)
        number += 1


def _bound_anew(one: Checked, choose: Choose) -> Rewriting:
    path = Path(one.draft.file)
    free = [f for f in one.findings if f.verdict == "supported" and not _is_linked(one, f)]
    if path.suffix.lower() in CAPTIONS:
        return _captions_bound(one, path, free, choose)
    raw = _raw(path)
    offered: dict[Edit, Change] = {}
    left = []
    for finding in free:
        span = raw.span(one.draft.blocks[finding.block], finding.start, finding.end)
        if span is None:
            left.append(f"{_at(finding)}: '{finding.text}': marks stand among these words; bind them by hand")
            continue
        words = raw.text[slice(*span)]
        edit = Edit(*span, link_to(words, finding.figure))
        offered[edit] = Change(_at(finding), words, edit.new, finding.figure)
    _, possible = linked(raw.text, tuple(offered))
    left += [
        f"{change.place}: '{change.old}': a link cannot stand here"
        for edit, change in offered.items() if edit not in possible
    ]  # fmt: skip
    chosen = [edit for edit in possible if choose(offered[edit])]
    return _rewriting(
        path, [offered[e] for e in chosen], {path: raw.text}, {path: edited(raw.text, chosen)}, left
    )


def _captions_bound(one: Checked, path: Path, free: Sequence[Finding], choose: Choose) -> Rewriting:
    beside = side_path(path)
    before = _text(beside) if beside.exists() else ""
    records = [*read_side_file(beside, str(beside), Collector())[0]] if before else []
    changes = []
    for finding in free:
        words = " ".join(finding.text.split())
        places = places_of(one.draft, finding.time, words)
        nth = [(block, start) for block, start, _ in places].index((finding.block, finding.start)) + 1
        change = Change(_at(finding), words, f"[{words}] {finding.figure}", finding.figure)
        if choose(change):
            changes.append(change)
            records.append(BoundWords(cue=finding.time, words=words, figure=finding.figure, nth=nth))
    after = {beside: _with_more(before, records, len(changes))} if changes else {}
    return _rewriting(path, changes, {beside: before}, after, ())


def _with_more(before: str, records: Sequence[BoundWords], count: int) -> str:
    """Return a side file with entries added; what its author wrote there stays."""
    if not before:
        return side_text(records)
    added = side_text(records[len(records) - count :]).partition("\n\n")[2]
    return before.rstrip("\n") + "\n\n" + added


def _updated(one: Checked, checking: Checking) -> Rewriting:
    path = Path(one.draft.file)
    raw = _raw(path)
    links = figure_links(raw.text, str(path)) if path.suffix.lower() in MARKDOWN else None
    mentions = read_mentions(one.draft, checking.records)
    edits, changes, left = [], [], []
    moved: dict[tuple[int, int], str] = {}
    for finding in one.findings:
        mention = mentions[finding.block, finding.start]
        known = checking.records.figures.get(mention.figure)
        if known is None or agrees(mention, known, magnitude=mention.role == "difference"):
            continue
        block = one.draft.blocks[finding.block]
        span, new = raw.span(block, finding.start, finding.end), reworded(block.text, mention, known)
        if span and links is not None and not any(k.start < span[0] and span[1] < k.end for k in links):
            span = None
        if any(is_end(block.text, k, mention) for k in block.links if k.start <= mention.start < k.end):
            new = None
        if span is None or new is None:
            reason = (
                "marks stand among these words" if span is None else "no other words are sure to be read so"
            )
            left.append(f"{_at(finding)}: '{finding.text}': {reason}; {known.key} is {known.printed}")
            continue
        edits.append(Edit(*span, new))
        moved[finding.block, finding.start] = new
        changes.append(Change(_at(finding), finding.text, new, known.key))
    before, after = {path: raw.text}, {path: edited(raw.text, edits)}
    if changes and path.suffix.lower() in CAPTIONS:
        beside = side_path(path)
        before[beside] = _text(beside)
        after[beside] = _side_moved(beside, [(b, _moved(b, one, moved)) for b in bindings(one.draft, path)])
    return _rewriting(path, changes, before, after, left)


def _side_moved(beside: Path, entries: Sequence[tuple[Binding, str]]) -> str:
    """Return a side file with words replaced line by line; what else its author wrote stays."""
    document = read_side_file(beside, str(beside), Collector())[1]
    lines = _text(beside).split("\n")
    for binding, words in entries:
        at = document.place("bound", binding.index, "words").line - 1
        old = quoted(binding.record.words)
        if words != binding.record.words and old in lines[at]:
            lines[at] = lines[at].replace(old, quoted(words), 1)
        elif words != binding.record.words:
            lines[at] = f"words = {quoted(words)}"
    return "\n".join(lines)


def _moved(binding: Binding, one: Checked, moved: Mapping[tuple[int, int], str]) -> str:
    """Return bound words of captions as they are after the update."""
    text = one.draft.blocks[binding.block].text
    edits = [
        Edit(finding.start, finding.end, moved[finding.block, finding.start])
        for finding in one.findings
        if finding.block == binding.block and binding.start <= finding.start < binding.end
        and (finding.block, finding.start) in moved
    ]  # fmt: skip
    if not edits:
        return binding.record.words
    shifted = [Edit(e.start - binding.start, e.end - binding.start, e.new) for e in edits]
    return " ".join(edited(text[binding.start : binding.end], shifted).split())


def _rewriting(
    path: Path, changes: Sequence[Change], before: Mapping[Path, str], after: Mapping[Path, str],
    left: Sequence[str],
) -> Rewriting:  # fmt: skip
    kept = {file: text for file, text in after.items() if text != before.get(file, "")}
    return Rewriting(path, tuple(changes), before, kept, tuple(left))


def _is_linked(one: Checked, finding: Finding) -> bool:
    links = one.draft.blocks[finding.block].links
    return any(link.start < finding.end and finding.start < link.end for link in links)


def _at(finding: Finding) -> Place:
    return Place(finding.file, finding.line)
