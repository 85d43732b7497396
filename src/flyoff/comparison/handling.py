"""What pilots say: ratings of tasks, plain remarks, sound levels read; and speeds as multiples of stall.

A rating tells of one airplane in one task by one pilot. No airplane is ranked by ratings.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.core.figure import Figure, Input, slug
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Speeds

_MULTIPLE = Method(
    "one listed speed over another, both of the same kind; indicated ones calibrated by the airspeed table",
    "14 CFR 23.73 (2016) for the approach (from memory); else common practice, no source",
)
MULTIPLES = (
    ("approach_to_stall", "Approach speed over stall, landing flaps", "approach", "stall_landing"),
    ("rotation_to_stall", "Rotation speed over stall, takeoff flaps", "rotation", "stall_takeoff"),
    ("best_angle_to_stall", "Best angle of climb over stall, clean", "best_angle", "stall_clean"),
    ("best_glide_to_stall", "Best glide over stall, clean", "best_glide", "stall_clean"),
)


@dataclass(frozen=True)
class Rating:
    """A pilot's rating of one task, with the scale's words for it and where it is written."""

    aircraft: str
    flight: str
    task: str
    rating: int
    meaning: str
    improvement: str
    pilot: str
    flown_in: str
    performance: str
    text: str
    place: Place
    source: str

    @property
    def key(self) -> str:
        """The key of its figure."""
        return f"handling.{slug(self.task)}.{slug(self.flight)}.{slug(self.pilot)}"


@dataclass(frozen=True)
class Remark:
    """What somebody says of one side of an airplane."""

    aircraft: str
    flight: str
    about: str
    text: str
    who: str


@dataclass(frozen=True)
class NoiseRun:
    """Sound levels read in one condition: the number and words of the condition, and the meter's doubt."""

    aircraft: str
    flight: str
    number: str
    condition: str
    place: str
    levels: tuple[Quantity, ...]
    meter_u95: Quantity | None


@dataclass(frozen=True)
class Noted:
    """All that was said and heard on a study's flights."""

    ratings: tuple[Rating, ...] = ()
    remarks: tuple[Remark, ...] = ()
    noise: tuple[NoiseRun, ...] = ()


def rating_figures(case: Case, ratings: Iterable[Rating]) -> list[Figure]:
    """Return each rating of an airplane as a figure, exact as given."""
    return [
        case.figure(
            rating.key,
            f"Handling: {rating.task}",
            ("", "count"),
            case.draws.exact(float(rating.rating)),
            Method(f"as rated: {rating.meaning}", rating.source),
            (Input(f"rating by {rating.pilot}", str(rating.rating), rating.place),),
            basis="declared",
        )
        for rating in ratings
        if rating.aircraft == case.key
    ]


def multiple_figures(case: Case) -> list[Figure]:
    """Return the listed speeds as multiples of the stall speed of their configuration."""
    return [_multiple(case, *row) for row in MULTIPLES]


def _multiple(case: Case, key: str, label: str, speed: str, stall: str) -> Figure:
    speeds = case.airplane.speeds
    written = [(name.replace("_", " "), getattr(speeds, name)) for name in (speed, stall)]
    lacking = [name for name, quantity in written if quantity is None]
    given = tuple(Input(name, str(q), q.place, q.source) for name, q in written if q is not None)
    sample, remark = None, ""
    if not lacking:
        both = [_calibrated(case, quantity) for _, quantity in written]
        if all(adds is not None for _, adds in both):
            (over, adds), (under, adds_under) = both
            assert adds is not None
            assert adds_under is not None
            sample = (over + adds) / (under + adds_under)
        else:
            sample = both[0][0] / both[1][0]
            remark = "of indicated speeds, which no airspeed table calibrates: the true multiple may differ"
    return case.figure(
        key,
        label,
        ("", "count"),
        sample,
        _MULTIPLE,
        given,
        missing=f"the dossier lists no {' or '.join(lacking)} speed" if lacking else "",
        remarks=(remark,) if remark else (),
    )


def _calibrated(case: Case, quantity: Quantity) -> tuple[Array, float | None]:
    """Return a listed speed as a sample, and what calibrates it; None where nothing does."""
    sample = case.sample(quantity)
    speeds: Speeds = case.airplane.speeds
    if speeds.kind == "calibrated":
        return sample, 0.0
    table = case.dossier.tables.get("airspeed")
    if table is None or table.axis_names != ("indicated airspeed",):
        return sample, None
    read = float(np.ravel(table.read("calibrated airspeed", indicated_airspeed=quantity.si))[0])
    return sample, None if np.isnan(read) else read - quantity.si
