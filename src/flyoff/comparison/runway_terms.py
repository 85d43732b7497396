"""The runways that every airplane is asked to use, and the margin that the reader wants on them."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.core.quantity import Quantity
from flyoff.core.record import Angle, Length, Of, Record, Speed
from flyoff.dossier.airplane import Name

Surface: TypeAlias = Literal["paved", "short grass", "long grass", "soft ground"]
Strip: TypeAlias = Annotated[Quantity, Of("length", above=0.0, at_most=10_000.0)]
Share: TypeAlias = Annotated[Quantity, Of("ratio", at_least=0.0, at_most=3.0)]


class Runway(Record):
    """A runway that every airplane is asked to use, in the direction and the weather said here."""

    name: Name
    airport: Name | None = Field(
        None, description="ICAO code, or a place of this study, whose elevation it has; or give `elevation`"
    )
    length: Strip = Field(description="Length for the takeoff run and over 50 ft")
    landing_length: Strip | None = Field(
        None, description="Length to land on, where the threshold is displaced"
    )
    elevation: Length | None = Field(None, description="Its elevation, where not the airport's")
    surface: Surface = "paved"
    wet: bool = Field(False, description="Whether the surface is wet")
    slope: Annotated[Quantity, Of("ratio", at_least=-0.1, at_most=0.1)] | None = Field(
        None, description="Slope in the direction of takeoff and landing, uphill positive"
    )
    direction: Angle | None = Field(None, description="Direction of takeoff and landing, with `wind_from`")
    wind: Speed | None = Field(
        None, description="Head wind along it, negative from behind; with `wind_from`, the wind itself"
    )
    wind_from: Angle | None = Field(None, description="Where the wind comes from, same north as `direction`")
    temperature: Annotated[Quantity, Of("temperature", at_least=200.0, at_most=340.0)] | None = Field(
        None, description="Air temperature; without it the terms' deviation from standard holds"
    )


class RunwayMargin(Record):
    """What the reader adds to every distance, and how much of a wind is counted."""

    takeoff: Share | None = Field(None, description="Added to each takeoff distance, such as `33 %`")
    landing: Share | None = Field(None, description="Added to each landing distance, such as `43 %`")
    head_wind: Share | None = Field(None, description="Share of a head wind that is counted; all without it")
    tail_wind: Share | None = Field(None, description="Share of a tail wind that is counted; all without it")
