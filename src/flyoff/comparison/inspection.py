"""What is asked of an airplane besides its trips: runways, climb, glide, cabin, and what pilots say."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from flyoff.comparison.cabin import CabinMeasures, NoiseCell, cabin_figures, noise_figures
from flyoff.comparison.case import Case
from flyoff.comparison.climb_out import performance_figures
from flyoff.comparison.handling import Noted, Rating, Remark, multiple_figures, rating_figures
from flyoff.comparison.runway import Field, RunwayUse, runway_figures
from flyoff.comparison.runway_terms import RunwayMargin
from flyoff.core.figure import Figure


@dataclass(frozen=True)
class Inspected:
    """What a study asks for: its runways with their margin, and what was noted on its flights."""

    fields: tuple[Field, ...] = ()
    margin: RunwayMargin = field(default_factory=RunwayMargin)
    noted: Noted = field(default_factory=Noted)


@dataclass(frozen=True)
class Inspection:
    """The answers for one airplane; figures by key."""

    aircraft: str
    uses: tuple[RunwayUse, ...]
    cabin: CabinMeasures
    noise: tuple[NoiseCell, ...]
    ratings: tuple[Rating, ...]
    remarks: tuple[Remark, ...]


def inspect(case: Case, asked: Inspected) -> tuple[Sequence[Figure], Inspection]:
    """Return an airplane's figures of runways, climb, cabin and handling, and what stands beside them."""
    runway, uses = runway_figures(case, asked.fields, asked.margin)
    measured, cabin = cabin_figures(case)
    by_dossier = next(figure for figure in measured if figure.key == f"{case.key}.cabin_noise")
    runs = [run for run in asked.noted.noise if run.aircraft == case.key]
    heard, noise = noise_figures(case, runs, by_dossier)
    ratings = tuple(r for r in asked.noted.ratings if r.aircraft == case.key)
    said = tuple(r for r in asked.noted.remarks if r.aircraft == case.key)
    figures = (
        *runway,
        *performance_figures(case),
        *multiple_figures(case),
        *measured,
        *heard,
        *rating_figures(case, ratings),
    )
    return figures, Inspection(case.key, tuple(uses), cabin, tuple(noise), ratings, said)
