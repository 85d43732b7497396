"""The few numbers that say what an airplane does, each with its unit, bounds and prior.

A prior is what is known of an airplane of this class before anyone reads its
handbook or flies it. Each parameter is fitted as its distance from the prior
in standard deviations, so a fitted distance of 0 ± 1 says: nothing learnt.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from flyoff.core.typing import Floats
from flyoff.core.units import ft, hour, hp, lb
from flyoff.dossier.airplane import Airplane
from flyoff.dossier.read import Dossier

_PER_HP_H = lb / hp / hour
CONSUMPTION_SHARES = (0.45, 0.65, 0.85)
"""Shares of rated power between which specific consumption is taken as straight."""


@dataclass(frozen=True)
class Parameter:
    """One parameter: SI bounds and prior; `u_prior` is relative where `logarithmic`."""

    name: str
    label: str
    unit: str
    prior: float
    u_prior: float
    low: float
    high: float
    source: str
    logarithmic: bool = True

    def value(self, distance: Floats) -> Floats:
        """Return the value at a distance from the prior in standard deviations [SI]."""
        if self.logarithmic:
            return np.clip(self.prior * np.exp(self.u_prior * np.asarray(distance)), self.low, self.high)
        return np.clip(self.prior + self.u_prior * np.asarray(distance), self.low, self.high)

    def distance(self, value: float) -> float:
        """Return how far a value [SI] is from the prior, in standard deviations."""
        if self.logarithmic:
            return float(np.log(value / self.prior) / self.u_prior)
        return (value - self.prior) / self.u_prior

    @property
    def bounds(self) -> tuple[float, float]:
        """The bounds as distances from the prior."""
        return self.distance(self.low), self.distance(self.high)


@dataclass(frozen=True)
class Known:
    """What a dossier states for certain, SI; powers are of all engines together.

    `rotation_speeds` pairs shares of rated power with the propeller's speed
    in cruise; empty where none is printed, and rated speed is then meant.
    `mixture` is that of most cruise evidence; empty where none is stated.
    """

    key: str
    engines: int
    rated_power_w: float
    rated_rotation_speed_hz: float
    ignition: Literal["spark", "compression"]
    turbocharged: bool
    critical_altitude_m: float | None
    propeller: Literal["fixed pitch", "constant speed"]
    blades: int
    diameter_m: float
    wing_area_m2: float
    span_m: float
    retractable: bool
    takeoff_mass_kg: float
    specific_consumption_kg_j: float | None = None
    rotation_speeds: tuple[tuple[float, float], ...] = ()
    mixture: str = ""
    gear_drag_area_m2: float | None = None
    flap_drag_area_m2: float | None = None
    full_flaps_rad: float | None = None


@dataclass(frozen=True)
class Model:
    """An airplane: what is known of it and the values of its parameters [SI].

    A value may be an array of draws; results then have the draws last.
    """

    known: Known
    values: Mapping[str, Floats]

    def __getitem__(self, name: str) -> Floats:
        """Return the value of a parameter [SI]."""
        return self.values[name]


def known_of(dossier: Dossier) -> Known:
    """Return what a dossier states for certain."""
    airplane: Airplane = dossier.airplane
    engine, airframe = airplane.engine, airplane.airframe
    critical = engine.critical_altitude
    consumption = engine.specific_consumption
    gear, flaps = airframe.gear_drag_area, airframe.flap_drag_area
    return Known(
        key=dossier.key,
        engines=engine.count,
        rated_power_w=engine.count * engine.rated_power.si,
        rated_rotation_speed_hz=engine.rated_speed.si,
        ignition=engine.ignition,
        turbocharged=engine.aspiration == "turbocharged",
        critical_altitude_m=critical.si if critical else None,
        propeller=airplane.propeller.kind,
        blades=airplane.propeller.blades,
        diameter_m=airplane.propeller.diameter.si,
        wing_area_m2=airframe.wing_area.si,
        span_m=airframe.span.si,
        retractable=airframe.gear == "retractable",
        takeoff_mass_kg=airplane.weights.takeoff.si,
        specific_consumption_kg_j=consumption.si if consumption else None,
        gear_drag_area_m2=gear.si if gear else None,
        flap_drag_area_m2=flaps.si if flaps else None,
        full_flaps_rad=max((f.si for f in airframe.flap_settings), default=0.0) or None,
    )


def parameters_of(known: Known) -> tuple[Parameter, ...]:
    """Return the parameters of an airplane with the priors of its class."""
    propeller = _constant_speed() if known.propeller == "constant speed" else _fixed_pitch(known)
    return (*_airframe(known), *propeller, *_engine(known), *_consumption(known))


def two_evidences() -> tuple[Parameter, ...]:
    """Return what may set a handbook's airplane apart from the one that was flown."""
    return (
        Parameter(
            "handbook_drag_factor", "the handbook's drag over the flown airplane's", "", 1.0, 0.06, 0.6, 1.6,
            "common practice, no source: examples of one type differ by a few per cent in speed",
        ),
        Parameter(
            "handbook_consumption_factor", "the handbook's specific consumption over the flown engine's", "",
            1.0, 0.05, 0.6, 1.6, "common practice, no source: mixture as set and as printed",
        ),
    )  # fmt: skip


def _airframe(known: Known) -> tuple[Parameter, ...]:
    area_m2, span_m = known.wing_area_m2, known.span_m
    zero_lift = 0.024 if known.retractable else 0.031
    return (
        Parameter(
            "drag_area_m2", "zero-lift drag area", "m²", zero_lift * area_m2, 0.22, 0.010 * area_m2,
            0.080 * area_m2,
            "NASA SP-468, appendix (from memory): CD0 0.019 to 0.024 retractable, 0.028 to 0.036 fixed gear",
        ),
        Parameter(
            "effective_span_m", "effective span", "m", span_m * 0.75**0.5, 0.09, 0.5 * span_m, 1.05 * span_m,
            "public teaching texts: span efficiency 0.7 to 0.85 for airplanes of moderate aspect ratio",
        ),
        Parameter(
            "glide_drag_factor", "drag area in a glide over that under power", "", 1.2, 0.12, 0.95, 2.0,
            "common practice, no source: a windmilling propeller adds a tenth to a third, an idling "
            "engine takes some of it back",
        ),
    )  # fmt: skip


def _constant_speed() -> tuple[Parameter, ...]:
    return (
        Parameter(
            "figure_of_merit", "propeller efficiency over the ideal", "", 0.836, 0.0226, 0.6, 0.97,
            "NACA Report 640: 0.866 ± 0.009 of the ideal at power coefficients of light airplanes, "
            "0.04 to 0.10; the body takes 0 to 7 % of it (common practice, no source)",
        ),
        Parameter(
            "blade_drag_ratio", "drag over lift of the blades", "", 0.03, 0.015, -0.03, 0.12,
            "H. Glauert, The Elements of Aerofoil and Airscrew Theory (from memory); 0.020 to 0.033 fits the "
            "blades of NACA Report 640, by which of its points are asked",
            logarithmic=False,
        ),
    )  # fmt: skip


def _fixed_pitch(known: Known) -> tuple[Parameter, ...]:
    source = "NACA Report 640 at 15° to 25° blade angle, scaled from three blades"
    blades = known.blades / 3
    return (
        Parameter("polar_slope", "slope of the propeller polar", "", 1.6, 0.15, 0.8, 2.6, source),
        Parameter(
            "polar_drag_coefficient", "intercept of the propeller polar, its sign turned", "",
            -0.010 * blades, 0.006 * blades, -0.06, 0.1, source, logarithmic=False,
        ),
        Parameter(
            "power_coefficient", "power coefficient at rest", "", 0.085 * blades, 0.3, 0.01, 0.3, source
        ),
        Parameter(
            "power_coefficient_slope", "fall of the power coefficient with the advance ratio cubed", "",
            0.08 * blades, 0.3, 0.005, 0.3, source,
        ),
    )  # fmt: skip


def _engine(known: Known) -> tuple[Parameter, ...]:
    found = [
        Parameter(
            "full_power_factor", "full power over rated power", "", 1.0, 0.02, 0.8, 1.2,
            "common practice, no source: engines leave the works within a few per cent of their rating",
        ),
        Parameter(
            "lapse_loss_ratio", "share of power that does not thin out with the air", "", 0.1324, 0.02, 0.0,
            0.3, "R. F. Gagg, E. V. Farrar, SAE Transactions 29 (1934)", logarithmic=False,
        ),
        Parameter(
            "temperature_exponent", "exponent of power with temperature", "", 0.5, 0.1, -0.5, 1.5,
            "SFTE Reference Handbook (2013), 10.3: usually 0.5", logarithmic=False,
        ),
    ]  # fmt: skip
    if known.turbocharged:
        stated = known.critical_altitude_m
        found.append(
            Parameter(
                "critical_altitude_m", "critical altitude", "ft", stated if stated else 16_000 * ft,
                300.0 if stated else 1200.0, 0.0, 12_000.0,
                "the dossier" if stated else "common practice, no source", logarithmic=False,
            )
        )  # fmt: skip
    return tuple(found)


def _consumption(known: Known) -> tuple[Parameter, ...]:
    compression = known.ignition == "compression"
    stated = known.specific_consumption_kg_j
    typical = (0.37 if compression else 0.43) * _PER_HP_H
    rich, u_rich = (1.03, 0.03) if compression else (1.22, 0.10)
    low, high = 0.25 * _PER_HP_H, 0.75 * _PER_HP_H
    practice = "common practice, no source"
    return (
        Parameter(
            "specific_consumption_kg_j", "specific consumption at 65 % power", "lb/hp/h",
            stated if stated else typical, 0.05 if stated else 0.06, low, high,
            "the dossier" if stated else f"{practice}: 0.40 to 0.46 lb/hp/h, compression ignition below 0.40",
        ),
        Parameter(
            "low_power_consumption_factor", "specific consumption at 45 % over that at 65 %", "", 1.04, 0.04,
            0.7, 1.5, practice,
        ),
        Parameter(
            "high_power_consumption_factor", "specific consumption at 85 % over that at 65 %", "",
            1.03 if compression else 1.06, 0.05 if compression else 0.06, 0.7, 1.6,
            f"{practice}: few spark engines may be leaned to best economy at that power",
        ),
        Parameter(
            "full_power_consumption_factor", "specific consumption at full power over that at 65 %", "", rich,
            u_rich, 0.8, 1.8, f"{practice}; fuel/air 0.075 to 0.080 best power, 0.0625 best economy "
            "(SFTE Reference Handbook, 2013, ch. 10)",
        ),
    )  # fmt: skip
