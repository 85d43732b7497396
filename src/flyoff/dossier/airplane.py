"""What an aircraft file may say."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.core.quantity import Quantity
from flyoff.core.record import (
    Angle,
    Area,
    Arm,
    Doubt,
    Length,
    Mass,
    Money,
    Of,
    Power,
    Record,
    Rotation,
    Size,
    SoundLevel,
    SpecificConsumption,
    Speed,
    TemperatureDifference,
    Text,
    Volume,
)
from flyoff.dossier.ownership import OwnershipCosts

FuelKind: TypeAlias = Literal["avgas", "mogas", "jet-a1", "diesel"]
TableKind: TypeAlias = Literal["cruise", "climb", "takeoff", "landing", "power", "glide", "airspeed"]
Name: TypeAlias = Annotated[Text, Field(min_length=1, max_length=80)]


class Weights(Record):
    """The weights of the example described, and the certified limits."""

    empty: Mass = Field(
        description="Empty weight of the airplane as described, with unusable fuel and full oil"
    )
    empty_arm: Arm = Field(description="Arm of the empty weight aft of the datum")
    takeoff: Mass = Field(description="Maximum takeoff weight")
    ramp: Mass | None = Field(None, description="Maximum ramp weight, where the manual has one")
    landing: Mass | None = Field(None, description="Maximum landing weight, where it differs from takeoff")
    zero_fuel: Mass | None = Field(None, description="Maximum zero fuel weight, where the manual has one")
    includes: tuple[Name, ...] = Field((), description="Options that the empty weight already has")


class Tank(Record):
    """One tank, or a pair that is used as one."""

    name: Name
    usable: Annotated[Quantity, Of("volume", above=0.0, at_most=10.0)] = Field(description="Usable fuel")
    arm: Arm
    fuel: FuelKind


class Station(Record):
    """A place for people or bags. A row of seats is one station."""

    name: Name
    arm: Arm
    seats: int = Field(0, ge=0, le=20, description="Seats in this row; none for a baggage compartment")
    limit: Mass | None = Field(None, description="Most weight that may be put here")


class EnvelopePoint(Record):
    """A corner of an envelope."""

    weight: Mass
    arm: Arm


class Envelope(Record):
    """Weights and arms within which the airplane may be flown, corners in order round the edge."""

    name: Name
    points: tuple[EnvelopePoint, ...] = Field(min_length=3)


class Option(Record):
    """Equipment that can be added."""

    name: Name
    weight: Mass
    arm: Arm
    price: Money | None = Field(None, description="List price; leave out where none is published")
    price_year: int | None = Field(None, ge=1900, le=2200)
    speed: Speed | None = Field(None, description='Effect on cruise true airspeed, such as "-3 kt"')
    provides: tuple[Name, ...] = Field(
        (), description="Equipment in the study's words that this option gives"
    )
    excludes: tuple[Name, ...] = ()
    needs: tuple[Name, ...] = ()


class Engine(Record):
    """One engine's data; `count` of them."""

    count: int = Field(1, ge=1, le=4)
    rated_power: Power
    rated_speed: Rotation
    ignition: Literal["spark", "compression"] = "spark"
    aspiration: Literal["normal", "turbocharged"] = "normal"
    critical_altitude: Length | None = None
    displacement: Annotated[Quantity, Of("volume", above=0.0)] | None = None
    cylinders: int | None = Field(None, ge=1, le=24)
    compression_ratio: float | None = Field(None, gt=1, lt=30)
    fuel: FuelKind
    specific_consumption: SpecificConsumption | None = None
    time_between_overhauls: Annotated[Quantity, Of("time", above=0.0)] | None = None


class Propeller(Record):
    """The propeller."""

    kind: Literal["fixed pitch", "constant speed"]
    diameter: Size
    blades: int = Field(ge=2, le=8)


class Airframe(Record):
    """Geometry and configuration."""

    wing_area: Area
    span: Size
    gear: Literal["fixed", "retractable"]
    flap_settings: tuple[Angle, ...] = ()
    wing: Literal["low", "mid", "high"] | None = None
    gear_drag_area: Area | None = Field(None, description="Drag area that the gear adds when it is down")
    flap_drag_area: Area | None = Field(None, description="Drag area that full flaps add")


class Speeds(Record):
    """Limiting and reference speeds; say in `kind` which airspeed they are."""

    kind: Literal["indicated", "calibrated"] = "indicated"
    never_exceed: Speed | None = None
    normal_operating: Speed | None = None
    manoeuvring: Speed | None = None
    flap: Speed | None = None
    gear: Speed | None = None
    stall_clean: Speed | None = None
    stall_takeoff: Speed | None = None
    stall_landing: Speed | None = None
    rotation: Speed | None = None
    best_rate: Speed | None = None
    best_angle: Speed | None = None
    best_glide: Speed | None = None
    approach: Speed | None = None


class Door(Record):
    """A door: where, how wide and high, how far its sill is above the ground."""

    name: Name
    width: Size
    height: Size
    sill: Size | None = None


class Cabin(Record):
    """What a ruler says of the cabin."""

    width: Size | None = None
    height: Size | None = None
    length: Size | None = None
    baggage_volume: Volume | None = None
    noise: SoundLevel | None = None
    doors: tuple[Door, ...] = ()


class Price(Record):
    """A price and the year it was asked in."""

    amount: Money
    year: int = Field(ge=1900, le=2200)


class Cruise(Record):
    """How this airplane's cruise evidence is to be read."""

    speed_u95: Doubt | None = Field(None, description="Declared 95 % doubt of the handbook's cruise speeds")
    fuel_u95: Doubt | None = Field(None, description="Declared 95 % doubt of the handbook's fuel flows")


class TableFile(Record):
    """One handbook table: a CSV file and what holds for all of it."""

    kind: TableKind
    file: Name = Field(description="CSV file, beside the aircraft file")
    axes: tuple[Name, ...] = Field(min_length=1, description="Columns that the table is entered with")
    source: Name | None = None
    page: Text = ""
    weight: Mass | None = Field(None, description="Weight that the table holds for")
    isa_deviation: TemperatureDifference | None = Field(
        None, description="Temperature less standard that the table holds for"
    )
    mixture: Literal["best power", "best economy", "lean of peak", "full rich", "automatic"] | None = None
    gear: Literal["up", "down"] | None = None
    flaps: Angle | None = None
    head_wind_tenth: Annotated[Quantity, Of("speed", above=0.0)] | None = Field(
        None, description="Head wind that takes a tenth off a distance, where the table's notes say so"
    )
    tail_wind_tenth: Annotated[Quantity, Of("speed", above=0.0)] | None = Field(
        None, description="Tail wind that adds a tenth to a distance, where the table's notes say so"
    )
    dry_grass: Annotated[Quantity, Of("ratio", at_least=0.0, at_most=1.0)] | None = Field(
        None, description="Share of the ground roll that dry grass adds, where the table's notes say so"
    )
    note: Text = ""


class Allowances(Record):
    """Fuel that a flight uses outside climb, cruise and descent."""

    taxi_fuel: Volume | None = Field(None, description="Fuel for start, taxi and run-up")


class Airplane(Record):
    """An aircraft file."""

    name: Name
    maker: Name
    place: Text = Field("", description="Where it is made")
    year: int = Field(ge=1900, le=2200, description="Model year described")
    source: Name = Field(description="Default source of every value here: a key of sources.toml")
    summary: Text = ""
    standard_equipment: tuple[Name, ...] = Field(
        (), description="Equipment in the study's words, as standard"
    )
    weights: Weights
    tanks: tuple[Tank, ...] = Field(min_length=1)
    fuel_order: tuple[Name, ...] = Field(
        (), description="Tanks in the order in which they are emptied; without it all are drawn on by size"
    )
    stations: tuple[Station, ...] = Field(min_length=1)
    envelopes: tuple[Envelope, ...] = Field(min_length=1)
    options: tuple[Option, ...] = ()
    engine: Engine
    propeller: Propeller
    airframe: Airframe
    speeds: Speeds = Speeds()
    cabin: Cabin = Cabin()
    price: Price | None = None
    ownership: OwnershipCosts = Field(
        OwnershipCosts(), description="Costs of this airplane where they differ from the study's"
    )
    cruise: Cruise = Cruise()
    allowances: Allowances = Allowances()
    tables: tuple[TableFile, ...] = ()

    @property
    def seats(self) -> int:
        """Seats in all rows."""
        return sum(station.seats for station in self.stations)

    def option(self, name: str) -> Option:
        """Return the option of that name.

        Raises
        ------
        KeyError
            If there is none.
        """
        for option in self.options:
            if option.name == name:
                return option
        raise KeyError(name)
