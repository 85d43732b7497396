"""Where airports are: the study's own airfields first, then an open data package."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import airportsdata
from pydantic import Field

from flyoff.core.figure import Input
from flyoff.core.record import Length, Record
from flyoff.core.units import degree, ft
from flyoff.dossier.airplane import Name
from flyoff.physics.geodesy import geodesic_distance

AIRPORT_DATA = f"airportsdata {airportsdata.__version__}, open data package"


class Airfield(Record):
    """A place that the airport data lacks or has wrong."""

    name: Name
    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    elevation: Length
    source: Name | None = None


@dataclass(frozen=True)
class Spot:
    """A place on the map."""

    code: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    source: str

    @property
    def known(self) -> bool:
        """Whether anybody knows where it is."""
        return not math.isnan(self.latitude_deg)

    def as_input(self) -> Input:
        """Return the place as an input of a figure."""
        text = f"{self.name} ({self.latitude_deg:.4f}, {self.longitude_deg:.4f})"
        return Input(f"position of {self.code}", text, source=self.source)


@cache
def _airports() -> Mapping[str, Mapping[str, object]]:
    airports: Mapping[str, Mapping[str, object]] = airportsdata.load("ICAO")
    return airports


def find_spot(code: str, airfields: Mapping[str, Airfield]) -> Spot | None:
    """Return the place of that code, or None where nobody knows it."""
    if code in airfields:
        own = airfields[code]
        return Spot(code, own.name, own.latitude, own.longitude, own.elevation.si, own.source or "this study")
    row = _airports().get(code)
    if row is None:
        return None
    return Spot(
        code,
        str(row["name"]),
        float(str(row["lat"])),
        float(str(row["lon"])),
        float(str(row["elevation"])) * ft,
        AIRPORT_DATA,
    )


def nowhere(code: str) -> Spot:
    """Return the place of a code that nobody knows."""
    return Spot(code, code, math.nan, math.nan, math.nan, "")


def known_codes(airfields: Mapping[str, Airfield]) -> list[str]:
    """Return every code that can be found, for near-miss suggestions."""
    return [*airfields, *_airports()]


def most_used(trips: Sequence[tuple[object, Spot, Spot]]) -> tuple[Spot, ...]:
    """Return the known places of some trips, each once, the one that most begin at first."""
    starts = Counter(start.code for _, start, _ in trips)
    every = {spot.code: spot for _, *ends in trips for spot in ends if spot.known}
    return tuple(sorted(every.values(), key=lambda spot: -starts[spot.code]))


def distance_m(start: Spot, end: Spot) -> float:
    """Return the length of the shortest line between two places."""
    return float(
        geodesic_distance(
            start.latitude_deg * degree,
            start.longitude_deg * degree,
            end.latitude_deg * degree,
            end.longitude_deg * degree,
        )
    )
