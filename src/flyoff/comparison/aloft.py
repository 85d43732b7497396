"""Wind and temperature aloft, and what they are along a way.

A profile is written as levels in the study, or read from a sounding
(`flyoff.comparison.sounding`). Between levels the wind's components and the
temperature's deviation from standard are linear; beyond them the nearest holds.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from flyoff.core.figure import Input
from flyoff.core.quantity import Quantity
from flyoff.core.record import Length, Of, Record, Speed
from flyoff.core.typing import Array
from flyoff.core.units import degree
from flyoff.dossier.airplane import Name
from flyoff.physics.atmosphere import temperature_deviation
from flyoff.physics.geodesy import initial_course, points_along

_GAUSS = ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18))
"""Where along a way the wind is looked up, and what each counts: Gauss and Legendre's three points."""
_HEIGHTS = 5


class Level(Record):
    """Wind and temperature at one altitude."""

    altitude: Length = Field(description="Pressure altitude")
    direction: Annotated[Quantity, Of("angle")] = Field(description="True direction that the wind blows from")
    speed: Annotated[Quantity, Of("speed", at_least=0.0)] = Field(description="Wind speed")
    temperature: Annotated[Quantity, Of("temperature")] | None = Field(
        None, description="Static air temperature; standard and the terms' deviation without it"
    )


class Aloft(Record):
    """A wind and temperature profile: levels written here, or a sounding's file."""

    levels: tuple[Level, ...] = Field((), description="From the lowest up, or in any order")
    file: Name | None = Field(None, description="A sounding beside this file: text list or CSV")


class WindSpread(Record):
    """How the wind along a trip's track varies from flight to flight: mean and spread, or a table."""

    mean: Speed | None = Field(None, description="Mean head wind; negative for a tail wind")
    deviation: Annotated[Quantity, Of("speed", above=0.0)] | None = Field(
        None, description="Standard deviation of the head wind, taken as normal"
    )
    table: tuple[Speed, ...] = Field((), description="Head winds instead, each as likely as the next")

    @property
    def words(self) -> str:
        """The spread in words."""
        if self.table:
            return f"{len(self.table)} head winds, each as likely as the next"
        return f"head wind {self.mean}, standard deviation {self.deviation}"


@dataclass(frozen=True)
class Along:
    """The wind along one way: at each altitude, head and cross wind [m/s] at some points and their shares.

    `inputs` are what it rests on; `deviation_k` answers by altitude too.
    """

    levels_m: Array
    head_m_s: Array
    cross_m_s: Array
    deviation_k: Array
    shares: Array
    inputs: tuple[Input, ...] = ()

    def head(self, altitude_m: float) -> float:
        """Return the mean head wind at an altitude."""
        return float(self.shares @ self._at(self.head_m_s, altitude_m))

    def mean_head(self, low_m: float, high_m: float) -> float:
        """Return the mean head wind over a climb or descent."""
        return float(np.mean([self.head(h) for h in np.linspace(low_m, high_m, _HEIGHTS)]))

    def deviation(self, altitude_m: float) -> float:
        """Return the temperature less standard at an altitude."""
        return float(np.interp(altitude_m, self.levels_m, self.deviation_k))

    def ground_speed(self, true_airspeed_m_s: Array, altitude_m: float) -> Array:
        """Return the mean speed over the ground of the way; NaN where no way is made."""
        heads, crosses = (self._at(part, altitude_m) for part in (self.head_m_s, self.cross_m_s))
        if not np.any(crosses) and np.ptp(heads) == 0:
            made = np.asarray(true_airspeed_m_s - heads[0])
            return np.where(made > 0, made, np.nan)
        slowness: Array = np.zeros_like(np.asarray(true_airspeed_m_s))
        with np.errstate(invalid="ignore", divide="ignore"):
            for head, cross, share in zip(heads, crosses, self.shares, strict=True):
                made = np.sqrt(np.square(true_airspeed_m_s) - cross**2) - head
                slowness = slowness + share / np.where(made > 0, made, np.nan)
            return np.asarray(1 / slowness)

    def _at(self, parts: Array, altitude_m: float) -> Array:
        return np.array([np.interp(altitude_m, self.levels_m, part) for part in parts.T])


def steady(head_wind: Quantity, deviation: Quantity) -> Along:
    """Return the same head wind and deviation from standard at every altitude."""
    given = (("head wind", head_wind), ("ISA deviation", deviation))
    return Along(
        np.zeros(1),
        np.full((1, 1), head_wind.si),
        np.zeros((1, 1)),
        np.array([deviation.si]),
        np.ones(1),
        tuple(Input(label, str(q), q.place, q.source) for label, q in given),
    )


Ends = tuple[float, float, float, float]
"""Latitude and longitude of start and end [rad]."""


def along_way(name: str, levels: Sequence[Level], ends: Ends, deviation: Quantity) -> Along:
    """Return a profile's wind along the shortest line between two places."""
    rising = sorted(levels, key=lambda level: level.altitude.si)
    shares = np.array([share for _, share in _GAUSS])
    latitudes, longitudes = (np.asarray(x) for x in points_along(*ends, np.array([at for at, _ in _GAUSS])))
    courses = np.asarray(initial_course(latitudes, longitudes, ends[2], ends[3]))
    heads, crosses, deviations = [], [], []
    for level in rising:
        angle = level.direction.si - courses
        heads.append(level.speed.si * np.cos(angle))
        crosses.append(level.speed.si * np.sin(angle))
        deviations.append(_deviation(level, deviation))
    inputs = tuple(
        Input(
            f"aloft: {name}, {level.altitude}",
            f"{level.direction} {level.speed}" + (f", {level.temperature}" if level.temperature else ""),
            level.altitude.place,
            level.altitude.source,
        )
        for level in rising
    )
    altitudes = np.array([level.altitude.si for level in rising])
    return Along(altitudes, np.array(heads), np.array(crosses), np.array(deviations), shares, inputs)


def wind_at(levels: Sequence[Level], altitude_m: float) -> tuple[float, float]:
    """Return the wind's components towards north and east [m/s] at an altitude."""
    rising = sorted(levels, key=lambda level: level.altitude.si)
    at = [level.altitude.si for level in rising]
    north = [-level.speed.si * math.cos(level.direction.si) for level in rising]
    east = [-level.speed.si * math.sin(level.direction.si) for level in rising]
    return float(np.interp(altitude_m, at, north)), float(np.interp(altitude_m, at, east))


def _deviation(level: Level, otherwise: Quantity) -> float:
    if level.temperature is None:
        return otherwise.si
    return float(temperature_deviation(level.altitude.si, level.temperature.si))


def radians(latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    """Return a place in radians."""
    return latitude_deg * degree, longitude_deg * degree
