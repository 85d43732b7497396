"""The language of charts and tables: one catalogue of phrases, applied where words are laid out."""

import re
from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib import resources
from pathlib import Path

from flyoff.charts.spec import Spec
from flyoff.core.problems import Problem, Problems, near_miss
from flyoff.core.tomlfile import Document, read_toml
from flyoff.core.units import UnknownUnit, find_unit

SOURCE = "en"
"""The language that the charts themselves are written in."""
_FOLDER = resources.files("flyoff.charts") / "phrases"
SHIPPED = (SOURCE, *sorted(file.name.removesuffix(".toml") for file in _FOLDER.iterdir()))
_TAG = re.compile(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|\d{3}))?")
"""Language, script and region of BCP 47 (RFC 5646, 2.1), in their recommended case."""
_GAP = r"((?:(?!; |, ).)+?)"
"""What `{}` stands for: within one clause, lest whole clauses pass for a name."""
_NUMBER = re.compile(r"[+−\-]?\d[\d.,:’\u202f]*(?:(?: ± | to |–)[\d.,:’\u202f]+)? ?")
_WORD = re.compile(r"[a-z]{3,}")
_APART = re.compile(r"(; |: |, | · | \(|\)|\. )")


@dataclass(frozen=True, eq=False)
class Language:
    """A language's tag, and its phrases by the English ones; `{}` in one stands for a number or a name."""

    tag: str = SOURCE
    phrases: Mapping[str, str] = field(default_factory=dict)
    names: Set[str] = frozenset()
    """What is the same in any language: the names of airplanes, trips and people."""
    lacking: dict[str, None] = field(default_factory=dict)
    """The phrases that were wanted and that the catalogue lacks, in the order met."""

    @cached_property
    def _patterns(self) -> tuple[tuple[re.Pattern[str], str], ...]:
        found = [(key, said) for key, said in self.phrases.items() if "{}" in key]
        found.sort(key=lambda pair: -len(pair[0]))
        return tuple((re.compile(re.escape(key).replace(r"\{\}", _GAP)), said) for key, said in found)

    @property
    def is_source(self) -> bool:
        """Whether every word stays as it is."""
        return self.tag == SOURCE and not self.phrases

    def text(self, text: str) -> str:
        """Return a text in this language; one of which any part is lacking stays English as a whole.

        >>> german = Language("de", {"range": "Reichweite", "{} of {}": "{} von {}"})
        >>> german.text("Range, nmi"), german.text("range of 3"), german.text("range, fuel")
        ('Reichweite, nmi', 'Reichweite von 3', 'range, fuel')
        >>> list(german.lacking)
        ['fuel']
        """
        if self.is_source:
            return text
        lacking: list[str] = []
        said = self._said(text, lacking)
        self.lacking.update(dict.fromkeys(lacking))
        return text if lacking else said

    def _said(self, text: str, lacking: list[str]) -> str:
        if (whole := self._phrase(text)) is not None:
            return whole
        if not _WORD.search(text) or text in self.names or _is_unit(text):
            return text
        for pattern, said in self._patterns:
            if match := pattern.fullmatch(text):
                return said.format(*(self._filled(part, lacking) for part in match.groups()))
        parts = _APART.split(text)
        if len(parts) == 1:
            lacking.append(text)
            return text
        return "".join(part if number % 2 else self._said(part, lacking) for number, part in enumerate(parts))

    def _filled(self, part: str, lacking: list[str]) -> str:
        """Return what stands in a gap; an unknown word with a capital is a name."""
        known = self._phrase(part)
        return known or (part if part[:1].isupper() else self._said(part, lacking))

    def _phrase(self, text: str) -> str | None:
        if text in self.phrases:
            return self.phrases[text]
        small = self.phrases.get(text[:1].lower() + text[1:])
        return small and small[:1].upper() + small[1:]

    def sparing(self, names: Set[str]) -> "Language":
        """Return the language with names that it leaves alone; both gather what is lacking together."""
        return replace(self, names=names)

    def unsaid(self) -> Iterator[str]:
        """Yield, a line each, the first that stayed English for want of a phrase, numbers as gaps."""
        lacking = [*dict.fromkeys(_NUMBER.sub("{}", phrase) for phrase in self.lacking)]
        if lacking:
            yield f"language {self.tag}: no phrase for {len(lacking)}; the words around each stay English"
            yield from (f"  {phrase}" for phrase in lacking[:SHOWN])
        if len(lacking) > SHOWN:
            yield f"  and {len(lacking) - SHOWN} more, told as these get theirs"


SHOWN = 20
"""Lacking phrases that are told at once."""
ENGLISH = Language()


def _is_unit(text: str) -> bool:
    """Tell whether a text is a unit, perhaps with its number."""
    try:
        find_unit(_NUMBER.sub("", text, count=1))
    except UnknownUnit:
        return False
    return True


def translated(body: Spec, language: Language) -> Spec:
    """Return a definition with its axis titles, labels and free words in a language."""
    if language.is_source:
        return body
    changed = dict(body)
    for parts in ("layer", "concat", "hconcat", "vconcat"):
        if parts in body:
            changed[parts] = [translated(part, language) for part in body[parts]]
    encoding = body.get("encoding", {})
    if encoding:
        changed["encoding"] = {name: _channel(channel, language) for name, channel in encoding.items()}
    mark = body.get("mark")
    if isinstance(mark, dict) and "text" in mark:
        changed["mark"] = {**mark, "text": _lines(mark["text"], language)}
    channel = encoding.get("text")
    if isinstance(channel, dict) and (name := channel.get("field")):
        rows = [{**row, name: _lines(row[name], language)} for row in body["data"]["values"]]
        changed["data"] = {"values": rows}
    return changed


def _lines(words: object, language: Language) -> object:
    if isinstance(words, str):
        return language.text(words)
    return [language.text(str(line)) for line in words] if isinstance(words, list) else words


def _channel(channel: object, language: Language) -> object:
    if not isinstance(channel, dict) or not isinstance(channel.get("axis"), dict):
        return channel
    axis = channel["axis"]
    if not isinstance(axis.get("title"), str):
        return channel
    return {**channel, "axis": {**axis, "title": language.text(axis["title"])}}


def read_language(folder: Path, tag: str, own: str, document: Document) -> Language:
    """Return the language of a house, from the catalogue shipped and the house's own file over it.

    Raises
    ------
    Problems
        If `tag` is no language tag, or one neither shipped nor given phrases for; if a phrase is wrong.
    """
    if tag not in SHIPPED and not (own and _TAG.fullmatch(tag)):
        shipped = ", ".join(SHIPPED)
        expected = f"expected a language shipped ({shipped}){near_miss(tag, SHIPPED)}, or a BCP 47 tag "
        expected += (
            'such as "fr" or "de-CH" with phrases = "words.toml", a file of your own beside house.toml'
        )
        raise Problems([Problem(document.place("language"), f"'{tag}'", expected)])
    if tag == SOURCE and not own:
        return ENGLISH
    phrases: dict[str, str] = {}
    base = tag if tag in SHIPPED else tag.partition("-")[0]
    if base in SHIPPED and base != SOURCE:
        phrases |= _checked(read_toml(Path(str(_FOLDER / f"{base}.toml")), f"{base}.toml"))
    if own:
        if Path(own).name != own:
            expected = "expected the name of a file beside house.toml"
            raise Problems([Problem(document.place("phrases"), f"'{own}'", expected)])
        phrases |= _checked(read_toml(folder / own, own))
    return Language(tag, phrases)


def _checked(catalogue: Document) -> dict[str, str]:
    problems = [*_faults(catalogue)]
    if problems:
        raise Problems(problems)
    return catalogue.data


def _faults(catalogue: Document) -> Iterator[Problem]:
    for key, said in catalogue.data.items():
        place = catalogue.place(key)
        if not isinstance(said, str) or not said:
            yield Problem(place, repr(said), 'expected a phrase: "range" = "Reichweite"')
        elif said.count("{}") != key.count("{}") or re.search(r"[{}]", said.replace("{}", "")):
            yield Problem(
                place, f"'{said}'", f"expected {{}} {key.count('{}')} times, as in the English phrase"
            )
