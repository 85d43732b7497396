"""Takeoff and landing: distances at sea level, and each runway of the study with what it leaves to spare.

Not for flight planning or operational use: the approved flight manual governs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from flyoff.comparison.at_weight import Kind, nominal_kg, weight_figure
from flyoff.comparison.case import Case, Method
from flyoff.comparison.climb_out import climb_out_figures
from flyoff.comparison.distances import Distances, Weather, distances
from flyoff.comparison.places import Spot
from flyoff.comparison.runway_terms import Runway, RunwayMargin
from flyoff.core.figure import Figure, Input, format_number, slug
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.physics.atmosphere import temperature_at_altitude
from flyoff.physics.runway import runway_wind

DISTANCE = ("ft", "length")
KINDS: tuple[Kind, ...] = ("takeoff", "landing")
SOURCE = "UK CAA Safety Sense Leaflet 7, Aeroplane Performance (2nd-hand)"
_READ = (
    "linear interpolation between the printed values of the {kind} table; what it does not print by the"
    " table's notes, or else by published factors, one on another, each doubted by half of what it adds;"
    " surface and slope add to the ground roll"
)
_SURE = 0.975


@dataclass(frozen=True)
class Field:
    """A runway of the study with the airport that it is at, where it is at one."""

    runway: Runway
    spot: Spot | None = None

    @property
    def key(self) -> str:
        """The part of a figure's key that names it."""
        return slug(self.runway.name)

    @property
    def elevation_m(self) -> float:
        """Its elevation."""
        own = self.runway.elevation
        return own.si if own is not None else self.spot.elevation_m if self.spot else 0.0

    def available(self, kind: Kind) -> Quantity:
        """Return the length that there is to take off or to land."""
        shorter = self.runway.landing_length if kind == "landing" else None
        return shorter or self.runway.length

    def head_wind_m_s(self, margin: RunwayMargin) -> float:
        """Return the head wind along it that is counted, negative from behind."""
        runway = self.runway
        if runway.wind is None:
            return 0.0
        along = runway.wind.si
        if runway.direction is not None and runway.wind_from is not None:
            along = float(runway_wind(runway.direction.si, runway.wind_from.si, along).head_wind_m_s)
        share = margin.head_wind if along > 0 else margin.tail_wind
        return along * (share.si if share else 1.0)

    def weather(self, case: Case, margin: RunwayMargin) -> Weather:
        """Return its air and ground; without a temperature the terms' deviation holds."""
        runway = self.runway
        standard = float(temperature_at_altitude(self.elevation_m))
        kelvin = runway.temperature.si if runway.temperature else standard + case.terms.isa_deviation.si
        slope = runway.slope.si if runway.slope else 0.0
        wind = self.head_wind_m_s(margin)
        return Weather(self.elevation_m, kelvin, wind, slope, runway.surface, runway.wet)

    def inputs(self, case: Case, margin: RunwayMargin) -> tuple[Input, ...]:
        """Return what is said of it."""
        runway = self.runway
        named: list[tuple[str, Quantity | None]] = [
            ("elevation", runway.elevation),
            ("slope, uphill positive", runway.slope),
            ("direction", runway.direction),
            ("wind", runway.wind),
            ("wind from", runway.wind_from),
            ("temperature", runway.temperature),
            ("share of a head wind counted", margin.head_wind if runway.wind else None),
            ("share of a tail wind counted", margin.tail_wind if runway.wind else None),
        ]
        found = [Input(label, str(q), q.place, q.source) for label, q in named if q is not None]
        if runway.elevation is None and self.spot is not None:
            height = f"{format_number(self.elevation_m / ft, 0)} ft"
            found.append(Input(f"elevation of {self.spot.code}", height, source=self.spot.source))
        if runway.temperature is None:
            terms = case.terms.isa_deviation
            found.append(Input("ISA deviation", str(terms), terms.place, terms.source))
        surface = f"{'wet' if runway.wet else 'dry'}, {runway.surface}"
        return (*found, Input("surface", surface, runway.length.place, runway.length.source))


@dataclass(frozen=True)
class RunwayUse:
    """One airplane on one runway: what it leaves to spare, by key, and whether it does, in words."""

    aircraft: str
    runway: str
    takeoff: str
    landing: str
    words: str


def runway_figures(
    case: Case, fields: Sequence[Field], margin: RunwayMargin
) -> tuple[list[Figure], list[RunwayUse]]:
    """Return an airplane's distances at sea level, then on each runway with what is left to spare."""
    air = case.terms.isa_deviation
    plain = Weather(0.0, float(temperature_at_altitude(0.0)) + air.si)
    given = (Input("ISA deviation", str(air), air.place, air.source),)
    figures: list[Figure] = []
    for kind in KINDS:
        weight = weight_figure(case, kind)
        found = distances(case, kind, plain, nominal_kg(case, kind))
        figures += [
            weight,
            *_distance_figures(case, kind, "", "at sea level", found, weight, given),
        ]
    uses = []
    for field in fields:
        more, use = _on_runway(case, field, margin)
        figures += more
        uses.append(use)
    return figures, uses


def _distance_figures(
    case: Case,
    kind: Kind,
    prefix: str,
    where: str,
    found: Distances,
    weight: Figure,
    given: tuple[Input, ...],
) -> list[Figure]:
    """Return the ground roll and the distance over 50 ft."""
    inputs = (Input(weight.label, str(weight), figure=weight.key), *given, *found.inputs)
    more: dict[str, Any] = {
        "missing": weight.missing or found.missing,
        "remarks": found.remarks,
        "extrapolated": found.extrapolated,
    }
    method = Method(_READ.format(kind=kind), SOURCE)
    needed = "distance needed" if prefix else "distance over 50 ft"
    parts = (("roll", "ground roll", found.roll_m), ("distance", needed, found.total_m))
    return [
        case.figure(
            f"{prefix}{kind}_{name}",
            f"{kind.capitalize()} {label} {where}",
            DISTANCE,
            None if weight.missing else sample,
            method,
            inputs,
            **more,
        )
        for name, label, sample in parts
    ]


def _on_runway(case: Case, field: Field, margin: RunwayMargin) -> tuple[list[Figure], RunwayUse]:
    """Return an airplane's figures on one runway."""
    weather, prefix = field.weather(case, margin), f"runway.{field.key}."
    given = field.inputs(case, margin)
    figures: list[Figure] = []
    words, keys = [], []
    for kind in KINDS:
        weight = weight_figure(case, kind)
        found = _with_margin(case, kind, margin, distances(case, kind, weather, nominal_kg(case, kind)))
        where = f"on {field.runway.name}"
        own = _distance_figures(case, kind, prefix, where, found, weight, given)
        spare = _spare(case, kind, field, own[1])
        figures += [*own, spare]
        words.append(_verdict(kind, spare))
        keys.append(spare.key)
    figures += climb_out_figures(
        case,
        (weather.pressure_altitude_m, weather.deviation_k),
        given,
        f"{prefix}climb",
        f" from {field.runway.name}",
    )
    takeoff, landing = keys
    return figures, RunwayUse(case.key, field.runway.name, takeoff, landing, "; ".join(words))


def _with_margin(case: Case, kind: Kind, margin: RunwayMargin, found: Distances) -> Distances:
    """Return distances with what the reader adds to that over 50 ft."""
    added: Quantity | None = getattr(margin, kind)
    if added is None or found.total_m is None:
        return found
    given = Input(f"added to each {kind} distance over 50 ft", str(added), added.place, added.source)
    total = found.total_m * (1 + case.declared(added))
    return Distances(found.roll_m, total, (given, *found.inputs), found.remarks, "", found.extrapolated)


def _spare(case: Case, kind: Kind, field: Field, needed: Figure) -> Figure:
    """Return the length of a runway less the distance over 50 ft that is needed."""
    length = field.available(kind)
    label = "length" if length is field.runway.length else "landing length"
    sample: Array | None = None
    if needed.si is not None:
        spread = np.full(case.draws.count, needed.si) if needed.draws is None else needed.draws
        sample = case.declared(length) - np.concatenate([[needed.si], spread])
    return case.figure(
        f"runway.{field.key}.{kind}_margin",
        f"{'Takeoff' if kind == 'takeoff' else 'Landing'} length to spare on {field.runway.name}",
        DISTANCE,
        sample,
        Method("length of the runway less the distance over 50 ft, with what the reader adds to it"),
        (
            Input(f"{label} of {field.runway.name}", str(length), length.place, length.source),
            Input(needed.label, str(needed), figure=needed.key),
        ),
        missing=needed.missing,
        remarks=needed.remarks,
        extrapolated=needed.extrapolated,
    )


def _verdict(kind: Kind, spare: Figure) -> str:
    """Return in words whether a runway is long enough, and by how much not."""
    verb = "take off" if kind == "takeoff" else "land"
    if spare.si is None:
        return f"cannot be said for {kind}: {spare.missing}"
    known = np.zeros(1) + spare.si if spare.draws is None else spare.draws[np.isfinite(spare.draws)]
    if np.mean(known >= 0) >= _SURE:
        return f"long enough to {verb}"
    if np.mean(known < 0) >= _SURE:
        return f"too short to {verb}, by {format_number(-spare.si / ft, 0)} ft"
    return f"too close to call to {verb}"
