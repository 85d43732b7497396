"""All that a study knows of one airplane: its handbook, and models fitted to its flights."""

from collections.abc import Iterator, Mapping

from flyoff.comparison.case import Case
from flyoff.comparison.evidence import READINGS, Evidence, Evidences, Kind, Silent
from flyoff.core.draws import Draws
from flyoff.core.problems import Problems
from flyoff.dossier.read import Dossier
from flyoff.model.checks import handbook_faults
from flyoff.model.diagnostics import confusions, drag_doubt, unlikely
from flyoff.model.fit import Fit, fit_airplane
from flyoff.model.handbook import Handbook
from flyoff.reduction.run import Reduction

_WORTH_FLYING = 0.8
"""A flight that leaves less than this share of what is open is worth naming; common practice, no source."""


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
    kinds: tuple[Kind, ...] = ("measured", "fitted")
    fits = {kind: _fitted(dossier, flights, fuel_density_kg_m3, draws, kind == "fitted") for kind in kinds}
    remarks = [remark for kind, fit in fits.items() if isinstance(fit, Fit) for remark in _said(kind, fit)]
    measured, fitted = fits.values()
    return Evidences(handbook, measured, fitted, tuple(flights), tuple(dict.fromkeys(remarks)))


def evidence_findings(case: Case) -> tuple[str, ...]:
    """Return what of an airplane's evidence cannot be, and why its own flights gave no model."""
    faults = handbook_faults(case.dossier, case.fuel.density.si)
    demanded = {"measured": case.evidences.measured, "fitted": case.evidences.fitted}.get(case.kind)
    if not faults and case.evidences.flights and isinstance(demanded, Silent):
        return (f"{case.dossier.document.name}: {demanded.reason}",)
    return faults


def _fitted(
    dossier: Dossier,
    flights: Mapping[str, Reduction],
    fuel_density_kg_m3: float,
    draws: Draws,
    use_handbook: bool,
) -> Evidence:
    """Return a fit, or why there is none, in its own words."""
    try:
        fit = fit_airplane(
            dossier,
            tuple(flights.values()),
            fuel_density_kg_m3=fuel_density_kg_m3,
            use_handbook=use_handbook,
            draws=draws,
        )
    except Problems as problems:
        said = "; ".join(
            f"{f'{p.place}: ' if p.place.line else ''}{p.found} ({p.expected})" for p in problems.problems[:2]
        )
        return Silent(f"cannot be fitted: {said}")
    if not any(o.evidence == "flight" for o in fit.observations):
        return Silent("nothing that was flown tells of drag or power")
    return fit


def _said(kind: Kind, fit: Fit) -> Iterator[str]:
    """Yield what a fit left out, what is odd in it, and what one more flight would tell."""
    yield from fit.remarks
    name = READINGS[kind].name
    for point in fit.bad_points:
        yield f"{name}: {point}"
    for words in unlikely(fit):
        yield f"{name}: {words}"
    open_ = [c for c in confusions(fit) if c.after_ratio < _WORTH_FLYING * c.left_ratio]
    if open_:
        yield f"{name}: {min(open_, key=lambda c: c.after_ratio / c.left_ratio)}"
    yield f"{name}: {drag_doubt(fit)}"
