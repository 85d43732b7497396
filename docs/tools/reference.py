"""The reference of the files that people write: from the JSON Schemas, the table columns, the units."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tables import table

from flyoff.core.quantity import example
from flyoff.core.units import DIMENSIONS, dimension_words, find_unit, units_of
from flyoff.dossier.tables import COLUMNS
from flyoff.flights.channels import CHANNELS
from flyoff.study.schema import KINDS, schema

WORDS = tomllib.loads(Path(__file__).with_name("words.toml").read_text("utf-8"))

Schema = dict[str, Any]


class Missing(ValueError):
    """A key without words, or words without a key."""


def pages() -> dict[str, str]:
    """Return every page of the reference by its name."""
    made = {kind: "\n".join(_page(kind)) for kind in KINDS}
    return made | {"tables": "\n".join(_tables()), "values": "\n".join(_values())}


def _page(kind: str) -> Iterator[str]:
    root, words = schema(kind), WORDS["pages"][kind]
    yield from (f"# {words['title']}", "", words["intro"], "")
    if kind == "sources":
        yield from _section(root["additionalProperties"], root, "[KEY]", kind)
    else:
        yield from _section(root, root, "", kind)
    if kind == "flight":
        yield from _channels()


def _section(part: Schema, root: Schema, header: str, kind: str) -> Iterator[str]:
    """Yield a record's heading, keys, and the records inside it."""
    record, name = _resolved(part, root)
    if header:
        yield from (f"## `{header}`", "")
        yield from (_sentence(record["description"]), "")
    required = record.get("required", [])
    rows = [
        (f"`{key}`", _form(own, root), "yes" if key in required else "", _words(kind, name, key, own, root))
        for key, own in record["properties"].items()
    ]
    yield from table(("key", "written as", "needed", "what it is"), rows)
    for key, own in record["properties"].items():
        inner = _inner(own)
        if inner is not None:
            shape, child = inner
            path = f"{header.strip('[]')}.{key}".lstrip(".")
            yield from _section(child, root, shape.format(path), kind)


def _sentence(docstring: str) -> str:
    return " ".join(docstring.replace("``", "`").split())


def _resolved(part: Schema, root: Schema) -> tuple[Schema, str]:
    """Return a record's schema and its name; the top of a file has none."""
    if "$ref" in part:
        name = part["$ref"].rpartition("/")[2]
        return root["$defs"][name], name
    return part, "file"


def _inner(own: Schema) -> tuple[str, Schema] | None:
    """Return the TOML header that opens a record inside, and its schema."""
    for choice in own.get("anyOf", [own]):
        if "$ref" in choice:
            return "[{}]", choice
        if "$ref" in choice.get("items", {}):
            return "[[{}]]", choice["items"]
        if "$ref" in (choice.get("additionalProperties") or {}):
            return "[{}.NAME]", choice["additionalProperties"]
    return None


def _form(own: Schema, root: Schema) -> str:
    """Return how a value is written."""
    choices = [c for c in own.get("anyOf", [own]) if c.get("type") != "null"]
    choice = choices[0]
    inner = _inner(own)
    if inner is not None:
        return {"[{}]": "table", "[[{}]]": "list of tables"}.get(inner[0], "tables by name")
    if "enum" in choice:
        return ", ".join(f"`{value}`" for value in choice["enum"])
    if len(choices) > 1 and "pattern" in choice:
        return choice["description"].partition(" with its unit: ")[0] + ", " + f"`{_example(choice)}`"
    kind = choice.get("type", "text")
    if kind == "array":
        return f"list of {_form(choice['items'], root).replace('text', 'texts')}"
    return {"string": "text", "integer": "whole number", "number": "number", "boolean": "true or false"}[kind]


def _example(choice: Schema) -> str:
    return choice["description"].partition(": ")[2]


def _words(kind: str, name: str, key: str, own: Schema, root: Schema) -> str:
    """Return what a key is: the schema's own words, or ours where it has none."""
    ours = WORDS.get(kind, {}).get(name, {}).get(key)
    its = own.get("description")
    inner = _inner(own)
    if its is None and ours is None and inner is not None:
        its = _sentence(_resolved(inner[1], root)[0]["description"])
    if its is None and ours is None:
        raise Missing(f"words.toml has no [{kind}.{name}] {key}, and its schema has no description")
    default = own.get("default")
    plain = (
        isinstance(default, str | int | float) and default not in ("", 0) and not isinstance(default, bool)
    )
    text = ours or its or ""
    return f"{text} (without it: `{default}`)" if plain else text


def unused_words() -> list[str]:
    """Return the words of keys that no schema has."""
    unused = []
    for kind in KINDS:
        root = schema(kind)
        records = {**root.get("$defs", {}), "file": root}
        for name, keys in WORDS.get(kind, {}).items():
            known = records.get(name, {}).get("properties", {})
            unused += [f"[{kind}.{name}] {key}" for key in keys if key not in known]
    return unused


def _channels() -> Iterator[str]:
    yield from ("## Channels", "", WORDS["pages"]["channels"], "")
    rows = [(f"`{c.name}`", dimension_words(c.dimension), f"`{c.unit}`") for c in CHANNELS.values()]
    yield from table(("channel", "what is measured", "a usual unit"), rows)


def _tables() -> Iterator[str]:
    yield from ("# Handbook tables", "", WORDS["pages"]["tables"], "")
    rows = []
    for column, dimensions in COLUMNS.items():
        written = [f"`{column} [{units_of(d)[0]}]`" for d in dimensions if d != "ratio_number"]
        words = " or ".join(dimension_words(d) for d in dimensions if d != "ratio_number")
        rows.append((f"`{column}`", words or "a number", " or ".join(written) or f"`{column}`"))
    yield from table(("column", "what it holds", "as a header"), rows)


def _values() -> Iterator[str]:
    yield from ("# Values, units, sources", "", WORDS["pages"]["values"], "", "## Units", "")
    rows = []
    for dimension in DIMENSIONS:
        labels = [label for label in units_of(dimension) if label]
        if not labels:
            continue
        base = find_unit(labels[0], dimension)
        factors = [f"`{label}`" for label in labels]
        shown = example(dimension).strip('"') if dimension in _WITH_EXAMPLE else f"1 {base.label}"
        rows.append((dimension_words(dimension), ", ".join(factors), f'`"{shown}"`'))
    yield from table(("what", "units", "for example"), rows)


_WITH_EXAMPLE = tuple(d for d in DIMENSIONS if example(d) != '"1 m"')
