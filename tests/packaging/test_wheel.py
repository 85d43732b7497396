"""The wheel: what it carries, and that the demonstration runs from it, away from the repository."""

import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "flyoff"


def run(*command: str | Path, cwd: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "PYTHONHOME")}
    done = subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env={**environment, **variables},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        check=False,
    )
    assert done.returncode == 0, f"{' '.join(map(str, command))}\n{done.stdout}{done.stderr}"
    return done


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder, cwd=ROOT)
    [built] = folder.glob("*.whl")
    return built


def test_carries_the_package_and_nothing_else(wheel: Path) -> None:
    names = [name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name]
    files = [path for path in PACKAGE.rglob("*") if path.is_file() and "__pycache__" not in path.parts]
    assert sorted(names) == sorted(str(path.relative_to(PACKAGE.parent)) for path in files)


def test_demo_runs_from_the_wheel(wheel: Path, tmp_path: Path) -> None:
    environment, away = tmp_path / "environment", tmp_path / "away"
    away.mkdir()
    run(sys.executable, "-m", "venv", "--without-pip", environment, cwd=tmp_path)
    python = environment / "bin" / "python"
    # The dependencies come from where the tests run. The package itself does not: its editable install
    # there is a .pth file, which a folder on PYTHONPATH does not read.
    dependencies = sysconfig.get_path("purelib")
    pip = (sys.executable, "-m", "pip", "--python", python, "install", "--no-deps", "--no-index", "-q")
    run(*pip, wheel, cwd=away)
    where = run(
        python, "-c", "import flyoff; print(flyoff.__file__)", cwd=away, PYTHONPATH=dependencies
    ).stdout
    assert Path(where.strip()).is_relative_to(environment)
    folder = away / "demo-study"
    run(environment / "bin" / "flyoff", "demo", folder, cwd=away, PYTHONPATH=dependencies)
    assert (folder / "out" / "report.html").stat().st_size > 1000
