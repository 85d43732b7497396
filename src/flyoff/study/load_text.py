"""A loading as text and as data."""

import math
import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from flyoff.comparison.fits import Placement
from flyoff.comparison.loading_answer import Answer, InEnvelope
from flyoff.comparison.through_flight import Margin, State
from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number
from flyoff.core.quantity import Quantity
from flyoff.core.units import Unit, find_unit, litre
from flyoff.core.wording import Wording
from flyoff.dossier.airplane import Airplane
from flyoff.study.load import Loaded

WIDTH = 88


class _Units:
    """The house's units, or the dossier's own where it has none."""

    def __init__(self, airplane: Airplane, density_kg_m3: float, wording: Wording) -> None:
        def shown(own: Unit) -> Unit:
            return find_unit(wording.unit(own.label), own.dimension)

        self.wording = wording
        self.mass = shown(airplane.weights.empty.unit)
        self.arm = shown(airplane.weights.empty_arm.unit)
        self.fuel = shown(airplane.tanks[0].usable.unit)
        self.density = density_kg_m3
        weights = (getattr(airplane.weights, name) for name in type(airplane.weights).model_fields)
        declared = (*weights, *(station.limit for station in airplane.stations))
        self.declared = [quantity for quantity in declared if isinstance(quantity, Quantity)]

    def _number(self, number: float, decimals: int) -> str:
        return self.wording.numerals(format_number(number, decimals))

    def kg(self, mass_kg: float) -> str:
        """Return a weight without its unit."""
        return self._number(self.mass.from_si(mass_kg), 1)

    def limit(self, mass_kg: float) -> str:
        """Return a limit without its unit; as the manual declares it beside, where that is in another."""
        own = next((q for q in self.declared if math.isclose(q.si, mass_kg, rel_tol=1e-9)), None)
        beside = f" ({self.wording.numerals(own.text)})" if own and own.unit.label != self.mass.label else ""
        return f"{self.kg(mass_kg)}{beside}"

    def weight(self, mass_kg: float) -> str:
        """Return a weight with its unit."""
        return f"{self.kg(mass_kg)} {self.mass.label}"

    def m(self, arm_m: float) -> str:
        """Return an arm without its unit, to a millimetre or nearly so."""
        return self._number(self.arm.from_si(arm_m), {"m": 3, "cm": 1, "mm": 0}.get(self.arm.label, 2))

    def length(self, arm_m: float) -> str:
        """Return a length with its unit."""
        return f"{self.m(arm_m)} {self.arm.label}"

    def tank(self, fuel_kg: float) -> str:
        """Return a volume of fuel without its unit."""
        return self._number(self.fuel.from_si(fuel_kg / self.density), 1)

    def volume(self, fuel_kg: float) -> str:
        """Return a volume of fuel with its unit."""
        return f"{self.tank(fuel_kg)} {self.fuel.label}"

    def spare(self, margin: Margin) -> str:
        """Return what a limit leaves, with its unit."""
        return (self.weight if margin.dimension == "mass" else self.length)(margin.spare_si)


def load_text(loaded: Sequence[Loaded]) -> str:
    """Return loadings as text for a terminal, the caution last."""
    return "\n\n".join([*("\n".join(_airplane(one)) for one in loaded), "\n".join(_wrapped(CAUTION))])


def _airplane(one: Loaded) -> Iterator[str]:
    result = one.answer
    units = _Units(one.airplane, result.ready.density_kg_m3, one.wording)
    yield one.airplane.name
    yield "─" * len(one.airplane.name)
    for remark in (*one.assumed, *result.remarks):
        yield from _wrapped(f"• {one.wording.text(_capital(remark))}.", 2)
    yield ""
    yield from _aboard(result, units)
    yield ""
    yield from _flight(result, units)
    yield ""
    yield from _stations(result, units)
    for envelope in result.envelopes:
        yield ""
        yield from _in_envelope(envelope, result, units)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _wrapped(text: str, indent: int = 0) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=" " * indent, break_long_words=False)


def _columns(rows: Sequence[Sequence[str]], lead: str = "  ") -> Iterator[str]:
    """Yield a table: the first column to the left, all others to the right."""
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    for row in rows:
        first, *others = (
            cell.ljust(w) if n == 0 else cell.rjust(w)
            for n, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        yield (lead + "  ".join((first, *others))).rstrip()


def _aboard(result: Answer, units: _Units) -> Iterator[str]:
    ready, loaded = result.ready, result.loaded
    rows = [("Aboard", units.mass.label, units.arm.label)]
    rows.append(("empty weight", units.kg(ready.empty_kg), units.m(ready.empty_moment_kg_m / ready.empty_kg)))
    bags = dict(loaded.bags)
    for station in ready.airplane.stations:
        people = [person for person, row in loaded.seats if row == station.name]
        mass_kg = sum(person.mass_kg for person in people) + bags.get(station.name, 0.0)
        if mass_kg:
            who = "; ".join(person.name for person in people) or "bags"
            rows.append((f"{station.name}: {who}", units.kg(mass_kg), units.m(station.arm.si)))
    start = result.states[0]
    if start.fuel_kg:
        _, moment = ready.dry(loaded.loading(ready))
        arm_m = (start.mass_kg * start.arm_m - moment) / start.fuel_kg
        rows.append(
            (f"fuel at start, {units.volume(start.fuel_kg)}", units.kg(start.fuel_kg), units.m(arm_m))
        )
    rows.append(("ramp", units.kg(start.mass_kg), units.m(start.arm_m)))
    yield from _columns(rows)
    if loaded.people_left or loaded.bags_left_kg > 0.005:
        yield from _wrapped(f"  NOT ABOARD, for there is no room: {_stays(loaded, units)}.", 2)


def _stays(placement: Placement, units: _Units) -> str:
    """Return in words who and what stays behind."""
    parts = [f"{p.name} ({units.weight(p.mass_kg)})" for p in placement.people_left]
    if placement.bags_left_kg > 0.005:
        parts.append(f"{units.weight(placement.bags_left_kg)} of bags")
    return " and ".join(parts) or "nothing"


def _flight(result: Answer, units: _Units) -> Iterator[str]:
    limits = {margin.limit.removesuffix(" weight"): margin for margin in result.limits}
    rows = [
        (
            "Through the flight", f"fuel, {units.fuel.label}", f"weight, {units.mass.label}",
            "limit", "spare", f"arm, {units.arm.label}",
        )
    ]  # fmt: skip
    for state in result.states:
        margin = limits.get(state.name)
        most, spare = "", ""
        if margin is not None:
            most, spare = units.limit(margin.most_si), units.kg(margin.spare_si)
        rows.append(
            (
                _named(state),
                units.tank(state.fuel_kg),
                units.kg(state.mass_kg),
                most,
                spare,
                units.m(state.arm_m),
            )
        )
    yield from _columns(rows)
    yield from _wrapped(f"  {_nearest(result.nearest, units)}", 2)
    heavy_kg = result.states[1].mass_kg - result.ready.landing_kg
    if heavy_kg > 0.005 and result.states[1].mass_kg <= result.ready.takeoff_kg + 0.005:
        yield from _wrapped(
            f"  Too heavy to land after takeoff: {units.volume(heavy_kg)} must be burnt first.", 2
        )


def _nearest(near: Margin, units: _Units) -> str:
    """Return in words which limit binds first and by how much."""
    own = ("throughout", near.limit.removesuffix(" weight"))
    limit = near.limit if near.where in own else f"{near.limit}, {near.where}"
    size = units.spare(near).lstrip("−")
    if not near.kept:
        return f"Exceeded most: {limit}, {size} beyond it."
    if not any(digit in size for digit in "123456789"):
        return f"Binds first: {limit}, nothing to spare."
    return f"Binds first: {limit}, {size} to spare, {100 * near.share:.0f} % of what it allows."


def _named(state: State) -> str:
    return "landing, reserve left" if state.name == "landing" else state.name


def _stations(result: Answer, units: _Units) -> Iterator[str]:
    rows = [("Limits of place", f"most, {units.mass.label}", "spare")]
    for margin in result.limits:
        if margin.limit.endswith(" weight"):
            continue
        rows.append((margin.limit, units.limit(margin.most_si), units.kg(margin.spare_si)))
    yield from _columns(rows)


def _in_envelope(envelope: InEnvelope, result: Answer, units: _Units) -> Iterator[str]:
    yield f"  Envelope: {envelope.name}"
    for margin in envelope.margins:
        side = margin.limit.removeprefix(f"{envelope.name} envelope, ")
        size = units.spare(margin).lstrip("−")
        words = "inside" if margin.kept else "OUTSIDE"
        yield f"    {side}: {words} by {size}, {margin.where}"
    if envelope.seated is not None:
        yield from _wrapped(f"    Fits so: {_put(envelope.seated, units)}.", 6)
    most = envelope.most_fuel
    if most is None:
        yield "    Most fuel with these people and bags: none; they do not fit"
    else:
        stop = f"; stopped by {' and '.join(most.binding)}" if most.binding else ""
        yield from _wrapped(
            f"    Most fuel with these people and bags: {units.volume(most.fuel_kg)}{stop}."
            f"{_how(most, result.loaded, units)}",
            6,
        )
    yield from _bags(envelope, result, units)
    if envelope.left is not None:
        yield from _left(envelope, result, units)


def _how(placement: Placement, shown: Placement, units: _Units) -> str:
    """Return how it is put, where that is not as shown."""
    same = placement.seats == shown.seats and placement.bags == shown.bags
    return "" if same else f" So: {_put(placement, units)}."


def _put(placement: Placement, units: _Units) -> str:
    """Return in words who sits where and which bags go where."""
    rows: dict[str, list[str]] = {}
    for person, row in placement.seats:
        rows.setdefault(row, []).append(person.name)
    parts = [f"{row}: {'; '.join(names)}" for row, names in rows.items()]
    parts += [f"{name}: {units.weight(kg)}" for name, kg in placement.bags]
    return " | ".join(parts)


def _bags(envelope: InEnvelope, result: Answer, units: _Units) -> Iterator[str]:
    yield "    Most bags with these people, by fuel at start:"
    rows = [("", units.mass.label, "where", "stopped by")]
    for fuel_kg, found in envelope.most_bags:
        share = fuel_kg / result.ready.capacity_kg
        head = f"{units.volume(fuel_kg)}, {'full' if share > 0.999 else f'{100 * share:.0f} %'}"
        if found is None:
            rows.append((head, "none", "they do not fit", ""))
            continue
        where = ", ".join(f"{name} {units.kg(kg)}" for name, kg in found.bags) or "—"
        rows.append((head, units.kg(found.bags_kg), where, " and ".join(_short(found))))
    widths = [max(len(row[n]) for row in rows) for n in range(3)]
    for head, most, where, stop in rows:
        cells = (head.ljust(widths[0]), most.rjust(widths[1]), where.ljust(widths[2]), stop)
        yield f"      {'  '.join(cells)}".rstrip()


def _short(placement: Placement) -> list[str]:
    return [limit.removesuffix(" weight") for limit in placement.binding]


def _left(envelope: InEnvelope, result: Answer, units: _Units) -> Iterator[str]:
    assert envelope.left is not None
    left, fuel_kg = envelope.left, result.loaded.fuel_kg
    yield "    Nothing fits as asked. To be left behind, one of:"
    for words, found in (("the least weight", left.weight), ("the fewest people", left.people)):
        if found is None:
            yield f"      {words}: does not help by itself"
        else:
            yield from _wrapped(f"      {words}: {_stays(found, units)}. So: {_put(found, units)}.", 8)
    if left.fuel is None:
        yield "      the least fuel: does not help by itself"
    else:
        less = fuel_kg - left.fuel.fuel_kg
        yield from _wrapped(
            f"      the least fuel: {units.volume(less)}, leaving {units.volume(left.fuel.fuel_kg)}."
            f" So: {_put(left.fuel, units)}.",
            8,
        )


def load_data(loaded: Sequence[Loaded]) -> dict[str, Any]:
    """Return loadings with stable keys that name their units."""
    return {"caution": CAUTION, "loadings": [_data(one) for one in loaded]}


def _data(one: Loaded) -> dict[str, Any]:
    result, density = one.answer, one.answer.ready.density_kg_m3
    return {
        "aircraft": one.key,
        "name": one.airplane.name,
        "remarks": [*one.assumed, *result.remarks],
        "fuel_density_kg_m3": density,
        "loading": _placement(result.loaded, density),
        "within_limits": result.kept,
        "states": [
            {"state": s.name, "fuel_kg": s.fuel_kg, "weight_kg": s.mass_kg, "arm_m": s.arm_m}
            for s in result.states
        ],
        "limits": [_margin(m) for m in result.limits],
        "binds_first": _margin(result.nearest),
        "envelopes": [
            {
                "envelope": e.name,
                "inside": e.inside,
                "sides": [_margin(m) for m in e.margins],
                "other_seating": _placement(e.seated, density),
                "most_fuel": _placement(e.most_fuel, density),
                "most_bags": [
                    {"fuel_l": kg / density / litre, "loading": _placement(p, density)}
                    for kg, p in e.most_bags
                ],
                "left_behind": None
                if e.left is None
                else {
                    "least_weight": _placement(e.left.weight, density),
                    "fewest_people": _placement(e.left.people, density),
                    "least_fuel": _placement(e.left.fuel, density),
                },
            }
            for e in result.envelopes
        ],
    }


def _margin(margin: Margin) -> dict[str, Any]:
    unit = "kg" if margin.dimension == "mass" else "m"
    return {
        "limit": margin.limit,
        "where": margin.where,
        f"most_{unit}": margin.most_si,
        f"spare_{unit}": margin.spare_si,
        "spare_ratio": margin.share,
        "kept": margin.kept,
    }


def _placement(placement: Placement | None, density_kg_m3: float) -> dict[str, Any] | None:
    if placement is None:
        return None
    return {
        "people": [{"name": p.name, "weight_kg": p.mass_kg, "row": row} for p, row in placement.seats],
        "bags": [{"station": name, "weight_kg": kg} for name, kg in placement.bags],
        "fuel_l": placement.fuel_kg / density_kg_m3 / litre,
        "people_left": [p.name for p in placement.people_left],
        "bags_left_kg": placement.bags_left_kg,
        "stopped_by": list(placement.binding),
    }
