"""Does it make book: every statement of a handbook beside what was flown at the same condition."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from flyoff.core.draws import Draws
from flyoff.model.book_climb import climb_points
from flyoff.model.book_cruise import cruise_points
from flyoff.model.book_glide import glide_points, stall_points
from flyoff.model.handbook import Handbook
from flyoff.model.statement import STATEMENTS, Book, BookPoint, Flown
from flyoff.reduction.run import Reduction

_NOT_FLOWN = {
    "cruise_speed": "no level condition with airspeed, temperature and fuel flow was flown",
    "cruise_speed_at_power": "no level condition with a power that does not rest on its fuel flow was flown",
    "fuel_flow_at_power": "no level condition with a power that does not rest on its fuel flow was flown",
    "climb_rate": "no steady climb was flown",
    "climb_time": "no steady climb of 1,000 ft or more was flown",
    "glide_ratio": "no glide without power was flown",
    "stall_speed_clean": "no clean stall was noted",
    "stall_speed_landing": "no stall with full flaps was noted",
}
_TABLE_OF = {"climb_rate": "climb", "climb_time": "climb", "glide_ratio": "glide"}


def beside_handbook(handbook: Handbook, flights: Sequence[Reduction], mass_kg: float, draws: Draws) -> Book:
    """Return what some flights of one airplane show beside its handbook.

    `mass_kg` is the weight of conditions whose flight does not say its loading.
    """
    points: list[BookPoint] = []
    notes: dict[str, list[str]] = defaultdict(list)
    for reduction in flights:
        flown = Flown(reduction, draws)
        for key, found in (
            ("cruise_speed", cruise_points(flown, handbook, mass_kg)),
            ("climb_rate", climb_points(flown, handbook)),
            ("glide_ratio", glide_points(flown, handbook)),
            ("stall_speed_clean", stall_points(flown, handbook)),
        ):
            _sort(found, points, notes[key])
    have = {point.statement.key for point in points}
    for statement in STATEMENTS:
        if flights and statement.key not in have and not notes[statement.key]:
            notes[statement.key].append(_silence(handbook, statement.key))
    return Book(tuple(points), {key: tuple(said) for key, said in notes.items() if said})


def _sort(found: Iterable[BookPoint | str], points: list[BookPoint], notes: list[str]) -> None:
    for one in found:
        if isinstance(one, str):
            notes.append(one)
        else:
            points.append(one)


def _silence(handbook: Handbook, key: str) -> str:
    """Return why nothing is said of a statement: the handbook has none, or the flight has none."""
    table = _TABLE_OF.get(key, "cruise")
    if not key.startswith("stall") and table not in handbook.dossier.tables:
        return f"the handbook has no {table} table"
    return _NOT_FLOWN[key]
