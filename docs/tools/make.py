"""Make what the documentation does not say by hand: the reference, the commands, the gallery's pictures.

With a folder as its argument it writes there.
"""

import sys
from collections.abc import Iterable
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

import commands
import outputs
import reference
from tables import table

from flyoff.charts import render
from flyoff.charts.catalogue import charts_of, charts_of_flight
from flyoff.charts.chart import Chart
from flyoff.charts.style import DARK, LIGHT, PAGE, Setting
from flyoff.core.files import write_text
from flyoff.study.run import load

DOCS = Path(__file__).parents[1]
S = TypeVar("S")


def main() -> None:
    """Write the pages and the pictures."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else DOCS
    study = load(Path(str(files("flyoff.demo") / "files")))
    unused = reference.unused_words()
    if unused:
        raise SystemExit(f"words.toml has words that nothing needs: {', '.join(unused)}")
    pages = {**reference.pages(), "outputs": outputs.page(study)}
    for name, text in pages.items():
        write_text(target / "reference" / f"{name}.md", text)
    write_text(target / "reference" / "index.md", _index(pages))
    write_text(target / "commands.md", commands.page())
    gallery = target / "_static" / "gallery"
    _pictures(charts_of(study.comparison), study.comparison, gallery)
    flight = next(iter(study.flights.values()))
    _pictures(charts_of_flight(flight), flight, gallery)


def _index(pages: dict[str, str]) -> str:
    """Return the front page of the reference, in the order that one needs the files."""
    order = ["study", "aircraft", "tables", "flight", "sources", "house", "captions", "values", "outputs"]
    lines = ["# Reference of the files", "", reference.WORDS["pages"]["index"], ""]
    lines += table(("page", "what it is about"), [(f"[]({name}.md)", _first(pages[name])) for name in order])
    return "\n".join([*lines, "```{toctree}", ":hidden:", "", *order, "```", ""])


def _first(page: str) -> str:
    """Return the first sentence after a page's heading."""
    return " ".join(page.split("\n\n", 2)[1].split()).partition(". ")[0].rstrip(".") + "."


def _pictures(charts: Iterable[Chart[S]], subject: S, folder: Path) -> None:
    for chart in charts:
        alt = chart.alt(subject)
        for theme in (LIGHT, DARK):
            picture = render.svg(chart.definition(subject, Setting(theme, PAGE)), alt, chart.name)
            write_text(folder / f"{chart.name}-{theme.name}.svg", picture + "\n")


if __name__ == "__main__":
    main()
