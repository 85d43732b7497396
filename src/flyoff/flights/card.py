"""What a flight file may say."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from flyoff.core.quantity import Quantity
from flyoff.core.record import (
    Angle,
    Area,
    Density,
    Duration,
    Length,
    Mass,
    Of,
    Power,
    Pressure,
    Ratio,
    Record,
    Rotation,
    Size,
    SoundLevel,
    SpecificConsumption,
    Speed,
    Temperature,
    TemperatureDifference,
    Volume,
)
from flyoff.flights.plan import Plan

Text: TypeAlias = Annotated[str, Field(min_length=1)]
Kind: TypeAlias = Literal["level", "climb", "descent"]
Mixture: TypeAlias = Literal["best power", "best economy", "lean of peak", "full rich", "automatic"]
Gear: TypeAlias = Literal["up", "down"]
Propeller: TypeAlias = Literal["feathered"]


class Occupant(Record):
    """A person or bags at a station of the airplane's dossier."""

    station: Text
    weight: Mass
    note: str = ""


class Loading(Record):
    """The airplane as it left the ramp: its weight, or what was in it."""

    ramp_weight: Mass | None = None
    fuel_at_start: Volume | None = None
    fuel_density: Density | None = None
    occupants: tuple[Occupant, ...] = ()


class AirplaneFacts(Record):
    """What takes a flight to standard conditions, where no dossier says it or this flight differs.

    `standard_weight` is the weight that results are brought to; `tail_arm` is from
    the forward limit of balance `forward_limit` to the tail's lift.
    """

    wing_area: Area | None = None
    span: Size | None = None
    standard_weight: Mass | None = None
    rated_power: Power | None = None
    rated_speed: Rotation | None = None
    specific_consumption: SpecificConsumption | None = None
    mixture: Mixture | None = None
    forward_limit: Length | None = None
    tail_arm: Size | None = None


class AirspeedCorrection(Record):
    """What to add to an indicated airspeed to have the calibrated one."""

    indicated: Speed
    add: Speed


class Instruments(Record):
    """What is known of the instruments, apart from what their log shows.

    `airspeed_resolution` and the like are needed only where a reading is
    rounded more coarsely than it is recorded. `magnetic_variation` is positive east.
    `static_source` says whether the airspeed's error is one of static pressure, so that
    the altimeter has it too, or of pitot pressure. `oat_lag` is the probe's time constant.
    """

    airspeed_correction: tuple[AirspeedCorrection, ...] = ()
    airspeed_correction_u95: Speed | None = None
    oat_recovery: Ratio | None = None
    oat_correction: TemperatureDifference | None = None
    oat_u95: TemperatureDifference | None = None
    oat_lag: Duration | None = None
    static_source: bool | Literal["unknown"] = "unknown"
    pressure_altitude_u95: Length | None = None
    fuel_flow_u95: Ratio | None = None
    airspeed_resolution: Speed | None = None
    altitude_resolution: Length | None = None
    oat_resolution: TemperatureDifference | None = None
    sound_level_u95: SoundLevel | None = None
    magnetic_variation: Angle | None = None


class LogColumn(Record):
    """Which column of a log is a channel, and its unit."""

    column: Text
    unit: Text


class LogClock(Record):
    """Where a log's rows say their time, and how.

    Several columns are joined by a space before they are read. `format` is
    ``iso``, ``unix s``, ``unix ms``, ``elapsed s``, ``elapsed ms``, or a
    pattern of strftime codes such as ``%d.%m.%Y %H:%M:%S``.
    """

    columns: Annotated[tuple[Text, ...], Field(min_length=1)]
    format: Text = "iso"
    zone: Text = "UTC"


class LogFile(Record):
    """One recorder file and what it means."""

    file: Text
    format: Literal["csv", "gpx", "igc"] = "csv"
    encoding: Literal["utf-8", "cp1252", "latin-1", "utf-16"] = "utf-8"
    separator: Annotated[str, Field(min_length=1, max_length=1)] = ","
    decimal: Literal[".", ","] = "."
    header_line: Annotated[int, Field(ge=1, le=1000)] = 1
    first_line: Annotated[int, Field(ge=1, le=2000)] | None = None
    clock: LogClock | None = None
    columns: dict[str, LogColumn] = Field(default_factory=dict)


class NotedPoint(Record):
    """A condition or a stall read off the instruments and written down by hand.

    An altitude is either a `pressure_altitude`, or an `indicated_altitude` with the
    `altimeter_setting` it was read at. `arm` is that of the balance, as in the dossier.
    """

    start: Text
    end: Text
    kind: Literal["level", "climb", "descent", "stall"] = "level"
    pressure_altitude: Length | None = None
    indicated_altitude: Length | None = None
    altimeter_setting: Pressure | None = None
    indicated_airspeed: Speed | None = None
    outside_air_temperature: Temperature | None = None
    rpm: Rotation | None = None
    manifold_pressure: Pressure | None = None
    ground_speed: Speed | None = None
    ground_track: Angle | None = None
    rate_of_climb: Speed | None = None
    fuel_flow: Annotated[Quantity, Of("volume_flow", at_least=0.0)] | None = None
    power_percent: Annotated[Quantity, Of("ratio", at_least=0.0)] | None = Field(
        None, description="Share of rated power, as an engine's own instrument or the power chart shows it"
    )
    mixture: Mixture | None = None
    weight: Mass | None = None
    arm: Length | None = None
    gear: Gear | None = None
    flaps: Angle | None = None
    propeller: Propeller | None = None
    entry_rate: Annotated[Quantity, Of("speed", at_least=0.0)] | None = Field(
        None, description="Airspeed lost each second on the way into a stall, such as `1 kt`"
    )
    note: str = ""


class ConditionEdit(Record):
    """The hand's word on a steady condition.

    ``accept`` puts a condition between these ends, in place of any found
    there; ``reject`` removes any found that lies mostly between them.
    """

    start: Text
    end: Text
    decision: Literal["accept", "reject"]
    kind: Kind | None = None
    mixture: Mixture | None = None
    gear: Gear | None = None
    flaps: Angle | None = None
    propeller: Propeller | None = None
    why: str = ""


class SteadyOverrides(Record):
    """Criteria for steady conditions, where the defaults do not serve."""

    shortest: Duration | None = None
    airspeed_drift: Speed | None = None
    level_rate: Speed | None = None


class FlightNote(Record):
    """A remark, perhaps with its time."""

    text: Text
    at: str = ""


class HandlingNote(Record):
    """A pilot's rating of one task, on the scale of NASA TN D-5153, and plain remarks.

    The three decisions are those that lead to the number; where they are written, they must agree with it.
    """

    task: Text
    rating: Annotated[int, Field(ge=1, le=10)]
    pilot: Text
    controllable: bool | None = None
    adequate: bool | None = None
    satisfactory: bool | None = None
    desired_performance: str = ""
    adequate_performance: str = ""
    flown_in: str = ""
    at: str = ""
    text: str = ""


class Remark(Record):
    """What a pilot or a passenger says of one side of the airplane, without a number."""

    about: Literal["ergonomics", "view", "landing", "takeoff", "ground", "stall", "comfort"]
    text: Text
    who: str = ""


class NoiseReading(Record):
    """Sound levels read in the cabin in one steady condition, and where the meter was held."""

    start: Text
    end: Text
    levels: Annotated[tuple[SoundLevel, ...], Field(min_length=1)]
    place: Text
    note: str = ""


class FlightFile(Record):
    """A day as flown, as written in ``flights/DATE.toml``."""

    date: Text
    aircraft: Text | None = None
    title: str = ""
    crew: tuple[str, ...] = ()
    source: str | None = None
    loading: Loading = Loading()
    airplane: AirplaneFacts = AirplaneFacts()
    instruments: Instruments = Instruments()
    steady: SteadyOverrides = SteadyOverrides()
    plan: Plan | None = None
    logs: tuple[LogFile, ...] = ()
    points: tuple[NotedPoint, ...] = ()
    conditions: tuple[ConditionEdit, ...] = ()
    notes: tuple[FlightNote, ...] = ()
    handling: tuple[HandlingNote, ...] = ()
    remarks: tuple[Remark, ...] = ()
    noise: tuple[NoiseReading, ...] = ()
