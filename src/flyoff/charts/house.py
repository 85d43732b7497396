"""The house style: one small file of fonts, colours, numbers, units and paper."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal, TypeAlias

import typst
import vl_convert
from pydantic import Field

from flyoff.charts.colour import contrast, nearest
from flyoff.charts.language import ENGLISH, SOURCE, Language, read_language
from flyoff.charts.style import (
    DARK,
    FILM,
    FILM_LIGHT,
    FONT,
    LIGHT,
    Format,
    Setting,
    Theme,
    column,
)
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.record import Colour, Context, Of, Record, validate
from flyoff.core.tomlfile import Document, read_toml
from flyoff.core.wording import CONVERTED, Wording

NAME = "house.toml"
LEGIBLE = 4.5
"""Contrast of words with their ground (WCAG 2.2, 1.4.3, level AA)."""
APART = 10.0
"""Least difference ΔE*ab of two airplanes' colours for any eyes; common practice, no source."""

Colours: TypeAlias = Annotated[tuple[Colour, ...], Field(max_length=7)]
Width: TypeAlias = Annotated[Quantity, Of("length", at_least=0.05, at_most=0.5)]


class NumbersStyle(Record):
    """How numbers are written."""

    decimal: Literal[".", ","] = Field(".", description="The decimal mark")
    thousands: Literal[",", ".", " ", "’", ""] = Field(
        ",", description="What parts thousands; a space does not break"
    )


class UnitsStyle(Record):
    """Which units readers see."""

    system: Literal["as written", "US", "metric", "both"] = Field(
        "as written", description="Units of report, charts and tables"
    )
    keep: tuple[str, ...] = Field((), description="Units left as they are, such as kt, nmi and ft")


class ColoursStyle(Record):
    """Colours of the airplanes, in their order, on each ground; all or none."""

    light: Colours = Field((), description="On white, and on light pictures")
    dark: Colours = Field((), description="On a dark page or screen")
    film: Colours = Field((), description="On dark pictures")


class PaperStyle(Record):
    """Columns of the page."""

    single: Width = Field(parse_quantity("86 mm", "length"), description="Width of one column")
    double: Width = Field(parse_quantity("178 mm", "length"), description="Width of two columns")
    text_pt: float = Field(8.0, ge=6.0, le=12.0, description="Size of words in charts, in points")


class FilmStyle(Record):
    """The film of a chart's build-up."""

    frames_per_second: Literal[24, 25, 30, 50, 60] = Field(25, description="Frames per second")
    hold_seconds: float = Field(1.5, ge=0.2, le=30.0, description="How long each step stands")
    wipe_seconds: float = Field(0.8, ge=0.1, le=5.0, description="How long the next takes to appear")


class HouseRecord(Record):
    """The house style file; every part has a default."""

    font: str = Field(FONT, min_length=1, description="Typeface; others than the default lie in fonts/")
    language: str = Field(
        SOURCE,
        description="Of charts and heads of tables: en, de; with `phrases` any BCP 47 tag",
    )
    phrases: str = Field("", description="A file of your own phrases beside house.toml, by the English ones")
    numbers: NumbersStyle = NumbersStyle()
    units: UnitsStyle = UnitsStyle()
    colours: ColoursStyle = ColoursStyle()
    paper: PaperStyle = PaperStyle()
    film: FilmStyle = FilmStyle()


_DEFAULTS = HouseRecord()


@dataclass(frozen=True)
class House:
    """A house style, checked: what every chart, table and page is made by."""

    record: HouseRecord = _DEFAULTS
    fonts: Path | None = None
    """Folder of the house's own typefaces."""
    language: Language = ENGLISH

    @property
    def wording(self) -> Wording:
        """How numbers and units are worded."""
        numbers, units = self.record.numbers, self.record.units
        thousands: Literal[",", ".", "\u202f", "’", ""] = (
            "\u202f" if numbers.thousands == " " else numbers.thousands
        )
        return Wording(units.system, units.keep, numbers.decimal, thousands)

    @property
    def light(self) -> Theme:
        """The theme on white."""
        return replace(LIGHT, series=self.record.colours.light or LIGHT.series)

    @property
    def dark(self) -> Theme:
        """The theme on a dark page or screen."""
        return replace(DARK, series=self.record.colours.dark or DARK.series)

    @property
    def film(self) -> Theme:
        """The theme on dark pictures."""
        return replace(FILM, series=self.record.colours.film or FILM.series)

    @property
    def film_light(self) -> Theme:
        """The theme on light pictures."""
        return replace(FILM_LIGHT, series=self.light.series)

    @property
    def columns(self) -> tuple[Format, ...]:
        """The formats of the page's columns."""
        paper = self.record.paper
        widths = {"single": paper.single, "double": paper.double}
        return tuple(column(name, width.si * 1000, paper.text_pt) for name, width in widths.items())

    @cached_property
    def faces(self) -> typst.Fonts:
        """Every typeface that may be used: the default's, and the house's own."""
        folders = [
            str(resources.files("flyoff.charts") / "fonts"),
            *([str(self.fonts)] if self.fonts else []),
        ]
        return typst.Fonts(include_system_fonts=False, font_paths=folders)

    def setting(self, theme: Theme, form: Format, *, titled: bool = True) -> Setting:
        """Return how to draw on one ground and format."""
        return Setting(theme, form, titled, self.wording, self.record.font, language=self.language)


PLAIN = House()
"""The house style where a study has none of its own."""


def read_house(folder: Path) -> House:
    """Return the house style of a study folder; without a file, the plain one.

    Raises
    ------
    Problems
        Everything that is wrong in it: a colour that cannot be read or told from another, a
        typeface that is not there, a unit that no system replaces.
    """
    if not (folder / NAME).exists():
        return PLAIN
    document = read_toml(folder / NAME, NAME)
    collector = Collector()
    record = validate(HouseRecord, Context(document), collector)
    collector.raise_any()
    assert record is not None
    fonts = folder / "fonts"
    language = read_language(folder, record.language, record.phrases, document)
    house = House(record, fonts if fonts.is_dir() else None, language)
    if problems := [*_faults(house, document)]:
        raise Problems(problems)
    if house.fonts:
        vl_convert.register_font_directory(str(house.fonts))
    return house


def _faults(house: House, document: Document) -> Iterator[Problem]:
    record = house.record
    colours = record.colours
    sets = {"light": colours.light, "dark": colours.dark, "film": colours.film}
    grounds = {"light": LIGHT.ground, "dark": DARK.ground, "film": FILM.halo}
    given = [name for name, series in sets.items() if series]
    if given and len({len(series) for series in sets.values()}) > 1:
        counts = ", ".join(f"{name} {len(series)}" for name, series in sets.items())
        expected = "expected the same number of colours for light, dark and film"
        yield Problem(document.place("colours"), counts, expected)
    for name in given:
        yield from _colour_faults(name, sets[name], str(grounds[name]), document)
    for index, unit in enumerate(record.units.keep):
        if unit not in CONVERTED:
            expected = f"expected a unit that a system replaces: {', '.join(CONVERTED)}"
            place = document.place("units", "keep", index)
            yield Problem(place, f"'{unit}'", f"{expected}{near_miss(unit, CONVERTED)}")
    if record.numbers.decimal == record.numbers.thousands:
        expected = "expected another mark for thousands than for decimals"
        yield Problem(document.place("numbers", "thousands"), f"'{record.numbers.thousands}' twice", expected)
    families = house.faces.families()
    if record.font not in families:
        expected = f"expected a typeface of the folder fonts/, or {FONT}{near_miss(record.font, families)}"
        yield Problem(document.place("font"), f"no typeface '{record.font}'", expected)


def _colour_faults(name: str, series: Sequence[str], ground: str, document: Document) -> Iterator[Problem]:
    for index, colour in enumerate(series):
        if (found := contrast(colour, ground)) < LEGIBLE:
            place = document.place("colours", name, index)
            expected = f"expected a contrast of {LEGIBLE} or more with {ground}, so that words can be read"
            yield Problem(place, f"{colour} has a contrast of {found:.1f}", expected)
    if len(series) > 1:
        least, pair, vision = nearest(series)
        if least < APART:
            eyes = "any eyes" if vision == "normal" else f"{vision} eyes"
            found_words = f"{pair[0]} and {pair[1]} differ by {least:.1f} for {eyes}"
            expected = f"expected every two to differ by {APART:.0f} or more (CIE L*a*b*)"
            yield Problem(document.place("colours", name), found_words, expected)
