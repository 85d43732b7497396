"""Each rule is broken on purpose, in a snippet or a copy of the package, and must notice."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from helpers.rules import constants, docstrings, imports, names, published, sizes, texts, tree

GOOD = '''"""Rates of climb."""

from flyoff.core.typing import Floats
from flyoff.physics.limits import require


def climb_gradient(rate_of_climb_m_s: Floats, true_airspeed_m_s: Floats) -> Floats:
    """Return the gradient of the flight path.

    Parameters
    ----------
    rate_of_climb_m_s
        Rate of climb. [m/s] Any shape.
    true_airspeed_m_s
        True airspeed. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Gradient. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is not above 0.

    References
    ----------
    .. [1] NACA Technical Note 000, eq. 1.
    """
    require("true_airspeed_m_s", true_airspeed_m_s, above=0)
    return rate_of_climb_m_s / true_airspeed_m_s
'''
LIMITS = '''"""Limits."""


def require(name: str, value: float, *, above: float) -> None:
    """Hold a value to its limit."""
    if value <= above:
        raise ValueError(name)
'''


def contract(source: str) -> str:
    module = "flyoff.physics.climb"
    modules = {module: source, "flyoff.physics.limits": LIMITS}
    return "\n".join(docstrings.contract_findings("climb.py", module, modules))


def broken(old: str, new: str, source: str = GOOD) -> str:
    assert old in source, f"nothing to break: {old!r} is not there"
    return source.replace(old, new)


def test_the_unbroken_snippet_passes() -> None:
    assert imports.direction_findings("flyoff.physics.climb", GOOD) == []
    assert names.name_findings("climb.py", GOOD) == []
    assert contract(GOOD) == ""


@pytest.mark.parametrize(
    "statement",
    [
        "from flyoff.physics import airspeed",
        "from flyoff.physics.airspeed import true_airspeed",
        "import flyoff.physics.airspeed as airspeed",
        "from flyoff import physics",
        "import flyoff.physics",
        "def late():\n    from flyoff import physics",
        "class C:\n    def late(self):\n        import flyoff.physics.airspeed",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from flyoff.physics import airspeed",
        "import importlib\nimportlib.import_module('flyoff.physics.airspeed')",
        "from importlib import import_module\nimport_module(name='flyoff.physics')",
        "__import__('flyoff.physics')",
        "try:\n    from flyoff import units, physics\nexcept ImportError:\n    pass",
    ],
)
def test_import_against_the_direction(statement: str) -> None:
    [finding] = imports.direction_findings("flyoff.charts.polar", statement)[-1:]
    assert "charts imports physics" in finding


@pytest.mark.parametrize(
    ("module", "statement", "words"),
    [
        ("flyoff.core.units", "import flyoff", "core imports flyoff"),
        ("flyoff.core.units", "from flyoff import load", "core imports flyoff"),
        ("flyoff.cli", "from flyoff.workbench.app import app", "cli imports workbench"),
        ("flyoff.workbench.app", "from flyoff import cli", "workbench imports cli"),
        ("flyoff.study.run", "from flyoff.physics import wind", "study imports physics"),
        ("flyoff.core.units", "from .typing import Floats", "relative import '.typing'"),
        ("flyoff.core.units", "def f():\n    from . import typing", "relative import '.'"),
        ("flyoff.core.units", "import importlib\nimportlib.import_module(f'flyoff.{name}')", "computed name"),
        ("flyoff.gadgets.thing", "import math", "'gadgets' is not in the table"),
    ],
)
def test_other_imports_that_are_refused(module: str, statement: str, words: str) -> None:
    [finding] = imports.direction_findings(module, statement)
    assert words in finding


def test_import_circle_that_closes_inside_a_function() -> None:
    modules = {
        "flyoff.core.a": "from flyoff.core import b",
        "flyoff.core.b": "from flyoff.core.c import thing",
        "flyoff.core.c": "thing = 1\ndef late():\n    import flyoff.core.a",
        "flyoff.core.d": "from flyoff.core import a",
    }
    [finding] = imports.cycle_findings(modules)
    assert "flyoff.core.a -> flyoff.core.b -> flyoff.core.c -> flyoff.core.a" in finding
    assert imports.cycle_findings({**modules, "flyoff.core.c": "thing = 1"}) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rate_of_climb_m_s: Floats", "rate_of_climb: Floats"),
        ("rate_of_climb_m_s: Floats", "rate_of_climb_fpm: Floats"),
        ("rate_of_climb_m_s: Floats", "*rates: float"),
        ("rate_of_climb_m_s: Floats", "rate_of_climb_deg: 'float | None'"),
    ],
)
def test_name_without_its_unit(old: str, new: str) -> None:
    [finding] = names.name_findings("climb.py", broken(old, new))
    assert "says no SI unit" in finding


def test_field_without_its_unit() -> None:
    source = "class Point:\n    altitude: Floats\n    mass_kg: float\n    label: str\n    _cache: float"
    [finding] = names.name_findings("climb.py", source)
    assert "Point.altitude" in finding


RAISES = "    Raises\n    ------\n    ValueError\n        If a speed is not above 0.\n"
RETURNS = "    Returns\n    -------\n    Floats\n        Gradient. [-] The broadcast shape.\n"
REFERENCE = "    .. [1] NACA Technical Note 000, eq. 1.\n"
GUARD = '    require("true_airspeed_m_s", true_airspeed_m_s, above=0)\n'


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("Rate of climb. [m/s] Any", "Rate of climb. Any", "'rate_of_climb_m_s' has no unit"),
        ("Rate of climb. [m/s] Any", "Rate of climb. [kt] Any", "said to be in [kt]; its name says m/s"),
        ("Gradient. [-] The", "Gradient. The", "1 returned number(s) but 0 unit(s)"),
        ("Gradient. [-] The", "Gradient. [%] The", "[%] under Returns is no SI unit"),
        ("true_airspeed_m_s\n        True", "speed_m_s\n        True", "'true_airspeed_m_s' is not under"),
        (
            "true_airspeed_m_s\n        True",
            "speed_m_s\n        True",
            "'speed_m_s' is under Parameters but is no",
        ),
        (RETURNS, "", "no Returns"),
        (RAISES, "", "no Raises section"),
        (GUARD, "", "nothing in it raises"),
        (REFERENCE, "", "no source under References"),
        ("    References\n    ----------\n" + REFERENCE, "", "no source under References"),
    ],
)
def test_docstring_that_leaves_something_unsaid(old: str, new: str, words: str) -> None:
    assert words in contract(broken(old, new))


def test_docstring_without_shapes() -> None:
    silent = broken(" Any shape.", "", broken(" Broadcasts.", "", broken(" The broadcast shape.", "")))
    assert "no word about shapes" in contract(silent)


def test_raise_of_its_own_without_a_section() -> None:
    own = broken(GUARD, "    raise ValueError\n", broken(RAISES, ""))
    assert "no Raises section" in contract(own)


def test_function_elsewhere_without_a_sentence() -> None:
    found = docstrings.sentence_findings("read.py", '"""Reading of files."""\ndef read_flight(path): ...\n')
    assert found == ["read.py:2: read_flight: no docstring of at least one sentence"]


def test_function_and_file_too_long() -> None:
    body = "\n".join(f"    x = {n}" for n in range(51))
    [long_body] = sizes.size_findings("a.py", f'def f():\n    """Say.\n\n    More.\n    """\n{body}\n')
    assert "the body of f has 51 lines" in long_body
    assert sizes.size_findings("a.py", f"def f():\n{body}\n".replace("    x = 0\n", "")) == []
    [long_file] = sizes.size_findings("a.py", "x = 1\n" * 501)
    assert "501 lines" in long_file


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('G_M_S2 = 9.80665\n"""U.S. Standard Atmosphere, 1976, Table 2."""', "begins with its unit"),
        ('G_M_S2 = 9.80665\n"""[ft/s²] U.S. Standard Atmosphere, 1976, Table 2."""', "disagree"),
        ('G_M_S2 = 9.80665\n"""[m/s²] The pull of the Earth at its surface."""', "no published source"),
        ("G_M_S2 = 9.80665", "begins with its unit"),
    ],
)
def test_constant_without_unit_or_source(text: str, words: str) -> None:
    [finding] = constants.constant_findings("constants.py", text)
    assert words in finding


@pytest.mark.parametrize(
    ("old", "new", "name"),
    [
        ("9.80665", "9.80666", "STANDARD_GRAVITY_M_S2"),
        ("287.05287", "287.05288", "AIR_GAS_CONSTANT_J_KG_K"),
        ("101325.0", "101325.1", "SEA_LEVEL_PRESSURE_PA"),
        ("6356766.0", "6356767.0", "EARTH_RADIUS_M"),
        ("HEAT_CAPACITY_RATIO * AIR", "1.4001 * AIR", "SEA_LEVEL_SOUND_SPEED_M_S"),
    ],
)
def test_constant_changed_in_its_last_digits(old: str, new: str, name: str) -> None:
    values = constants.values_of(broken(old, new, tree.modules()["flyoff.core.constants"]))
    assert any(f.startswith(f"{name}:") for f in constants.digit_findings(values, published.CONSTANTS))


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("docs/a.md", "see /" + "work/notes.md"),
        ("bench/a.py", "open('/" + "home/somebody/log.csv')"),
        ("Makefile", "pip install -i https://py" + "pi.org/simple"),
        ("requirements.lock", "numpy @ http" + "://127.0.0.1/numpy.whl"),
    ],
)
def test_text_that_names_a_machine_or_a_host(path: str, text: str) -> None:
    assert texts.text_findings(path, text)


def run_pytest(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the tests in a copy of the project: what the copy's package does, not the installed one's."""
    environment = {**os.environ, "PYTHONPATH": str(folder / "src")}
    for name in [n for n in environment if n.startswith(("PYTEST_", "COV_"))]:
        del environment[name]
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *arguments]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Copy the package and its validation tests."""
    ignore = shutil.ignore_patterns("__pycache__", "*.pyc")
    for name in ("src", "tests/helpers", "tests/validation"):
        shutil.copytree(tree.ROOT / name, tmp_path / name, ignore=ignore)
    for name in ("pyproject.toml", "tests/conftest.py"):
        shutil.copy(tree.ROOT / name, tmp_path / name)
    return tmp_path


@pytest.mark.parametrize(
    "mark",
    [
        "",
        "@pytest.mark.source()",
        "@pytest.mark.source('nowhere', where='p. 1')",
        "@pytest.mark.source('SFTE')",
    ],
    ids=["no source", "an empty source", "a source that the bibliography lacks", "no place in the source"],
)
def test_validation_check_without_a_source(copy: Path, mark: str) -> None:
    check = copy / "tests" / "validation" / "test_unsourced.py"
    check.write_text(f"import pytest\n\n{mark}\ndef test_sea_level(check):\n    check('1', 1.0)\n")
    done = run_pytest(copy, "--collect-only", str(check))
    assert done.returncode == pytest.ExitCode.USAGE_ERROR
    assert "test_unsourced.py::test_sea_level" in done.stderr
    assert "source" in done.stderr


CONSTANTS = "src/flyoff/core/constants.py"
ATMOSPHERE = "src/flyoff/physics/atmosphere.py"
GEOPOTENTIAL = "troposphere_m = np.minimum(pressure_altitude_m,"
GEOMETRIC = "troposphere_m = np.minimum(6356766 * pressure_altitude_m / (6356766 + pressure_altitude_m),"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "old", "new", "status"),
    [
        pytest.param(CONSTANTS, "287.05287", "287.05287", 0, id="nothing"),
        pytest.param(CONSTANTS, "287.05287", "287.06", 1, id="a constant in its last digits"),
        pytest.param(ATMOSPHERE, GEOPOTENTIAL, GEOMETRIC, 1, id="geometric height taken for geopotential"),
    ],
)
def test_validation_notices_what_changed(copy: Path, file: str, old: str, new: str, status: int) -> None:
    changed = copy / file
    changed.write_text(broken(old, new, changed.read_text("utf-8")), "utf-8")
    done = run_pytest(copy, "-k", "atmosphere", "tests/validation")
    assert done.returncode == status, done.stdout
    assert (" failed" in done.stdout) == bool(status)
