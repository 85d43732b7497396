"""The terms: what every airplane of a comparison is held to alike."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.comparison.evidence import Kind
from flyoff.comparison.standard_people import PersonWeight
from flyoff.core.quantity import Quantity
from flyoff.core.record import (
    Density,
    Duration,
    Length,
    Mass,
    Money,
    Of,
    Ratio,
    Record,
    Speed,
    TemperatureDifference,
    Text,
)
from flyoff.dossier.airplane import FuelKind, Name
from flyoff.dossier.ownership import FlyingTime, OwnershipCosts

Currency: TypeAlias = Literal["EUR", "USD", "GBP", "CHF", "SEK", "NOK", "DKK", "ISK", "CAD", "AUD", "NZD"]


class Occupant(Record):
    """A person of the comparison's crew."""

    name: Name
    weight: PersonWeight = Field(description="With clothes and pockets; or the name of a standard weight")


class FuelTerms(Record):
    """Density and price of one fuel."""

    kind: FuelKind
    density: Density
    price: Annotated[Quantity, Of("money")] | None = Field(None, description="Price of one price_unit")
    price_unit: Literal["L", "US gal"] = "L"


class Terms(Record):
    """One set of terms governs a comparison."""

    evidence: Kind = Field(
        "handbook",
        description="What every speed, fuel flow, climb and range rests on: handbook, the printed tables; "
        "measured, the airplane's own flights alone; fitted, both together",
    )
    equipment: tuple[Name, ...] = Field((), description="Equipment that every airplane must have")
    power: Ratio = Field(description="Cruise power of rated power")
    altitude: Length = Field(description="Pressure altitude of cruise")
    isa_deviation: TemperatureDifference = Field(description="Air temperature less standard")
    occupants: tuple[Occupant, ...] = Field(min_length=1, description="People aboard")
    bags: Mass = Field(description="Baggage in all")
    reserve: Duration = Field(description="Reserve as time at the cruise fuel flow")
    reserve_rule: Text = Field("", description="Where the reserve comes from")
    wind: Speed = Field(description="Head wind on every trip; negative for a tail wind")
    fuels: tuple[FuelTerms, ...] = Field(min_length=1)
    altitudes: tuple[Length, ...] = Field((), description="Pressure altitudes to draw cruise speed over")

    def fuel(self, kind: str) -> FuelTerms | None:
        """Return the terms of one fuel, or None."""
        return next((fuel for fuel in self.fuels if fuel.kind == kind), None)


class Trip(Record):
    """A trip that every airplane is asked to make."""

    name: Name
    start: Name = Field(description="ICAO code of the airport, or a place of this study")
    end: Name = Field(description="ICAO code of the airport, or a place of this study")
    occupants: int | None = Field(None, ge=1, le=20, description="People aboard, where fewer than the terms'")
    bags: Mass | None = None


class Airfield(Record):
    """A place that the airport data lacks or has wrong."""

    name: Name
    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    elevation: Length
    source: Name | None = None


class Exchange(Record):
    """What one unit of another currency is worth in the study's."""

    currency: Currency
    worth: Money
    source: Name | None = None


class MoneyTerms(Record):
    """Whose money and which year."""

    currency: Currency
    year: int = Field(ge=1900, le=2200)
    yearly_increase: Ratio | None = Field(None, description="Declared index: prices rise by this a year")
    exchange: tuple[Exchange, ...] = ()


class Ownership(OwnershipCosts):
    """How much is flown, for how long it is kept, and what owning and flying costs."""

    hours: FlyingTime = Field(description="Flown in a year")
    years: int = Field(ge=1, le=50, description="Years that the airplane is kept")
