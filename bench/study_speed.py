"""The whole comparison of the demo, against the random numbers alone that it draws."""

from pathlib import Path

import numpy as np
from run import Ratio, best_of

from flyoff.comparison.compare import compare
from flyoff.core.draws import Draws
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of

DEMO = Path(__file__).resolve().parents[1] / "src/flyoff/demo/files"


def measure() -> list[Ratio]:
    folder = read_folder(DEMO)
    record = folder.record
    draws = Draws(10_000)

    def run() -> object:
        cases = [case_of(folder, dossier, draws) for dossier in folder.dossiers]
        return compare((record.title, "", ""), record.terms, record.money, folder.trips, cases, {})

    generator = np.random.default_rng(1)
    alone = best_of(lambda: [generator.standard_normal(10_000) for _ in range(200)])
    return [Ratio("comparison of four airplanes, 10,000 draws", best_of(run), "200 streams of draws", alone)]
