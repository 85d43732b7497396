"""What was said and heard on a study's flights, told for the comparison: ratings, remarks, sound levels."""

from collections.abc import Iterator, Mapping

from flyoff.comparison.handling import NoiseRun, Noted, Rating, Remark
from flyoff.core.figure import format_number
from flyoff.core.sources import Place
from flyoff.core.units import ft, kt
from flyoff.flights.card import HandlingNote, NoiseReading
from flyoff.flights.cooper_harper import SOURCE, improvement, meaning
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction


def noted_on(flights: Mapping[str, Reduction]) -> Noted:
    """Return what the flights of a study note beside their readings; `flights` by name."""
    ratings: list[Rating] = []
    remarks: list[Remark] = []
    noise: list[NoiseRun] = []
    for name, reduction in flights.items():
        card = reduction.flight.card
        aircraft = card.aircraft or ""
        ratings += [_rating(name, reduction, i, note) for i, note in enumerate(card.handling)]
        remarks += [Remark(aircraft, name, r.about, r.text, r.who) for r in card.remarks]
        noise += _noise(name, reduction)
    return Noted(tuple(ratings), tuple(remarks), tuple(noise))


def _rating(name: str, reduction: Reduction, index: int, note: HandlingNote) -> Rating:
    wanted = (("desired", note.desired_performance), ("adequate", note.adequate_performance))
    return Rating(
        reduction.flight.card.aircraft or "",
        name,
        note.task,
        note.rating,
        meaning(note.rating),
        improvement(note.rating),
        note.pilot,
        ", ".join(part for part in (note.flown_in, note.at) if part),
        "; ".join(f"{words}: {text}" for words, text in wanted if text),
        note.text,
        Place(reduction.flight.name, field=f"handling.{index}.rating"),
        SOURCE,
    )


def _noise(name: str, reduction: Reduction) -> Iterator[NoiseRun]:
    card = reduction.flight.card
    for number, reading in enumerate(card.noise, 1):
        found = _condition(reduction, reading)
        if found is None:
            at, words = f"noise-{number}", f"{reading.start} to {reading.end}, in no steady condition"
        else:
            at, words = str(found[0]), _words(found[1])
        yield NoiseRun(
            card.aircraft or "",
            name,
            at,
            words,
            reading.place,
            reading.levels,
            card.instruments.sound_level_u95,
        )


def _condition(reduction: Reduction, reading: NoiseReading) -> tuple[int, Point] | None:
    """Return the condition that most of a reading's time lies in, with its number; None where none does."""
    start_s, end_s = (reduction.flight.time_s(text) for text in (reading.start, reading.end))
    shared = [
        (min(end_s, p.condition.end_s) - max(start_s, p.condition.start_s), number)
        for number, p in enumerate(reduction.points, 1)
    ]
    most_s, number = max(shared, default=(0.0, 0))
    return (number, reduction.points[number - 1]) if most_s > 0 else None


def _words(point: Point) -> str:
    """Return a condition in words: how it was flown, how high, how fast."""
    parts: list[str] = [point.condition.kind]
    if point.pressure_altitude is not None:
        parts.append(f"{format_number(point.pressure_altitude.value / ft, -2)} ft")
    if point.air.true_airspeed is not None:
        parts.append(f"{format_number(point.air.true_airspeed.value / kt, 0)} kt true")
    if point.rpm is not None:
        parts.append(f"{format_number(60 * point.rpm.value, -1)} rpm")
    return ", ".join(parts)
