"""The reference of what flyoff writes: every key that a build or a reduction gives, explained."""

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from tables import table

from flyoff.core.sources import Place
from flyoff.report.tables import COLUMNS, figure_record
from flyoff.study.changes import Changes, FigureChange, FileChange
from flyoff.study.changes_text import changes_data, rebuilt_data
from flyoff.study.check import check_data, checking
from flyoff.study.kept import Rebuilt
from flyoff.study.living import Change, Rewriting
from flyoff.study.living_text import changes_data as words_data
from flyoff.study.plan import plan_data, planned
from flyoff.study.reduce import reduced, reduction_data
from flyoff.study.run import Study

_DEMO = Path(str(files("flyoff.demo") / "files"))
WORDS = tomllib.loads(Path(__file__).with_name("output-words.toml").read_text("utf-8"))


class Missing(ValueError):
    """A key without words, or words without a key."""


def page(study: Study) -> str:
    """Return the page, its keys taken from the demo's own results."""
    flight = next(Path(str(files("flyoff.demo") / "files" / "flights")).glob("*.toml"))
    return "\n".join(_lines(study, reduction_data(reduced(flight))))


def _lines(study: Study, reduction: dict[str, Any]) -> Iterator[str]:
    records = [figure_record(figure) for figure in study.figures().values()]
    inputs = [given for record in records for given in record["trace"]["inputs"]]
    yield from ("# What flyoff writes", "", WORDS["intro"], "")
    yield from ("## report.html", "", WORDS["report"], "")
    yield from ("## figures.json, and `build --json`", "", WORDS["figures_json"], "")
    yield from _keys("figure", records[0])
    yield from ("`trace` holds:", "")
    yield from _keys("trace", records[0]["trace"])
    yield from ("Each of its `inputs`:", "")
    yield from _keys("input", inputs[0])
    yield from ("### Keys of figures", "", WORDS["figure_keys"], "")
    yield from table(("key", "what it is", "unit"), _quantities(study))
    yield from ("## figures.csv", "", WORDS["figures_csv"], "")
    yield from _keys("csv", COLUMNS)
    yield from ("## `reduce --json`", "", WORDS["reduction"], "")
    yield from _keys("reduction", reduction)
    for name in ("points", "legs", "repairs"):
        yield from (f"### `{name}`", "", WORDS[f"{name}_intro"], "")
        yield from _keys(name, reduction[name][0])
    yield from ("### `calibration`", "")
    calibration = reduction["calibration"]
    yield from _keys("calibration", calibration)
    yield from ("Each of `observations`:", "")
    yield from _keys("observation", calibration["observations"][0])
    yield from ("Each point of `curve`:", "")
    yield from _keys("curve", calibration["curve"][0])
    yield from _plan(plan_data(planned(next((_DEMO / "plans").glob("*.toml")))))
    yield from _check(check_data(checking([_DEMO / "draft.md", _DEMO / "captions.vtt"])))
    yield from _editions()


def _check(found: dict[str, Any]) -> Iterator[str]:
    yield from ("## `check --json`", "", WORDS["check"], "")
    yield from _keys("check", found)
    yield from ("Each of `findings`:", "")
    yield from _keys("finding", found["findings"][0])
    yield from ("Each of `notes`:", "")
    yield from _keys("note", found["notes"][0])
    word = Change(Place("draft.md", 1), "", "", "")
    words = words_data([Rewriting(Path("draft.md"), (word,), {}, {})], ())
    yield from ("With `--bind` or `--write` also `changes`, an object:", "")
    yield from _keys("words", words)
    yield from ("Each of its `words`:", "")
    yield from _keys("word", words["words"][0])


def _editions() -> Iterator[str]:
    figure = FigureChange("", "", None, None, (), "trace")
    changed = FileChange("", "changed", ((1, "", ""),))
    found = changes_data(Changes("", "", (figure,), (changed,)))
    yield from ("## `changes --json`", "", WORDS["changes"], "")
    yield from _keys("changes", found)
    for name in ("figures", "files"):
        yield from (f"Each of `{name}`:", "")
        yield from _keys(f"changes_{name}", found[name][0])
    yield from ("Each of its `lines`:", "")
    yield from _keys("changes_lines", found["files"][0]["lines"][0])
    yield from ("## `build --rebuild NAME --json`", "", WORDS["rebuilt"], "")
    yield from _keys("rebuilt", rebuilt_data(Rebuilt("", Path(), (), 0, ())))


def _plan(plan: dict[str, Any]) -> Iterator[str]:
    yield from ("## `plan --json`", "", WORDS["plan"], "")
    yield from _keys("plan", plan)
    for name in ("figures", "steps", "further_time", "balance"):
        yield from (f"Each of `{name}`:", "")
        yield from _keys(f"plan_{name}", plan[name][0])


def _keys(name: str, keys: Any) -> list[str]:
    """Return a table of keys; a ``_u95`` beside its quantity needs no words of its own."""
    words: dict[str, str] = dict(WORDS["keys"][name])
    rows = []
    for key in keys:
        text = words.pop(key, None)
        if text is None and key.endswith("_u95") and key.removesuffix("_u95") in keys:
            text = "Half-width of its 95 % interval"
        if text is None:
            raise Missing(f"output-words.toml has no [keys.{name}] {key}")
        rows.append((f"`{key}`", text))
    if words:
        raise Missing(f"[keys.{name}] of output-words.toml has {', '.join(words)}, which nothing writes")
    return table(("key", "what it is"), rows)


def _quantities(study: Study) -> Iterator[tuple[str, str, str]]:
    """Yield each quantity of the first airplane, names of trips, options and flights left open."""
    first = study.comparison.entries[0].key
    seen: set[str] = set()
    for key, figure in study.figures().items():
        if not key.startswith(f"{first}.") or "?" in key:
            continue
        parts = key.split(".")[1:]
        label = figure.label
        if parts[0] in {"trip", "option"}:
            parts[1] = parts[0].upper()
            label = label.rpartition(": ")[2].capitalize()
        elif parts[0] in {"runway", "door"}:
            parts[1] = parts[0].upper()
            label = re.sub(r"^Door .*: | (on|from) .*$", "", label).capitalize()
        elif parts[0] == "handling":
            parts[1:], label = ["TASK", "FLIGHT", "PILOT"], "Rating of a task, 1 to 10"
        elif parts[0] == "flown":
            parts[1:3] = ["FLIGHT", "N"]
        name = ".".join(["AIRCRAFT", *parts])
        if name not in seen:
            seen.add(name)
            yield f"`{name}`", label, figure.unit_label or "a count"
