"""The plain study with runway tables, and runways to ask it about."""

from pathlib import Path

from flyoff.comparison.case import Case
from flyoff.core.draws import Draws
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of
from helpers.study_files import AIRCRAFT, write_study

TAKEOFF = """pressure altitude [ft],temperature [°C],ground roll [ft],total distance [ft]
0,0,800,1500
0,20,900,1690
0,40,1010,1900
2000,0,950,1800
2000,20,1080,2040
2000,40,1220,2310
4000,0,1140,2180
4000,20,1290,2480
4000,40,1470,2830
"""
LANDING = """pressure altitude [ft],ground roll [ft],total distance [ft]
0,500,1200
4000,560,1290
"""
SPEEDS = """[speeds]
kind = "calibrated"
stall_clean = "60 kt"
stall_takeoff = "55 kt"
stall_landing = "50 kt"
rotation = "60 kt"
approach = "65 kt"
"""
TABLES = """[[tables]]
kind = "takeoff"
file = "plain/takeoff.csv"
axes = ["pressure altitude", "temperature"]
weight = "1,100 kg"
[[tables]]
kind = "landing"
file = "plain/landing.csv"
axes = ["pressure altitude"]
weight = "1,100 kg"
"""
_MARK = "[allowances]\n"


def with_runways(
    folder: Path, runways: str = "", *, tables: str = TABLES, **changes: tuple[str, str]
) -> Path:
    """Write the plain study with runway tables, speeds, and the runways of `runways` in its study file."""
    write_study(folder, **changes)
    aircraft = folder / "aircraft" / "plain.toml"
    text = aircraft.read_text("utf-8").replace(_MARK, f"{SPEEDS}{_MARK}", 1) + tables
    aircraft.write_text(text, "utf-8")
    (folder / "aircraft/plain/takeoff.csv").write_text(TAKEOFF, "utf-8")
    (folder / "aircraft/plain/landing.csv").write_text(LANDING, "utf-8")
    study = folder / "study.toml"
    study.write_text(study.read_text("utf-8") + runways, "utf-8")
    return folder


def case_in(folder: Path, draws: Draws) -> Case:
    """Return the plain airplane's case, without flights."""
    read = read_folder(folder)
    return case_of(read, read.dossiers[0], draws, {})


assert _MARK in AIRCRAFT
