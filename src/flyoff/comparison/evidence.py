"""What a figure may rest on: the printed handbook, the airplane's own flights, or a fit to both.

One kind holds for all airplanes of a comparison, as the terms demand. What an
airplane cannot say on that kind is missing; nothing of another kind fills it in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Literal, Protocol, TypeAlias

from flyoff.core.figure import Basis
from flyoff.model.handbook import Climb, ClimbOut, Cruise, Glide, Handbook, Value

Kind: TypeAlias = Literal["handbook", "measured", "fitted"]
KINDS: tuple[Kind, ...] = ("handbook", "measured", "fitted")
NOT_FLOWN = "not flown: fly level at three powers and a climb, or let the terms ask for the handbook"
FITTED_SOURCE = "flyoff, methods: evidence"


class Evidence(Protocol):
    """What says how an airplane cruises and climbs, with its doubt: a handbook or a fitted model."""

    def cruise(
        self,
        power_ratio: float,
        pressure_altitude_m: float,
        isa_deviation_k: float,
        mass_kg: float,
        /,
        *,
        mixture: str = "",
    ) -> Cruise:
        """Return cruise at a share of rated power, with a mixture or else that of the evidence."""

    def speed_at_fuel_flow(
        self, fuel_flow_kg_s: float, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float, /
    ) -> Value:
        """Return the true airspeed [m/s] at a fuel flow."""

    def climb(self, from_m: float, to_m: float, isa_deviation_k: float, mass_kg: float, /) -> Climb:
        """Return the climb between two pressure altitudes."""

    def climb_out(self, pressure_altitude_m: float, isa_deviation_k: float, mass_kg: float, /) -> ClimbOut:
        """Return rate of climb and true airspeed at one condition."""

    def service_ceiling(self, isa_deviation_k: float, mass_kg: float, /) -> Value:
        """Return the pressure altitude [m] at which 100 ft/min are left."""

    def best_glide(self, mass_kg: float, /) -> Glide:
        """Return the best glide."""


@dataclass(frozen=True)
class Silent:
    """Evidence that there is none of, and why: it answers every question with that reason."""

    reason: str

    @property
    def _nothing(self) -> Value:
        return Value(None, None, missing=self.reason)

    def cruise(self, *_: float, mixture: str = "") -> Cruise:  # noqa: ARG002
        """Return no cruise."""
        return Cruise(self._nothing, self._nothing)

    def speed_at_fuel_flow(self, *_: float) -> Value:
        """Return no true airspeed."""
        return self._nothing

    def climb(self, *_: float) -> Climb:
        """Return no climb."""
        return Climb(self._nothing, self._nothing, self._nothing)

    def climb_out(self, *_: float) -> ClimbOut:
        """Return no rate of climb."""
        return ClimbOut(self._nothing, self._nothing)

    def service_ceiling(self, *_: float) -> Value:
        """Return no ceiling."""
        return self._nothing

    def best_glide(self, *_: float) -> Glide:
        """Return no glide."""
        return Glide(self._nothing, self._nothing)


class Remembered:
    """Evidence that works out each answer once: many figures ask for the same cruise and the same climb."""

    def __init__(self, evidence: Evidence) -> None:
        self.cruise = cache(evidence.cruise)
        self.speed_at_fuel_flow = cache(evidence.speed_at_fuel_flow)
        self.climb = cache(evidence.climb)
        self.climb_out = cache(evidence.climb_out)
        self.service_ceiling = cache(evidence.service_ceiling)
        self.best_glide = cache(evidence.best_glide)


@dataclass(frozen=True)
class Evidences:
    """All that is known of one airplane, each kind by itself.

    `flights` are those that the fits rest on, by name; `remarks` say what the
    fits left out and what they cannot tell.
    """

    handbook: Handbook
    measured: Evidence = Silent(NOT_FLOWN)
    fitted: Evidence = Silent(NOT_FLOWN)
    flights: Sequence[str] = ()
    remarks: tuple[str, ...] = ()

    def of(self, kind: Kind) -> Evidence:
        """Return one kind."""
        return self._every[kind]

    @cached_property
    def _every(self) -> dict[Kind, Evidence]:
        kinds: tuple[Evidence, ...] = (self.handbook, self.measured, self.fitted)
        return {kind: Remembered(evidence) for kind, evidence in zip(KINDS, kinds, strict=True)}


@dataclass(frozen=True)
class Reading:
    """How a kind of evidence is read, in the words of a method, and the basis of what comes of it."""

    name: str
    basis: Basis
    cruise: str
    climb: str


_MODEL = "a model of drag, propeller and engine"
READINGS: dict[Kind, Reading] = {
    "handbook": Reading(
        "the printed handbook",
        "handbook",
        "linear interpolation between the printed values of the cruise table",
        "the climb table's time, fuel and distance",
    ),
    "measured": Reading(
        "flight alone",
        "measured",
        f"level flight of {_MODEL}, fitted to the airplane's own flights alone",
        "the climb at best rate of the model fitted to its own flights",
    ),
    "fitted": Reading(
        "handbook and flight together",
        "fitted",
        f"level flight of {_MODEL}, fitted to the handbook and to the airplane's own flights together",
        "the climb at best rate of the model fitted to both",
    ),
}
