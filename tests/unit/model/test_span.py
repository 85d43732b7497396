"""How far beyond the evidence something lies, and a fit to a handbook of one altitude."""

import numpy as np

from flyoff.core.draws import Draws
from flyoff.core.units import ft
from flyoff.model.fit import fit_handbook
from flyoff.model.span import Span
from helpers.airplanes import edited


def test_in_lengths_of_what_was_seen():
    span = Span.of([2.0, 4.0], 1.0, unseen=9.0)
    assert span.beyond(np.array([1.0, 2.0, 3.0, 4.0, 6.0])).tolist() == [0.5, 0.0, 0.0, 0.0, 1.0]
    assert Span.of([3.0], 2.0, unseen=9.0).beyond(4.0) == 0.5
    assert Span.of([], 1.0, unseen=9.0).beyond(18.0) == 1.0


def test_evidence_at_one_altitude_doubts_another_more_and_not_without_bound():
    """One altitude is no length to count in: a hundredfold doubt would leave no answer at all."""

    def at_sea_level(text):
        head, *rows = text.split("\n")
        return "\n".join([head, *(row for row in rows if row.startswith("0,0,"))]) + "\n"

    fit = fit_handbook(
        edited("kattun", "cruise.csv", at_sea_level), fuel_density_kg_m3=720.0, draws=Draws(200)
    )
    near, far = (fit.cruise(0.65, h * ft, 0.0, 1360.0).fuel_flow for h in (0, 8000))
    u_near, u_far = (float(np.std(v.draws)) / v.si for v in (near, far))
    assert u_near < u_far < 3 * u_near
