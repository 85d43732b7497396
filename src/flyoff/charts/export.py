"""A chart in every form that leaves the house, from its one definition."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar
from xml.etree import ElementTree

import typst

from flyoff.charts import render
from flyoff.charts.chart import Chart
from flyoff.charts.house import House
from flyoff.charts.style import PAGE, SCREEN, Setting, Theme

S = TypeVar("S")
PRINT_SCALE = 2.0
"""Pixels of a page's PNG for one of its SVG: 1520 across."""
SIZES = {"1080": 1.0, "2160": 2.0}
"""Lines of a still, and its scale: 1920 by 1080 and 3840 by 2160 pixels."""
LARGEST = "2160"

_SHEET = """
#set document(title: sys.inputs.title, date: none)
#set page(width: float(sys.inputs.width) * 1mm, height: float(sys.inputs.height) * 1mm, margin: 0mm)
#image(bytes(sys.inputs.picture), format: "svg", width: 100%, height: 100%, alt: sys.inputs.alt)
"""


def drawn(chart: Chart[S], subject: S, setting: Setting, prefix: str) -> str:
    """Return a chart as SVG, its ids beginning with `prefix`."""
    return render.svg(chart.definition(subject, setting), alt(chart, subject, setting), prefix)


def alt(chart: Chart[S], subject: S, setting: Setting) -> str:
    """Return a chart in words, in the house's units."""
    wording = setting.wording
    return wording.text(chart.worded(subject, wording) if chart.worded else chart.alt(subject))


def pdf(picture: str, title: str, words: str, house: House) -> bytes:
    """Return an SVG in millimetres as one tagged page, its typeface embedded; the same bytes each time.

    Raises
    ------
    ValueError
        If the size of the picture is not in millimetres.
    """
    root = ElementTree.fromstring(picture)
    sizes = [root.get(side, "") for side in ("width", "height")]
    if not all(size.endswith("mm") for size in sizes):
        raise ValueError(f"a page needs its size in millimetres; got {' by '.join(sizes)}")
    width, height = (size.removesuffix("mm") for size in sizes)
    made = typst.compile(
        _SHEET.encode(),
        font_paths=house.faces,
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"picture": picture, "title": title, "alt": words, "width": width, "height": height},
        pdf_standards=["ua-1"],
    )
    assert isinstance(made, bytes)
    return made


def for_page(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    """Yield a chart's files for page, screen and print: what is quick to make."""
    page = drawn(chart, subject, house.setting(house.light, PAGE), name)
    yield f"{name}.svg", (page + "\n").encode()
    yield f"{name}.png", render.png(page, PRINT_SCALE)
    for part, setting in screens(chart, subject, house, house.dark, name):
        yield f"{part}-dark.png", render.png(drawn(chart, subject, setting, name))
    yield from for_print(chart, subject, house, name)


def for_print(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    """Yield a chart in each of the page's columns, as SVG and as PDF."""
    for form in house.columns:
        setting = house.setting(house.light, form)
        picture = drawn(chart, subject, setting, name)
        yield f"print/{name}-{form.name}.svg", (picture + "\n").encode()
        words = alt(chart, subject, setting)
        yield f"print/{name}-{form.name}.pdf", pdf(picture, house.language.text(chart.title), words, house)


def grounds(house: House) -> dict[str, Theme]:
    """Return the themes of stills and film, by the pictures they lie on."""
    return {"dark": house.film, "light": house.film_light}


def screens(
    chart: Chart[S], subject: S, house: House, theme: Theme, name: str
) -> Iterator[tuple[str, Setting]]:
    """Yield the name and setting of each screen that a chart needs."""
    count = chart.screens(subject)
    setting = house.setting(theme, SCREEN)
    if count == 1:
        yield name, setting
        return
    for number in range(count):
        yield f"{name}-{number + 1}", replace(setting, screen=number)


def stills(chart: Chart[S], subject: S, house: House, name: str) -> Iterator[tuple[str, bytes]]:
    """Yield a chart as stills on transparent ground, for dark and for light pictures."""
    for ground, theme in grounds(house).items():
        for part, setting in screens(chart, subject, house, theme, name):
            picture = drawn(chart, subject, setting, name)
            for lines, scale in SIZES.items():
                yield f"{part}-{ground}-{lines}.png", render.png(picture, scale)
