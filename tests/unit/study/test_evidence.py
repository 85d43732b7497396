"""Evidence that cannot be is named by the command that builds, and tells on its exit status."""

from dataclasses import replace

import pytest

from flyoff.cli import main
from flyoff.comparison.evidence import Silent
from flyoff.core.draws import Draws
from flyoff.study.evidence import evidence_findings
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of
from helpers.airplanes import FOLDER
from helpers.study_files import write_study

_SWAPPED = ("true airspeed [kt],fuel flow [L/h]", "fuel flow [L/h],true airspeed [kt]")


def test_columns_exchanged_are_named_and_the_report_written(tmp_path, capsys):
    folder = write_study(tmp_path, cruise=_SWAPPED)
    assert main(["build", str(folder)]) == 1
    said = capsys.readouterr().err
    assert "aircraft/plain/cruise.csv:3: fuel flow: 120 L/h at 65 %" in said
    assert "are two columns exchanged" in said
    assert (folder / "out/report.html").exists()


@pytest.mark.parametrize(
    ("kind", "flights", "said"),
    [
        ("fitted", ("a",), ("aircraft/kattun.toml: cannot be fitted: too few",)),
        ("measured", ("a",), ()),
        ("handbook", ("a",), ()),
        ("fitted", (), ()),
    ],
)
def test_a_flight_that_gives_no_model_is_a_finding_where_the_terms_demand_it(kind, flights, said):
    folder = read_folder(FOLDER)
    case = case_of(folder, folder.dossiers[1], Draws(50), {})
    evidences = replace(case.evidences, fitted=Silent("cannot be fitted: too few"), flights=flights)
    if kind == "measured":
        evidences = replace(evidences, measured=case.evidences.handbook)
    assert evidence_findings(replace(case, evidences=evidences, kind=kind)) == said
