"""Small files, small functions."""

import ast

FILE_LINES = 500
BODY_LINES = 50


def size_findings(path: str, source: str) -> list[str]:
    """Return the file if it is too long, and its functions whose bodies are."""
    found = []
    lines = len(source.splitlines())
    if lines > FILE_LINES:
        found.append(f"{path}:1: {lines} lines; no file above {FILE_LINES}: split it by subject")
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = body_lines(node)
            if length > BODY_LINES:
                place = f"{path}:{node.lineno}"
                found.append(f"{place}: the body of {node.name} has {length} lines; none above {BODY_LINES}")
    return found


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return how many lines a function's body has, its docstring left out."""
    first = function.body[0]
    start = (first.end_lineno or 0) + 1 if ast.get_docstring(function) is not None else first.lineno
    return (function.end_lineno or 0) - start + 1
