"""The whole comparison of five airplanes, against the random numbers alone that it draws."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from run import Ratio, best_of

from flyoff.comparison.case import Case
from flyoff.comparison.compare import compare
from flyoff.comparison.inspection import Inspected
from flyoff.comparison.verdict import answered
from flyoff.core.draws import Draws
from flyoff.model.fit import fit_handbook
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of

DEMO = Path(__file__).resolve().parents[1] / "src/flyoff/demo/files"
DRAWS = Draws(10_000)


def fitted(case: Case) -> Case:
    """Return a case whose evidence is fitted anew, as if all of it had been flown."""
    fit = fit_handbook(case.dossier, fuel_density_kg_m3=case.fuel.density.si, draws=DRAWS)
    return replace(
        case, kind="fitted", evidences=replace(case.evidences, measured=fit, fitted=fit, flights=("day",))
    )


def measure() -> list[Ratio]:
    folder = read_folder(DEMO)
    record = folder.record
    five = (*folder.dossiers, replace(folder.dossiers[1], key="fifth"))

    def cases() -> list[Case]:
        return [case_of(folder, dossier, DRAWS, {}) for dossier in five]

    def run(compared: list[Case]) -> object:
        whole = compare(("", "", ""), record.terms, record.money, folder.trips, compared, {}, Inspected())
        return answered(whole, compared, folder.trips, record.questions)

    generator = np.random.default_rng(1)
    alone = best_of(lambda: [generator.standard_normal(10_000) for _ in range(200)])
    return [
        Ratio(what, best_of(compared), "200 streams of draws", alone)
        for what, compared in (
            ("five airplanes, 10,000 draws", lambda: run(cases())),
            ("five airplanes, all flown: fits, headlines, comparison", lambda: run([*map(fitted, cases())])),
        )
    ]
