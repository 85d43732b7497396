"""Where airports are: the study's own airfields first, then an open data package."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import airportsdata

from flyoff.comparison.terms import Airfield
from flyoff.core.figure import Input
from flyoff.core.units import ft

AIRPORT_DATA = f"airportsdata {airportsdata.__version__}, open data package"


@dataclass(frozen=True)
class Spot:
    """A place on the map."""

    code: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    source: str

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


def known_codes(airfields: Mapping[str, Airfield]) -> list[str]:
    """Return every code that can be found, for near-miss suggestions."""
    return [*airfields, *_airports()]
