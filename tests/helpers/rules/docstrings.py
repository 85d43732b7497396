"""What a docstring must say: in physics the whole contract of a function, elsewhere at least a sentence."""

import ast
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from helpers.rules.constants import plain_unit
from helpers.rules.names import SUFFIXES, is_numeric, parameters, public_functions, unit_texts

UNIT = re.compile(r"(?<!\w)\[([^\[\]\n]{1,20})\](?!_)")
SHAPE = re.compile(r"\bshapes?\b|\bscalars?\b|broadcast|\(n,\)|\(\.\.\.", re.IGNORECASE)
WITHOUT_UNIT = {"-", "1"}


def sections(docstring: str) -> dict[str, str]:
    """Return the underlined sections of a numpy docstring by their titles; what comes before is under ''."""
    pieces = re.split(r"^([A-Z][\w ]+)\n-{3,}\n", docstring, flags=re.MULTILINE)
    return {"": pieces[0], **dict(zip(pieces[1::2], pieces[2::2], strict=True))}


def entries(section: str) -> dict[str, str]:
    """Return the entries of a section of parameters; `a, b` over one description are two."""
    found: dict[str, str] = {}
    for block in re.split(r"\n(?=\S)", section.strip("\n")):
        head, _, text = block.partition("\n")
        for name in head.partition(" : ")[0].split(","):
            found[name.strip().lstrip("*")] = text
    return found


def contract_findings(path: str, module: str, modules: Mapping[str, str]) -> list[str]:
    """Return what docstrings of public functions in physics leave unsaid; a guard owes its Raises alone."""
    found = []
    for function, is_method in public_functions(modules[module]):
        text = ast.get_docstring(function) or ""
        parts = sections(text)
        says = [*_raises_gaps(module, function, parts, modules)]
        guard = _is_guard(function)
        if not guard:
            says += [*_parameter_gaps(function, parts), *_return_gaps(function, parts)]
        if not (is_method or guard) and len(parts.get("References", "").split()) < 3:
            says.append("no source under References")
        arrays = [a.annotation for a in parameters(function)] + [function.returns]
        if not guard and _mentions_arrays(arrays) and not SHAPE.search(text):
            says.append("no word about shapes")
        found += [f"{path}:{function.lineno}: {function.name}: {gap}" for gap in says]
    return found


def _mentions_arrays(annotations: Iterable[ast.expr | None]) -> bool:
    return any(re.search(r"Floats|Array", ast.unparse(a)) for a in annotations if a)


def _is_guard(function: ast.FunctionDef) -> bool:
    """Tell whether a function returns nothing: it exists to refuse."""
    return isinstance(function.returns, ast.Constant) and function.returns.value is None


def _parameter_gaps(function: ast.FunctionDef, parts: Mapping[str, str]) -> Iterator[str]:
    told = entries(parts.get("Parameters", ""))
    for parameter in parameters(function):
        if parameter.arg not in told:
            yield f"parameter '{parameter.arg}' is not under Parameters"
        elif is_numeric(parameter.annotation):
            units = UNIT.findall(told[parameter.arg])
            wanted = unit_texts(parameter.arg)
            if not units:
                yield f"parameter '{parameter.arg}' has no unit in brackets, such as [m/s]"
            elif wanted and not {plain_unit(u) for u in units} & {plain_unit(w) for w in wanted}:
                yield f"parameter '{parameter.arg}' is said to be in [{units[0]}]; its name says {wanted[0]}"
    for name in told.keys() - {p.arg for p in parameters(function)} - {""}:
        yield f"'{name}' is under Parameters but is no parameter"


def _return_gaps(function: ast.FunctionDef, parts: Mapping[str, str]) -> Iterator[str]:
    returns = function.returns
    decorators = {getattr(d, "id", getattr(d, "attr", "")) for d in function.decorator_list}
    text = parts[""] if decorators & {"property", "cached_property"} else parts.get("Returns", "")
    if not text.strip():
        yield "no Returns section"
        return
    tuple_of = (
        returns.slice
        if isinstance(returns, ast.Subscript) and ast.unparse(returns.value) == "tuple"
        else None
    )
    items = tuple_of.elts if isinstance(tuple_of, ast.Tuple) else [returns]
    wanted = sum(is_numeric(item) for item in items)
    units = UNIT.findall(text)
    if wanted and len(units) not in (1, wanted):  # one unit may serve all
        yield f"{wanted} returned number(s) but {len(units)} unit(s) in brackets under Returns"
    known = {plain_unit(text) for name in SUFFIXES for text in unit_texts(f"_latitude_{name}")} | WITHOUT_UNIT
    for unit in units if wanted else ():
        if plain_unit(unit) not in known:
            yield f"[{unit}] under Returns is no SI unit of the list in tests/helpers/rules/names.py"


def _raises_gaps(
    module: str, function: ast.FunctionDef, parts: Mapping[str, str], modules: Mapping[str, str]
) -> Iterator[str]:
    must, may = raising(module, function, modules)
    said = bool(parts.get("Raises", "").strip())
    if must and not said:
        yield "raises (itself or by a guard) but has no Raises section"
    if said and not may:
        yield "has a Raises section, but nothing in it raises"


def raising(
    module: str, function: ast.FunctionDef, modules: Mapping[str, str], seen: frozenset[str] = frozenset()
) -> tuple[bool, bool]:
    """Return whether a function raises itself or by a guard, and whether anything that it calls raises.

    A guard is a called function that returns nothing or is private: it exists to refuse.
    """
    must = may = any(isinstance(node, ast.Raise) for node in ast.walk(function))
    for called_module, called in _calls(module, function, modules):
        key = f"{called_module}.{called.name}"
        if key not in seen:
            deeper, reaches = raising(called_module, called, modules, seen | {key})
            must |= deeper and (called.name.startswith("_") or _is_guard(called))
            may |= reaches
    return must, may


def _calls(
    module: str, function: ast.FunctionDef, modules: Mapping[str, str]
) -> Iterator[tuple[str, ast.FunctionDef]]:
    origins = _origins(modules[module])
    for node in ast.walk(function):
        if isinstance(node, ast.Call):
            head, _, rest = ast.unparse(node.func).partition(".")
            name = ".".join(filter(None, (origins.get(head, f"{module}.{head}"), rest)))
            home, _, last = name.rpartition(".")
            yield from ((home, found) for found in _functions(modules.get(home, "")) if found.name == last)


@cache
def _origins(source: str) -> dict[str, str]:
    """Return the names that a module imports from elsewhere, each with its dotted origin."""
    return {
        alias.asname or alias.name: f"{node.module}.{alias.name}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


@cache
def _functions(source: str) -> list[ast.FunctionDef]:
    """Return the functions of a module; a class stands for what it does when it is made."""
    found = []
    for node in ast.parse(source).body:
        if isinstance(node, ast.FunctionDef):
            found.append(node)
        elif isinstance(node, ast.ClassDef):
            for made in node.body:
                if isinstance(made, ast.FunctionDef) and made.name in ("__init__", "__post_init__"):
                    made.name = node.name
                    found.append(made)
    return found


def sentence_findings(path: str, source: str) -> list[str]:
    """Return the public modules, classes and functions that do not say in a sentence what they are."""
    tree, found = ast.parse(source), []
    nodes: list[ast.Module | ast.ClassDef | ast.FunctionDef] = [
        tree,
        *(f for f, _ in public_functions(source)),
    ]
    nodes += [n for n in tree.body if isinstance(n, ast.ClassDef) and not n.name.startswith("_")]
    for node in nodes:
        summary = (ast.get_docstring(node) or "").partition("\n\n")[0]
        is_sentence = re.search(r"\w\s.*[.?:](\s*\[[^\]]+\])?\s*$", summary, re.DOTALL)
        if source.strip() and not is_sentence:
            name, line = getattr(node, "name", "the module"), getattr(node, "lineno", 1)
            found.append(f"{path}:{line}: {name}: no docstring of at least one sentence")
    return found
