"""One airplane's loading answered: through the flight, against every limit, and what still fits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flyoff.comparison.fits import (
    LeftBehind,
    Placement,
    in_order,
    left_behind,
    most_bags,
    most_fuel,
    seated_to_fit,
)
from flyoff.comparison.through_flight import (
    Margin,
    Ready,
    State,
    empty_outside,
    envelope_margins,
    inside,
    states,
    weight_margins,
)
from flyoff.dossier.airplane import Envelope
from flyoff.dossier.loading import MASS_TOLERANCE_KG, Person

FILLED = (1.0, 0.75, 0.5, 0.25)
"""The shares of full tanks for which the most baggage is asked."""


@dataclass(frozen=True)
class InEnvelope:
    """The loading against one envelope, and what still fits it."""

    name: str
    inside: bool
    margins: tuple[Margin, ...]
    """What is left to each side, where it is least."""
    most_fuel: Placement | None
    most_bags: tuple[tuple[float, Placement | None], ...]
    """Fuel at start [kg], and the loading with most bags beside it."""
    seated: Placement | None
    """Another seating and stowing that fits, where the loading does not."""
    left: LeftBehind | None
    """What must be left behind, where no seating and stowing fits."""


@dataclass(frozen=True)
class Answer:
    """A loading answered."""

    ready: Ready
    loaded: Placement
    states: tuple[State, ...]
    limits: tuple[Margin, ...]
    """What each limit of weight and volume leaves, in the order of the flight."""
    envelopes: tuple[InEnvelope, ...]
    remarks: tuple[str, ...]

    @property
    def kept(self) -> bool:
        """Whether every limit, and some envelope throughout, is kept and nobody left behind."""
        return (
            all(margin.kept for margin in self.limits)
            and any(envelope.inside for envelope in self.envelopes)
            and not self.loaded.people_left
            and self.loaded.bags_left_kg <= MASS_TOLERANCE_KG
        )

    @property
    def nearest(self) -> Margin:
        """The limit that binds first: that which leaves the least share of what it allows."""
        held = [e for e in self.envelopes if e.inside] or list(self.envelopes)
        widest = max(held, key=lambda e: min(m.share for m in e.margins))
        return min((*self.limits, *widest.margins), key=lambda margin: margin.share)


def answer(ready: Ready, people: Sequence[Person], bags_kg: float, fuel_kg: float | None) -> Answer:
    """Return the answer for some people, bags and fuel at start; without fuel, as much as fits.

    People sit in the order given, row by row, but where they say otherwise.
    Where not all find room, the loading shown is what is left with the fewest
    people, or the least weight, behind.
    """
    remarks = _remarks(ready)
    if ready.reserve_kg > ready.capacity_kg - ready.taxi_kg:
        remarks.append("the reserve is larger than what the tanks hold after taxi: none is counted here")
        ready = replace(ready, reserve_kg=0.0)
    envelopes = ready.airplane.envelopes
    if fuel_kg is None:
        found = [most_fuel(ready, envelope, people, bags_kg) for envelope in envelopes]
        best = max((p for p in found if p is not None), key=lambda p: p.fuel_kg, default=None)
        least_kg = min(ready.taxi_kg + ready.reserve_kg, ready.capacity_kg)
        loaded = best or _as_asked(ready, people, bags_kg, least_kg)
    else:
        loaded = _as_asked(ready, people, bags_kg, fuel_kg)
    loading = loaded.loading(ready)
    limits = tuple(weight_margins(ready, loading, loaded.fuel_kg))
    kept = all(margin.kept for margin in limits)
    return Answer(
        ready,
        loaded,
        states(ready, loading, loaded.fuel_kg),
        limits,
        tuple(_in_envelope(ready, e, loaded, people, bags_kg, kept=kept) for e in envelopes),
        tuple(remarks),
    )


def _as_asked(ready: Ready, people: Sequence[Person], bags_kg: float, fuel_kg: float) -> Placement:
    """Return people and bags in order; where they find no room, with what must stay left out."""
    placed = in_order(ready, people, bags_kg, fuel_kg)
    if placed is not None:
        return placed
    for envelope in ready.airplane.envelopes:
        seated = seated_to_fit(ready, envelope, people, bags_kg, fuel_kg)
        if seated is not None:
            return seated
        left = left_behind(ready, envelope, people, bags_kg, fuel_kg)
        found = left.people or left.weight
        if found is not None:
            return found
    first = in_order(ready, people[:1], 0.0, fuel_kg)
    assert first is not None, "an airplane has a seat for its pilot"
    return replace(first, people_left=tuple(people[1:]), bags_left_kg=bags_kg)


def _in_envelope(
    ready: Ready,
    envelope: Envelope,
    loaded: Placement,
    people: Sequence[Person],
    bags_kg: float,
    *,
    kept: bool,
) -> InEnvelope:
    loading, fuel_kg = loaded.loading(ready), loaded.fuel_kg
    held = inside(ready, loading, fuel_kg, envelope)
    fits = held and kept and not loaded.people_left and loaded.bags_left_kg <= MASS_TOLERANCE_KG
    seated = None if fits else seated_to_fit(ready, envelope, people, bags_kg, fuel_kg)
    fills = [share * ready.capacity_kg for share in FILLED]
    if all(abs(fuel_kg - kg) > 0.5 for kg in fills):
        fills = sorted((*fills, fuel_kg), reverse=True)
    return InEnvelope(
        envelope.name,
        held,
        tuple(envelope_margins(ready, loading, fuel_kg, envelope)),
        most_fuel(ready, envelope, people, bags_kg),
        tuple((kg, most_bags(ready, envelope, people, kg)) for kg in fills),
        seated,
        left_behind(ready, envelope, people, bags_kg, fuel_kg) if not fits and seated is None else None,
    )


def _remarks(ready: Ready) -> list[str]:
    """Return what a reader should know of the airplane before its loading."""
    said = empty_outside(ready)
    if not ready.airplane.fuel_order and len(ready.airplane.tanks) > 1:
        said.append("the dossier gives no order of tanks: all are drawn on together, each by its size")
    return said
