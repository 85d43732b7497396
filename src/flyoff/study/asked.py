"""Figures that a draft asks for: the study's own, and those under other terms, worked out anew."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from flyoff.comparison.evidence import READINGS
from flyoff.comparison.rerun import people_aboard
from flyoff.comparison.terms import Terms
from flyoff.core.problems import Collector, near_miss
from flyoff.core.quantity import QuantityError, parse_quantity
from flyoff.core.sources import Place
from flyoff.draft.claims import Known, Records, known_of
from flyoff.study.folder import check_bounds
from flyoff.study.run import Progress, Study, compared

CHANGEABLE: Mapping[str, str] = {
    "altitude": "length",
    "power": "ratio",
    "isa_deviation": "temperature_difference",
    "wind": "speed",
    "bags": "mass",
    "reserve": "time",
}
"""The terms that are quantities and may be changed in a link, with their dimension."""
_OTHERS = ("people", "evidence")
_MOST_PEOPLE = 20
_MOST_TERMS = 20
"""Different sets of changed terms worked out for one check, a few seconds each; own limit."""


class Refused(ValueError):
    """A figure that cannot be given; the message says why."""


def records_of(study: Study, asked: Iterable[str] = (), progress: Progress = lambda _: None) -> Records:
    """Return what a study lets be published, and what a draft's links ask of it besides.

    A key with a query, such as ``tern.range?altitude=6000ft&people=2``, that the study has no figure of, is
    answered by comparing again under those terms; what cannot be is refused, with the reason.
    """
    figures = study.figures()
    known = {k.key: k for k in map(known_of, figures.values()) if k is not None}
    refused: dict[str, str] = {}
    asking = _Asking(study, progress)
    for key in dict.fromkeys(asked):
        if key in known:
            continue
        try:
            known[key] = asking.figure(key)
        except Refused as reason:
            refused[key] = str(reason)
    airplanes = {entry.key: entry.name for entry in study.comparison.entries}
    terms = study.folder.record.terms
    written = {"altitude": terms.altitude.text, "power": terms.power.text}
    return Records(airplanes, known, written, refused)


class _Asking:
    """Answers keys, each set of changed terms worked out once."""

    def __init__(self, study: Study, progress: Progress) -> None:
        self.study, self.progress = study, progress
        self._under: dict[str, Study] = {}

    def figure(self, key: str) -> Known:
        """Return a figure of the study, or of the study under other terms."""
        base, asked, query = key.partition("?")
        figures = self.study.figures()
        if base not in figures:
            raise Refused(f"the study has no figure of this key{near_miss(key, figures)}")
        figure = figures[base] if not asked else self._changed(query).figures().get(base)
        if figure is None:
            raise Refused(f"{base} cannot be worked out under other terms")
        if not asked:
            raise Refused(f"it is missing: {figure.missing}")
        known = known_of(replace(figure, key=key))
        if known is None:
            raise Refused(f"under these terms it is missing: {figure.missing}")
        return known

    def _changed(self, query: str) -> Study:
        if query not in self._under:
            if len(self._under) >= _MOST_TERMS:
                raise Refused(f"more than {_MOST_TERMS} different sets of terms are asked for")
            terms = changed_terms(self.study.folder.record.terms, query)
            self.progress(f"comparing again, {query}")
            folder = self.study.folder
            record = folder.record.model_copy(update={"terms": terms})
            self._under[query] = compared(replace(folder, record=record), self.study.flights)
        return self._under[query]


def changed_terms(terms: Terms, query: str) -> Terms:
    """Return terms with some of them changed as ``altitude=6000ft&people=2`` says.

    Raises
    ------
    Refused
        If a term is unknown or given twice, or its value is no possible one.
    """
    update: dict[str, Any] = {}
    for part in query.split("&"):
        name, equals, text = part.partition("=")
        if name not in CHANGEABLE and name not in _OTHERS:
            names = (*CHANGEABLE, *_OTHERS)
            raise Refused(f"'{name}' is no term that can be changed ({', '.join(names)})"
                          f"{near_miss(name, names)}")  # fmt: skip
        if not equals or not text:
            raise Refused(f"'{part}' gives no value, such as {name}=6000ft")
        field = "occupants" if name == "people" else name
        if field in update:
            raise Refused(f"{name} is given twice")
        update[field] = _value(terms, name, text)
    changed = terms.model_copy(update=update)
    collector = Collector()
    check_bounds(changed, collector)
    if collector.problems:
        raise Refused("; ".join(f"{p.place.field} {p.found}, {p.expected}" for p in collector.problems))
    return changed


def _value(terms: Terms, name: str, text: str) -> Any:
    if name == "evidence":
        if text not in READINGS:
            raise Refused(f"evidence '{text}' is none of {', '.join(READINGS)}{near_miss(text, READINGS)}")
        return text
    if name == "people":
        if not text.isdecimal() or not 1 <= int(text) <= _MOST_PEOPLE:
            raise Refused(f"people '{text}' is no number from 1 to {_MOST_PEOPLE}")
        return people_aboard(terms, int(text))
    try:
        quantity = parse_quantity(text, CHANGEABLE[name])
    except QuantityError as error:
        raise Refused(f"{name} {error}") from None
    if name in ("bags", "reserve") and quantity.si < 0:
        raise Refused(f"{name} '{text}' is negative")
    return quantity.at(Place("", field=name))
