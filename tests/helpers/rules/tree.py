"""The project's own files, as the rules see them."""

from functools import cache
from pathlib import Path

from helpers.rules.texts import tracked_files

ROOT = Path(__file__).resolve().parents[3]


@cache
def modules() -> dict[str, str]:
    """Return the package's modules: dotted name to source."""
    found = {}
    for path in sorted((ROOT / "src" / "flyoff").rglob("*.py")):
        parts = path.relative_to(ROOT / "src").with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path.read_text("utf-8")
    return found


@cache
def texts() -> dict[str, str]:
    """Return the repository's text files: path from the root to text."""
    return {str(path.relative_to(ROOT)): path.read_text("utf-8") for path in tracked_files(ROOT)}


def python_files() -> dict[str, str]:
    """Return the repository's Python files: path from the root to text."""
    return {path: text for path, text in texts().items() if path.endswith(".py")}


def file_of(module: str) -> str:
    """Return the path from the root of a module's file."""
    path = Path("src", *module.split("."))
    return str(path / "__init__.py" if (ROOT / path).is_dir() else path.with_suffix(".py"))
