"""The figures of one airplane on one way of a trip."""

from collections.abc import Sequence
from dataclasses import dataclass

from flyoff.comparison.aloft import WindSpread
from flyoff.comparison.case import Case, Method
from flyoff.comparison.places import Spot
from flyoff.comparison.profile import WAY
from flyoff.comparison.terms import Trip
from flyoff.comparison.trip_family import spread_inputs
from flyoff.core.figure import Figure, Input, slug
from flyoff.core.typing import Array

TIME = ("h", "time")
VOLUME = ("US gal", "volume")
STOPS = ("", "count")
SPEED = ("kt", "speed")
SHARE = ("%", "ratio")
ALTITUDE = ("ft", "length")
NAMES = ("time", "fuel", "stops")
"""The parts of an outcome that every trip has."""
_ROUTE = (
    "shortest line between the airports, flown on the most fuel that limits and balance allow, legs of equal "
    "length where it must stop; each leg: {way}"
)
_STOPS = Method("the fewest equal legs that the range covers")
_ELAPSED = Method("flying time, with the terms' time of taxi for each flight and on the ground for each stop")
_STRONGEST = Method("air distance on the fuel, less the distance, over the time in the air")
_SHARE = Method(
    "how often the head wind is no stronger than the strongest that the trip is flown nonstop "
    "against; to 0.1 %"
)
_CHOSEN = Method("of the terms' altitudes the one that takes the airplane least {}, stops counted; as chosen")
_BOTH = Method("time there and time back, refuelled at the end")


@dataclass(frozen=True)
class Outcome:
    """How one way of a trip went, samples; None where it did not, and why."""

    name: str
    trip: Trip
    start: Spot
    end: Spot
    inputs: tuple[Input, ...]
    time_s: Array | None = None
    fuel_kg: Array | None = None
    stops: Array | None = None
    elapsed_s: Array | None = None
    waits: str = ""
    """Why the elapsed time is not known."""
    strongest_m_s: Array | None = None
    share: Array | None = None
    spread: WindSpread | None = None
    altitude_m: float | None = None
    chosen: str = ""
    """What the altitude was chosen among; empty where it was given."""
    reason: str = ""
    doubt: str = ""
    remarks: tuple[str, ...] = ()
    extrapolated: bool = False
    back: bool = False


def figures_of(case: Case, outcome: Outcome) -> dict[str, Figure]:
    """Return the figures of an outcome by part."""
    trip, doubt = outcome.trip, (outcome.doubt,) if outcome.doubt else ()
    terms = {"trip": f"{outcome.start.code} to {outcome.end.code}"}
    if trip.occupants:
        terms["occupants"] = str(trip.occupants)
    for word, given in (("bags", trip.bags), ("altitude", trip.altitude), ("head wind", trip.wind)):
        if given:
            terms[word] = str(given)
    if trip.aloft:
        terms["wind and temperature"] = trip.aloft
    if outcome.altitude_m is not None:
        terms["altitude"] = f"the best for {trip.best_altitude}"
    aboard = case.people_inputs()[: trip.occupants or len(case.terms.occupants)]
    bags = trip.bags or case.terms.bags
    inputs = (
        *outcome.inputs, *case.limit_inputs(), *case.full_fuel_inputs(), *aboard,
        Input("bags", str(bags), bags.place, bags.source), *case.fit.inputs(),
    )  # fmt: skip
    way = case.read(_ROUTE.format(way=WAY.format(climb=case.reading.climb)))
    why = (outcome.reason,) if outcome.reason and outcome.stops is not None else ()
    said = (*outcome.remarks, *doubt)
    volume = None if outcome.fuel_kg is None else outcome.fuel_kg / case.fuel.density.si
    parts = [
        ("time", "flying time", TIME, outcome.time_s, way, said),
        ("fuel", "fuel burnt", VOLUME, volume, way, said),
        ("stops", "fuel stops", STOPS, outcome.stops, _STOPS, (*why, *said)),
    ]
    if case.terms.ground_time or case.terms.taxi_time:
        parts.append(("elapsed", "time with stops", TIME, outcome.elapsed_s, _ELAPSED, (*why, *said)))
        waited = (("time of taxi", case.terms.taxi_time), ("on the ground", case.terms.ground_time))
        inputs = (*inputs, *(Input(label, str(q), q.place, q.source) for label, q in waited if q))
    if trip.best_altitude:
        chosen = None if outcome.altitude_m is None else case.draws.exact(outcome.altitude_m)
        method = Method(_CHOSEN.words.format(trip.best_altitude))
        parts.append(("altitude", "altitude", ALTITUDE, chosen, method, (outcome.chosen,)))
    spread = trip.wind_spread or case.terms.wind_spread
    if spread is not None:
        parts.append(
            ("strongest", "strongest head wind nonstop", SPEED, outcome.strongest_m_s, _STRONGEST, said)
        )
        parts.append(("share", "how often nonstop", SHARE, outcome.share, _SHARE, (spread.words,)))
        inputs = (*inputs, *spread_inputs(spread))
    prefix = f"trip.{slug(outcome.name)}"
    return {
        part: case.figure(
            f"{prefix}.{part}", f"{outcome.name}: {label}", unit, sample, method, inputs,
            basis=case.reading.basis, terms=terms, missing=outcome.reason or outcome.waits, remarks=remarks,
            extrapolated=outcome.extrapolated, grain_si=_grain_si(case, part),
        )
        for part, label, unit, sample, method, remarks in parts
    }  # fmt: skip


def _grain_si(case: Case, part: str) -> float:
    """Return how finely a trip's altitude was declared; nothing else of it is declared."""
    if part != "altitude":
        return 0.0
    return max(altitude.grain_si for altitude in (case.terms.altitude, *case.terms.altitudes))


def both_ways(case: Case, trip: Trip, ways: Sequence[list[Figure]]) -> Figure:
    """Return the time there and back: with taxi and stops where the terms say how long they take."""
    part = "elapsed" if case.terms.ground_time or case.terms.taxi_time else "time"
    there, back = (next(f for f in own if f.key.endswith(f".{part}")) for own in ways)
    total = None
    if there.si is not None and back.si is not None:
        total = _sample(case, there) + _sample(case, back)
    inputs = tuple(Input(f.label, str(f), figure=f.key) for f in (there, back))
    return case.figure(
        f"trip.{slug(trip.name)}.both_ways", f"{trip.name}: there and back", TIME, total, _BOTH, inputs,
        basis=case.reading.basis, terms=there.terms, missing=there.missing or back.missing,
        remarks=tuple(dict.fromkeys((*there.remarks, *back.remarks))),
        extrapolated=there.extrapolated or back.extrapolated,
    )  # fmt: skip


def _sample(case: Case, figure: Figure) -> Array:
    assert figure.si is not None
    sample = case.draws.exact(figure.si)
    if figure.draws is not None:
        sample[1:] = figure.draws
    return sample
