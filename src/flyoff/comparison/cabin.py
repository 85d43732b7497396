"""What a ruler and a sound level meter say: the cabin and its doors, and how loud it is."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.handling import NoiseRun
from flyoff.core.figure import Figure, Input, difference, slug
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Door
from flyoff.physics.sound import mean_level

CENTIMETRES = ("cm", "length")
LEVEL = ("dB(A)", "sound_level")
_AS_WRITTEN = Method("as the dossier has it")
_ENERGY = Method(
    "level of the mean energy of the readings; their scatter over the square root of their number, and the"
    " meter's own error, are its doubt",
    "ISO 1996-1:2016, 3.6 (from memory); JCGM 100:2008, 4.2",
)
_MEASURES = (
    ("width", "Cabin width", CENTIMETRES),
    ("height", "Cabin height", CENTIMETRES),
    ("length", "Cabin length", CENTIMETRES),
    ("baggage_volume", "Baggage room", ("L", "volume")),
    ("noise", "Cabin noise, by the dossier", LEVEL),
)


@dataclass(frozen=True)
class DoorMeasures:
    """A door as measured; `sill_m` is None where it was not."""

    name: str
    width_m: float
    height_m: float
    sill_m: float | None


@dataclass(frozen=True)
class CabinMeasures:
    """A cabin's cross-section and its doors; None where not measured."""

    aircraft: str
    width_m: float | None
    height_m: float | None
    doors: tuple[DoorMeasures, ...]


@dataclass(frozen=True)
class NoiseCell:
    """The sound level of one flown condition, and less the dossier's; figures by key."""

    aircraft: str
    condition: str
    place: str
    level: str
    difference: str


def cabin_figures(case: Case) -> tuple[list[Figure], CabinMeasures]:
    """Return what the dossier says of the cabin and its doors, and their measures to draw."""
    cabin = case.airplane.cabin
    figures = []
    for name, label, unit in _MEASURES:
        key = name if name.startswith("baggage") else f"cabin_{name}"
        figures.append(_written(case, key, label, unit, getattr(cabin, name)))
    doors = []
    for door in cabin.doors:
        figures += _door_figures(case, door)
        sill = door.sill.si if door.sill else None
        doors.append(DoorMeasures(door.name, door.width.si, door.height.si, sill))
    width_m, height_m = (q.si if q else None for q in (cabin.width, cabin.height))
    return figures, CabinMeasures(case.key, width_m, height_m, tuple(doors))


def _door_figures(case: Case, door: Door) -> Iterable[Figure]:
    for name, quantity in (("width", door.width), ("height", door.height), ("sill", door.sill)):
        if quantity is not None:
            label = f"Door {door.name}: {'sill above the ground' if name == 'sill' else name}"
            yield _written(case, f"door.{slug(door.name)}.{name}", label, CENTIMETRES, quantity)


def _written(case: Case, key: str, label: str, unit: tuple[str, str], quantity: Quantity | None) -> Figure:
    if quantity is None:
        return case.figure(key, label, unit, None, _AS_WRITTEN, (), missing="the dossier does not give it")
    given = Input(label.lower(), str(quantity), quantity.place, quantity.source)
    return case.figure(key, label, unit, case.sample(quantity), _AS_WRITTEN, (given,))


def noise_figures(
    case: Case, runs: Iterable[NoiseRun], dossier: Figure
) -> tuple[list[Figure], list[NoiseCell]]:
    """Return the level of each condition that was listened to, and less that of the dossier."""
    figures: list[Figure] = []
    cells = []
    for run in runs:
        key = f"flown.{run.flight}.{run.number}.cabin_noise"
        label = f"Cabin noise, {run.condition}"
        level = case.figure(
            key, label, LEVEL, _level(case, run), _ENERGY, tuple(_readings(run)), basis="measured"
        )
        apart = difference(f"{case.key}.{key}_difference", f"{label}, less the dossier's", level, dossier)
        figures += [level, apart]
        cells.append(NoiseCell(case.key, run.condition, run.place, level.key, apart.key))
    return figures, cells


def _level(case: Case, run: NoiseRun) -> Array:
    """Return the level of the mean energy, a sample: readings, their scatter, and the meter's error."""
    level = np.asarray(mean_level(np.stack([case.sample(reading) for reading in run.levels])))
    draws = level[1:]
    if len(run.levels) > 1:
        scatter = float(np.std([reading.si for reading in run.levels], ddof=1)) / len(run.levels) ** 0.5
        draws = draws + scatter * case.draws.normal(f"{run.flight}#{run.number}#cabin noise")
    if run.meter_u95 is not None:
        meter = case.draws.about(f"{run.flight}#sound level meter", 0.0, run.meter_u95.si)
        draws = draws + meter[1:]
    return np.concatenate([level[:1], draws])


def _readings(run: NoiseRun) -> Iterable[Input]:
    for reading in run.levels:
        yield Input(f"reading, {run.place}", str(reading), reading.place, reading.source)
    if run.meter_u95 is not None:
        yield Input("meter's error, 95 %", f"± {run.meter_u95}", run.meter_u95.place, run.meter_u95.source)
