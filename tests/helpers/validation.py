"""Pytest plugin: no published number without its source, and a report of all of them.

A test in ``tests/validation`` carries ``@pytest.mark.source("key", where="Table I")``
with a key of ``tests/validation/sources.toml``; collection fails otherwise. It
compares through the ``check`` fixture. ``--validation-report PATH`` writes what,
source, printed, computed and difference of every comparison.
"""

import math
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from helpers.printed import Comparison, Printed, Record

FOLDER = Path(__file__).parents[1] / "validation"
STATUSES = ("opened", "opened 2nd-hand", "opened chart", "from memory", "library")
_KEY = pytest.StashKey[list[tuple[str, str, str, Comparison]]]()


class Bibliography:
    """The sources of published numbers, by key."""

    def __init__(self, path: Path) -> None:
        self.entries = tomllib.loads(path.read_text("utf-8"))
        for key, entry in self.entries.items():
            missing = {"title", "author", "year", "status", "note"} - entry.keys()
            if missing:
                raise pytest.UsageError(f"{path.name}: {key} lacks {', '.join(sorted(missing))}")
            if entry["status"] not in STATUSES:
                raise pytest.UsageError(f"{path.name}: {key}: status must be one of {', '.join(STATUSES)}")

    def cite(self, key: str, where: str, status: str) -> str:
        """Return a source in one line, with how it was read."""
        entry = self.entries[key]
        return f"{entry['author']}, {entry['title']} ({entry['year']}), {where} [{status or entry['status']}]"


def source_of(item: pytest.Item) -> tuple[str, str, str] | str:
    """Return key, place and status of a test's source, or what is wrong with it."""
    mark = item.get_closest_marker("source")
    if mark is None:
        return "has no @pytest.mark.source(key, where=...)"
    if len(mark.args) != 1 or not str(mark.kwargs.get("where", "")).strip():
        return "needs one key and where= in its source mark"
    status = mark.kwargs.get("status", "")
    if status and status not in STATUSES:
        return f"has status '{status}', not one of {', '.join(STATUSES)}"
    if set(mark.kwargs) - {"where", "status"}:
        return "has more in its source mark than key, where and status"
    return str(mark.args[0]), str(mark.kwargs["where"]), str(status)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that asks for the report."""
    parser.addoption("--validation-report", metavar="PATH", help="write the validation report to PATH")


def pytest_configure(config: pytest.Config) -> None:
    """Start with no comparisons."""
    config.stash[_KEY] = []


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Refuse validation checks without a source in the bibliography."""
    checks = [item for item in items if FOLDER in item.path.parents]
    if not checks:
        return
    known = Bibliography(FOLDER / "sources.toml").entries
    faults = []
    for item in checks:
        found = source_of(item)
        if isinstance(found, str):
            faults.append(f"{item.nodeid} {found}")
        elif found[0] not in known:
            faults.append(f"{item.nodeid} cites '{found[0]}', which is not in sources.toml")
        elif "check" not in getattr(item, "fixturenames", ()):
            faults.append(f"{item.nodeid} compares nothing with a printed number: use the check fixture")
    if faults:
        raise pytest.UsageError("validation checks must cite their source:\n" + "\n".join(faults))


@pytest.fixture
def check(request: pytest.FixtureRequest) -> Iterator[Callable[..., None]]:
    """Compare a computed number with a printed one: ``check("what", computed, Printed("1.2250"))``."""
    record = Record()

    def compare(what: str, computed: float, printed: Printed) -> None:
        comparison = printed.compare(computed, what)
        record.comparisons.append(comparison)
        assert comparison.holds, (
            f"{what}: printed {printed.text} {printed.unit}, computed {comparison.computed:.9g}, "
            f"difference {comparison.difference:.3g}, tolerance {printed.tolerance:.3g}"
        )

    yield compare
    assert record.comparisons, "the check compared nothing with a printed number"
    found = source_of(request.node)
    if FOLDER in request.node.path.parents and not isinstance(found, str):
        subject = request.node.path.stem.removeprefix("test_")
        cite = Bibliography(FOLDER / "sources.toml").cite(*found)
        request.config.stash[_KEY] += [
            (subject, cite, request.node.nodeid, comparison) for comparison in record.comparisons
        ]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write the report where one was asked for and all checks were run."""
    target = session.config.getoption("--validation-report")
    if target:
        path = Path(target)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(report(session.config.stash[_KEY]), "utf-8")


def _digits(number: float, tolerance: float) -> str:
    """Return a number to a hundredth of its tolerance: beyond it, machines differ."""
    decimals = max(2 - math.floor(math.log10(tolerance)), 0)
    text = f"{number:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text


def report(rows: list[tuple[str, str, str, Comparison]]) -> str:
    """Return the validation report in Markdown: sorted, so that equal checks give equal bytes."""
    held = sum(row[3].holds for row in rows)
    lines = [
        "# Validation report",
        "",
        f"{len(rows)} comparisons with published numbers, {held} within tolerance. The tolerance is",
        "half of the last printed digit unless a reason is given. `make docs` writes this page.",
    ]
    for subject in sorted({row[0] for row in rows}):
        lines += ["", f"## {subject.replace('_', ' ').capitalize()}", ""]
        lines += [
            "| what | source | printed | computed | difference | tolerance |",
            "|---|---|---|---|---|---|",
        ]
        ordered = sorted((r for r in rows if r[0] == subject), key=lambda r: (r[1], r[2], r[3].what))
        for _, cite, _, c in ordered:
            number, gap = _digits(c.computed, c.tolerance), _digits(c.difference, c.tolerance)
            tolerance = f"{c.tolerance:.2g}" + (f": {c.reason}" if c.reason else "")
            printed = f"{c.printed} {c.unit}".strip()
            cells = (c.what, cite, printed, number, gap, tolerance)
            lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines) + "\n"
