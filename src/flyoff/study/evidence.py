"""All that a study knows of one airplane: its handbook, and models fitted to its flights."""

from collections.abc import Iterator, Mapping

from flyoff.comparison.evidence import Evidence, Evidences, Silent
from flyoff.core.draws import Draws
from flyoff.core.problems import Problems
from flyoff.dossier.read import Dossier
from flyoff.model.diagnostics import confusions, unlikely
from flyoff.model.fit import Fit, fit_airplane
from flyoff.model.handbook import Handbook
from flyoff.reduction.run import Reduction


def evidences_of(
    dossier: Dossier, flights: Mapping[str, Reduction], fuel_density_kg_m3: float, draws: Draws
) -> Evidences:
    """Return each kind of evidence of an airplane; `flights` are its own, by name.

    Every fit draws from the study's streams, so that what two of an
    airplane's figures share stays shared.
    """
    handbook = Handbook(dossier, fuel_density_kg_m3, draws)
    if not flights:
        return Evidences(handbook)
    measured, fitted = (
        _fitted(dossier, flights, fuel_density_kg_m3, draws, use_handbook) for use_handbook in (False, True)
    )
    remarks = tuple(
        dict.fromkeys(
            remark
            for evidence in (measured, fitted)
            if isinstance(evidence, Fit)
            for remark in _said(evidence)
        )
    )
    return Evidences(handbook, measured, fitted, tuple(flights), remarks)


def _fitted(
    dossier: Dossier,
    flights: Mapping[str, Reduction],
    fuel_density_kg_m3: float,
    draws: Draws,
    use_handbook: bool,
) -> Evidence:
    """Return a fit, or why there is none, in its own words."""
    try:
        return fit_airplane(
            dossier,
            tuple(flights.values()),
            fuel_density_kg_m3=fuel_density_kg_m3,
            use_handbook=use_handbook,
            draws=draws,
        )
    except Problems as problems:
        said = "; ".join(f"{p.found} ({p.expected})" for p in problems.problems[:2])
        return Silent(f"cannot be fitted: {said}")


def _said(fit: Fit) -> Iterator[str]:
    """Yield what a reader should know of a fit."""
    yield from fit.remarks
    yield from (str(point) for point in fit.bad_points)
    yield from unlikely(fit)
    yield from (str(confusion) for confusion in confusions(fit)[:1])
