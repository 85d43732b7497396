"""What a flight file may say of a flight still to be planned."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.core.record import Duration, Length, Ratio, Record, TemperatureDifference, Volume

Wanted: TypeAlias = Literal["range", "cruise speed", "rate of climb", "glide ratio", "fuel flow"]


class Plan(Record):
    """A flight to be planned by `flyoff plan`: what there is for it, and what it is for."""

    time: Duration = Field(description="From chocks to chocks")
    airfield_elevation: Length = Field(description="Elevation of the airfield it starts from and lands at")
    lowest: Length | None = Field(
        None, description="Lowest pressure altitude to test at; without it 2,000 ft above the airfield"
    )
    highest: Length | None = Field(
        None, description="Highest pressure altitude to test at; without it 8,000 ft above the airfield"
    )
    reserve_fuel: Volume | None = Field(
        None, description="Fuel that stays in the tanks; without it 45 minutes of cruise"
    )
    figures: Annotated[tuple[Wanted, ...], Field(min_length=1)] = Field(
        ("range", "cruise speed", "rate of climb"), description="Figures that the flight is to make surer"
    )
    cruise_altitude: Length | None = Field(
        None, description="Pressure altitude of range and cruise speed; without it the highest to test at"
    )
    cruise_power: Ratio | None = Field(
        None, description="Share of rated power of range and cruise speed; without it 65 %"
    )
    isa_deviation: TemperatureDifference | None = Field(
        None, description="Temperature of the day less standard, to foretell speeds and times"
    )
    prior_flights: tuple[str, ...] = Field(
        (), description="Flights already flown with this airplane, by name, whose points count as known"
    )
