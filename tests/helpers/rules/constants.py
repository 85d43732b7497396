"""Constants: each with its unit and its source beside it, and its digits as published."""

import ast
import re
from collections.abc import Mapping
from decimal import Decimal

from helpers.rules.names import unit_texts

DOCUMENT = re.compile(
    r"\b(1[89]|20)\d\d\b.*\b(Table|Doc|SP|Annex|\d+\.\d+|Appendix|eq)|\b(Doc|SP|TN|Report) [\d/-]+", re.S
)


def plain_unit(text: str) -> str:
    """Return a unit's spelling without the freedoms of writing: powers raised or not, spaces, brackets."""
    return re.sub(r"[\s()·*^]", "", text.translate(str.maketrans("²³⁻–−", "23---")))


def constant_findings(path: str, source: str) -> list[str]:
    """Return the constants of a module that lack a unit, a source, or agreement of name and unit."""
    found, body = [], ast.parse(source).body
    for node, following in zip(body, [*body[1:], None], strict=True):
        name = _constant_name(node)
        if not name:
            continue
        place = f"{path}:{node.lineno}: {name}"
        text = _string(following)
        unit = re.match(r"\[([^\]]+)\]\s", text)
        if not unit:
            found.append(f"{place}: no docstring that begins with its unit, such as '[m/s] Source, Table 2.'")
            continue
        if plain_unit(unit[1]) not in {plain_unit(known) for known in unit_texts(name)}:
            found.append(f"{place}: the name and the unit [{unit[1]}] disagree")
        derived = any(isinstance(part, ast.Name | ast.BinOp) for part in ast.walk(node.value))
        rest = text[unit.end() :]
        if not (len(rest.split()) >= 4 if derived else DOCUMENT.search(rest) or "own limit" in rest):
            found.append(f"{place}: no published source (document, year, table or section) in its docstring")
    return found


def _constant_name(node: ast.stmt) -> str:
    target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
    name = target.id if isinstance(target, ast.Name) else ""
    return name if name.isupper() and not name.startswith("_") else ""


def _string(node: ast.stmt | None) -> str:
    value = node.value if isinstance(node, ast.Expr) else None
    return value.value if isinstance(value, ast.Constant) and isinstance(value.value, str) else ""


def values_of(source: str) -> dict[str, float]:
    """Return the numbers that a module of constants defines at its top."""
    names: dict[str, object] = {}
    exec(compile(source, "constants", "exec"), names)  # our own source text, or a test's
    return {n: float(v) for n, v in names.items() if isinstance(v, int | float) and not n.startswith("_")}


def digit_findings(values: Mapping[str, float], published: Mapping[str, tuple[str, bool, str]]) -> list[str]:
    """Return the constants that differ from what is published (printed digits, whether exact, source)."""
    found = [
        f"{name}: not in the table of published digits; add what its source prints"
        for name in values.keys() - published
    ]
    for name, (printed, exact, source) in published.items():
        if name not in values:
            found.append(f"{name}: published digits for a constant that is gone")
            continue
        value, digits = Decimal(repr(values[name])), Decimal(printed)
        half_digit = Decimal(0) if exact else Decimal(5).scaleb(digits.as_tuple().exponent - 1)
        if abs(value - digits) > half_digit:
            found.append(f"{name}: {value} is not the published {printed} ({source})")
    return sorted(found)
