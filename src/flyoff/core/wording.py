"""How numbers and units are worded for readers: one rule for reports, charts and tables.

Figures are converted exactly. A quantity in running text keeps about the
precision that it was written with. Machine-readable files keep their own form.
"""

import re
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from flyoff.core.figure import Figure, format_number, supported_decimals
from flyoff.core.precision import grain, restated_decimals
from flyoff.core.units import CURRENCIES, DIMENSIONS, find_unit, spellings_of, units_of

System: TypeAlias = Literal["as written", "US", "metric", "both"]
Thousands: TypeAlias = Literal[",", ".", "\u202f", "’", ""]

_TO_METRIC = {
    "kt": "km/h",
    "mph": "km/h",
    "ft/min": "m/s",
    "nmi": "km",
    "mi": "km",
    "ft": "m",
    "in": "cm",
    "ft²": "m²",
    "US gal": "L",
    "imp gal": "L",
    "lb": "kg",
    "°F": "°C",
    "Δ°F": "Δ°C",
    "inHg": "hPa",
    "psi": "hPa",
    "hp": "kW",
    "US gal/h": "L/h",
    "imp gal/h": "L/h",
    "lb/h": "kg/h",
    "lb/hp/h": "g/kWh",
    "lb/US gal": "kg/L",
    "nmi/US gal": "km/L",
    "nmi/lb": "km/kg",
    "lbf": "N",
    "lb in": "kg m",
}
_TO_US = {
    "km/h": "kt",
    "m/s": "ft/min",
    "km": "nmi",
    "m": "ft",
    "cm": "in",
    "mm": "in",
    "m²": "ft²",
    "L": "US gal",
    "imp gal": "US gal",
    "kg": "lb",
    "hPa": "inHg",
    "kW": "hp",
    "PS": "hp",
    "L/h": "US gal/h",
    "imp gal/h": "US gal/h",
    "kg/h": "lb/h",
    "g/kWh": "lb/hp/h",
    "kg/L": "lb/US gal",
    "km/L": "nmi/US gal",
    "nmi/L": "nmi/US gal",
    "km/kg": "nmi/lb",
    "N": "lbf",
    "kg m": "lb in",
}
CONVERTED = tuple(sorted({*_TO_METRIC, *_TO_US}))
"""Units that a system may replace; angles, times, ratios and money are the same in both."""

_NUMBER = r"[+\-−]?\d+(?:,\d{3})*(?:\.\d+)?"
_CITED = re.compile(
    r"(?:\b(?:CFR|JCGM|AC|CS|NCO|NCC|CAP|ISO)|§"
    r"|\b(?i:table|eq\.|section|part|issue|edition|version|annex|no\.|p\.))\s?$"
)
"""What stands before a number that counts nothing."""
_PER_MILE = re.compile(r"\b((?i:per|by the) )(seat-)?mile\b")


def _unit_pattern(labels: tuple[str, ...]) -> re.Pattern[str]:
    """Match a number, perhaps with its interval or as a range, before one of the units."""
    spelt = {
        spelling
        for label in labels
        for spelling in spellings_of(find_unit(label).dimension)
        if find_unit(spelling, find_unit(label).dimension).label == label and len(spelling) > 1
    } | set(labels)
    units = "|".join(re.escape(spelling) for spelling in sorted(spelt, key=lambda s: (-len(s), s)))
    return re.compile(
        rf"(?<![\w.,/])(?P<value>{_NUMBER})(?P<more>(?:\s?(?:±|–|to|and)\s?){_NUMBER})?[ \u00a0]?"
        rf"(?P<unit>{units})(?![\w²³/·%])(?P<follows>\s+\w)?"
    )


@dataclass(frozen=True)
class Wording:
    """A house's numbers: its unit system, units kept all the same, decimal mark, thousands separator."""

    system: System = "as written"
    keep: tuple[str, ...] = ()
    decimal: Literal[".", ","] = "."
    thousands: Thousands = ","

    @property
    def plain(self) -> bool:
        """Whether everything stays as it is."""
        return self == AS_WRITTEN

    def unit(self, label: str) -> str:
        """Return the unit to print for one in a record; with both systems, the US one comes first.

        >>> Wording("metric").unit("kt"), Wording("metric", keep=("kt",)).unit("kt")
        ('km/h', 'kt')
        >>> Wording("metric").unit("CHF/nmi")
        'CHF/km'
        """
        money, per, below = label.partition("/")
        if money in CURRENCIES:
            return f"{money}{per}{self.unit(below)}"
        if label in self.keep or self.system == "as written":
            return label
        return (_TO_METRIC if self.system == "metric" else _TO_US).get(label, label)

    def second(self, label: str) -> str:
        """Return the unit that stands beside a printed one where both are wanted, or nothing."""
        if self.system != "both" or label in self.keep:
            return ""
        money, per, below = label.partition("/")
        if money in CURRENCIES:
            return f"{money}{per}{beside}" if (beside := self.second(below)) else ""
        return _TO_METRIC.get(label, "")

    def figure(self, figure: Figure) -> Figure:
        """Return a figure in the house's unit; its value in SI stays."""
        return _figure_in(figure, self.unit(figure.unit_label))

    def beside(self, figure: Figure) -> Figure | None:
        """Return a figure of the house in the other system, or None where it stands alone."""
        label = self.second(figure.unit_label)
        return _figure_in(figure, label) if label else None

    def text(self, text: str) -> str:
        """Return a text with its quantities in the house's units and its numbers in the house's form.

        >>> Wording("metric").text("65 % power at 6,000 ft, 340 lb aboard")
        '65 % power at 1,829 m, 154 kg aboard'
        >>> Wording("both", keep=("nmi",)).text("48 L over 820 nmi")
        '12.7 US gal (48 L) over 820 nmi'
        >>> Wording(decimal=",", thousands=".").text("1,093.5 kt (JCGM 101:2008, 7.2.6)")
        '1.093,5 kt (JCGM 101:2008, 7.2.6)'
        """
        return self.numerals(self.units(text))

    def number(self, text: str, label: str) -> str:
        """Return a number of a column, perhaps with its interval, in the unit that `unit` gives for its own.

        >>> Wording("metric").number("8,002 ± 12", "ft"), Wording("metric").number("refused", "ft")
        ('2,439 ± 4', 'refused')
        """
        first = self.unit(label)
        match = None if first == label else _PATTERN.fullmatch(f"{text} {label}")
        return text if match is None else _in_unit(match, first).removesuffix(f" {first}")

    def label(self, text: str) -> str:
        """Return a label in the house's units; where both are wanted it keeps its own, for its room."""
        return text if self.system == "both" else self.units(text)

    def units(self, text: str) -> str:
        """Return a text with its quantities in the house's units."""
        if self.system == "as written":
            return text
        if self.unit("nmi") == "km":
            text = _PER_MILE.sub(r"\1\2kilometre", text)
        return _PATTERN.sub(self._converted, text)

    def numerals(self, text: str) -> str:
        """Return a text with the house's decimal mark and thousands separator."""
        if (self.decimal, self.thousands) == (".", ","):
            return text

        def put(match: re.Match[str]) -> str:
            if _CITED.search(text[: match.start()]):
                return match[0]
            whole, point, rest = match[0].partition(".")
            return whole.replace(",", self.thousands) + (self.decimal + rest if point else "")

        return _WRITTEN.sub(put, text)

    def _converted(self, match: re.Match[str]) -> str:
        written = find_unit(match["unit"])
        first = self.unit(written.label)
        second = self.second(first)
        # "3 in 4 flights": a word, not a unit.
        is_word = written.label == "in" and match["follows"] and "." not in match["value"]
        if is_word or (first == written.label and not second):
            return match[0]
        shown = _in_unit(match, first)
        if second:
            # What was given in the second unit stays as it was given.
            shown += f" ({_in_unit(match, second)})"
        return shown + (match["follows"] or "")


_PATTERN = _unit_pattern((*CONVERTED, *(f"{code}/nmi" for code in CURRENCIES)))
_WRITTEN = re.compile(
    r"(?<![\w.,])\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\w]|\.\d)|(?<![\w.,])\d+\.\d+(?![\w]|\.\d)"
)


def _figure_in(figure: Figure, label: str) -> Figure:
    """Return a figure in another unit; an exact value no finer than it was declared."""
    if label == figure.unit_label:
        return figure
    kept = figure.grain_si
    if not kept and figure.value is not None and figure.u95 == 0:
        own = find_unit(figure.unit_label, figure.dimension)
        kept = grain(format_number(figure.value, figure.decimals)) * own.factor
    return replace(figure, unit_label=label, grain_si=kept)


def _in_unit(match: re.Match[str], label: str) -> str:
    written = find_unit(match["unit"])
    unit = find_unit(label, written.dimension)
    value, more = match["value"], match["more"] or ""
    if written.label == label:
        return f"{value}{more} {match['unit']}"
    scale = written.factor / unit.factor

    def si(text: str) -> float:
        return written.to_si(float(text.replace(",", "").replace("−", "-")))

    converted = unit.from_si(si(value))
    last = re.search(rf"{_NUMBER}$", more)
    if last and "±" in more:
        decimals = supported_decimals(converted, float(last[0].replace(",", "")) * scale)
    else:
        decimals = restated_decimals(value, converted, scale)
    shown = format_number(converted, decimals)
    if value.startswith("+"):
        shown = f"+{shown}"
    if last:
        # An interval has no offset, as a temperature has.
        far = float(last[0].replace(",", "")) * scale if "±" in more else unit.from_si(si(last[0]))
        more = more[: last.start()] + format_number(far, decimals)
    return f"{shown}{more} {label}"


_LABELS = {label for dimension in DIMENSIONS for label in units_of(dimension) if label}
_APART = re.compile(
    rf"(?<=\d) (?=(?:{'|'.join(re.escape(label) for label in sorted(_LABELS, key=len, reverse=True))})"
    r"(?![\w²³/·]| \d))"
)


def bound(text: str) -> str:
    r"""Return a text in which no line breaks between a number and its unit.

    >>> bound("65 % power at 2’400 m, 3 in 4").split(" ")
    ['65\xa0%', 'power', 'at', '2’400\xa0m,', '3', 'in', '4']
    """
    return _APART.sub("\u00a0", text)


def whole_words(text: str) -> list[str]:
    """Return the words of a text that a line may break between: a number stays with its unit.

    >>> whole_words("65 % power at 2’400 m, 30 min kept")
    ['65 %', 'power', 'at', '2’400 m,', '30 min', 'kept']
    """
    return [word.replace("\u00a0", " ") for word in bound(" ".join(text.split())).split(" ")]


AS_WRITTEN = Wording()
"""Every number as its writer put it, with thousands commas and a decimal point."""
