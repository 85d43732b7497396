"""Which folder may import which, and no circles."""

import ast
from collections.abc import Iterator, Mapping

TOP = "flyoff"

BELOW_STUDY = (
    "core",
    "dossier",
    "flights",
    "draft",
    "reduction",
    "model",
    "comparison",
    "planning",
    "charts",
    "report",
)

MAY_IMPORT: Mapping[str, tuple[str, ...]] = {
    "core": (),
    "physics": ("core",),
    "dossier": ("core",),
    "flights": ("core",),
    "draft": ("core", "physics"),
    "reduction": ("core", "physics", "dossier", "flights"),
    "model": ("core", "physics", "dossier", "reduction"),
    "comparison": ("core", "physics", "dossier", "model"),
    "planning": ("core", "physics", "dossier", "model"),
    "charts": ("core", "comparison", "model", "reduction"),
    "report": ("core", "comparison", "charts", "draft", "planning"),
    "study": BELOW_STUDY,
    "demo": ("core", "physics", "dossier"),
    "cli": ("core", "study", "demo"),
    "workbench": ("core", "study"),
    "__main__": ("cli",),
    TOP: ("core", "study"),
}
"""Besides itself. The package's own front door counts as the folder `flyoff`; no folder comes in by it."""

Import = tuple[int, str]
"""A line, and the dotted name that it imports."""


def folder_of(module: str) -> str:
    """Return the folder (or top-level file) that a dotted name lies in."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else TOP


def imports_of(source: str) -> Iterator[Import]:
    """Yield every import of ours in a file, however it is spelled and wherever it stands."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            if node.level:
                yield node.lineno, base
            else:
                yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)
        elif isinstance(node, ast.Call):
            yield from _called_import(node)


def _called_import(call: ast.Call) -> Iterator[Import]:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if name not in ("import_module", "__import__"):
        return
    named = [word.value for word in call.keywords if word.arg == "name"]
    argument = (call.args or named or [None])[0]
    written = isinstance(argument, ast.Constant) and isinstance(argument.value, str)
    yield call.lineno, argument.value if written else "?"


def _resolved(name: str, modules: Mapping[str, str]) -> str:
    """Return the module that a dotted name leads to: `from a.b import c` may name something in a module."""
    while name not in modules and "." in name:
        name = name.rpartition(".")[0]
    return name


def direction_findings(module: str, source: str) -> list[str]:
    """Return the imports of one file that go against the table."""
    folder, found = folder_of(module), []
    if folder not in MAY_IMPORT:
        return [f"{module}:1: folder '{folder}' is not in the table of import directions; add it there"]
    allowed = (folder, *MAY_IMPORT[folder])
    may = ", ".join(allowed[1:]) or "none of ours"
    for line, name in imports_of(source):
        place = f"{module}:{line}"
        if name.startswith("."):
            found.append(f"{place}: relative import '{name}'; write it absolute, from {TOP}")
        elif name == "?":
            found.append(f"{place}: import of a computed name, which no rule can follow; write the name out")
        elif name == TOP or name.startswith(f"{TOP}."):
            target = folder_of(name)
            if target not in MAY_IMPORT:  # a name of the front door: `from flyoff import load`
                target = TOP
            if target not in allowed:
                found.append(f"{place}: {folder} imports {target}; it may import {may}")
    return sorted(set(found))


def cycle_findings(modules: Mapping[str, str]) -> list[str]:
    """Return the circles among modules (dotted name to source), imports inside functions included."""
    edges = {
        module: {_resolved(name, modules) for _, name in imports_of(source)} & set(modules) - {TOP}
        for module, source in modules.items()
    }
    found = []
    for module in sorted(edges):
        path = _way_back(module, edges)
        if path and module == min(path):
            found.append(f"{module}: import circle {' -> '.join((*path, module))}")
    return found


def _way_back(start: str, edges: Mapping[str, set[str]]) -> list[str]:
    """Return the shortest path from a module back to itself, or nothing."""
    paths, seen = [[start]], set()
    for path in paths:
        for following in sorted(edges[path[-1]]):
            if following == start:
                return path
            if following not in seen:
                seen.add(following)
                paths.append([*path, following])
    return []
