"""The terms: what every airplane of a comparison is held to alike."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.comparison.aloft import Aloft, WindSpread
from flyoff.comparison.evidence import Kind
from flyoff.comparison.oxygen import OxygenRule
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
    Volume,
)
from flyoff.dossier.airplane import FuelKind, Name
from flyoff.dossier.ownership import FlyingTime, OwnershipCosts

SetMixture: TypeAlias = Literal["best power", "best economy", "lean of peak", "full rich"]
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


class Descent(Record):
    """How every airplane comes down from cruise: declared, not read from a handbook."""

    rate: Annotated[Quantity, Of("speed", above=0.0)] = Field(description="Rate of descent")
    airspeed: Annotated[Quantity, Of("ratio", above=0.2, at_most=1.5)] = Field(
        description="True airspeed, of that in cruise"
    )
    fuel_flow: Annotated[Quantity, Of("ratio", at_least=0.0, at_most=1.2)] = Field(
        description="Fuel flow, of that in cruise"
    )


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
    reserve_rule: Text = Field(
        "", description="Where the reserve comes from: a rule, such as 'US visual by day', or own words"
    )
    alternate: Annotated[Quantity, Of("length", at_least=0.0)] | None = Field(
        None, description="Distance beyond the end for which fuel is kept too"
    )
    wind: Speed = Field(description="Head wind on every trip; negative for a tail wind")
    wind_spread: WindSpread | None = Field(None, description="How the head wind varies from flight to flight")
    aloft: dict[str, Aloft] = Field(default_factory=dict, description="Winds aloft that trips may name")
    taxi_time: Duration | None = Field(
        None, description="From start to takeoff and from landing to stop, each flight"
    )
    taxi_fuel: Volume | None = Field(
        None, description="Burnt by every airplane for start, taxi and run-up, in place of what is printed"
    )
    ground_time: Duration | None = Field(None, description="On the ground at each fuel stop")
    descent: Descent | None = Field(None, description="How to come down; counted as cruise without it")
    oxygen_rule: OxygenRule | None = Field(
        None, description="Whose rule limits the altitude of an airplane without oxygen: US or European"
    )
    fuels: tuple[FuelTerms, ...] = Field(min_length=1)
    altitudes: tuple[Length, ...] = Field((), description="Pressure altitudes to draw cruise speed over")
    powers: tuple[Ratio, ...] = Field((), description="Further cruise powers to list over the altitudes")
    mixtures: tuple[SetMixture, ...] = Field(
        (), description="Mixtures to list over the altitudes, at the power above"
    )

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
    there_and_back: bool = Field(False, description="Whether it is flown back too, refuelled at the end")
    altitude: Length | None = Field(None, description="Pressure altitude, where not the terms'")
    best_altitude: Literal["time", "fuel"] | None = Field(
        None, description="Fly at the altitude of the terms that takes least time, or least fuel"
    )
    wind: Speed | None = Field(None, description="Head wind, where not the terms'")
    aloft: Name | None = Field(None, description="Wind and temperature instead: one of terms.aloft")
    wind_spread: WindSpread | None = Field(None, description="How its head wind varies, where not the terms'")
    alternate: Name | None = Field(None, description="ICAO code, or place, that fuel is kept to fly on to")
    alternate_distance: Annotated[Quantity, Of("length", at_least=0.0)] | None = Field(
        None, description="Or its distance from the end"
    )


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
