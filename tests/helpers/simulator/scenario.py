"""What a simulated flight is: the airplane, the air, the instruments, the faults, and what is flown."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Engine:
    """A naturally aspirated engine with a governed propeller: simple laws of our own."""

    rated_hp: float
    specific_consumption_lb_hp_h: float = 0.45
    propeller_efficiency: float = 0.83
    efficiency_speed_kt: float = 38.0
    windmilling_drag_area_ft2: float = 0.9


@dataclass(frozen=True)
class WindLayer:
    """The mean wind at a height above sea level."""

    altitude_ft: float
    from_deg: float
    speed_kt: float


@dataclass(frozen=True)
class PositionError:
    """The airspeed system's error: straight lines between knots, constant outside.

    With source ``static`` the pressure altitude carries the same error of static pressure.
    """

    source: Literal["pitot", "static"]
    cas_kt: tuple[float, ...]
    ias_minus_cas_kt: tuple[float, ...]


@dataclass(frozen=True)
class Step:
    """One scripted condition, flown after getting there and settling down.

    A level step is held at `altitude_ft` for `hold_s`; a climb or glide passes
    from `altitude_ft` to `until_ft` (indicated pressure altitudes). `wave_fpm`
    is the peak of a rise of air (sinking if negative) that swells and ebbs
    over the step; `rising_fpm` is one that stays all through it, evenly;
    `wind_change_kt` is added to the wind, towards north and east, before it.
    """

    kind: Literal["level", "climb", "glide"]
    ias_kt: float
    heading_deg: float
    altitude_ft: float
    until_ft: float = 0.0
    settle_s: float = 105.0
    hold_s: float = 80.0
    group: str = ""
    wave_fpm: float = 0.0
    rising_fpm: float = 0.0
    wind_change_kt: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Fault:
    """A fault of the recorder, from `offset_s` after the start of a step's scripted stretch.

    ``frozen`` repeats the satellite readings, ``gap`` leaves rows out, ``spike``
    and ``blank`` spoil a column, ``repeat`` writes a clock second twice and skips the next.
    """

    kind: Literal["frozen", "gap", "spike", "blank", "repeat"]
    step: int
    offset_s: float
    seconds: int = 1
    column: str = ""


@dataclass(frozen=True)
class Recorder:
    """Noise (standard deviation), resolution, errors that stay, and what the flight file says of those."""

    ias_noise_kt: float = 0.5
    speed_noise_kt: float = 0.12
    altitude_noise_ft: float = 4.0
    temperature_noise_c: float = 0.1
    ias_step_kt: float = 1.0
    speed_step_kt: float = 0.1
    track_step_deg: float = 1.0
    temperature_step_c: float = 0.5
    altitude_step_ft: float = 1.0
    altimeter_error_ft: float = 0.0
    temperature_error_c: float = 0.0
    recovery: float = 0.8
    probe_lag_s: float = 12.0
    says_instruments: bool = True
    cut_last_line: bool = False
    blanks: int = 40


@dataclass(frozen=True)
class Scenario:
    """Everything about one flight; the same scenario is the same flight, to the last digit."""

    name: str
    seed: int
    airplane: Literal["parabola", "table"]
    load_lb: float
    isa_deviation_c: float
    altimeter_setting_hpa: float
    wind: tuple[WindLayer, ...]
    error: PositionError
    steps: tuple[Step, ...]
    gust_kt: float = 0.7
    vertical_gust_kt: float = 0.35
    wander_kt: float = 0.3
    recorder: Recorder = Recorder()
    faults: tuple[Fault, ...] = ()


ENGINES = {"parabola": Engine(180.0), "table": Engine(225.0, 0.47)}
"""The engine of each airplane."""
