"""Stall speeds noted by hand, to standard weight and, where stated, to the forward limit of balance.

Weight: constant maximum lift coefficient (FAA-H-8083-25, from memory). Balance:
the tail's download falls as the balance moves aft, so that the lift at the
stall is that of the wing times 1 + (x − x_t) / l, with x the arm of the balance
and l the tail's arm (AC 23-8, stall speeds, from memory). In flight the maximum lift
coefficient varies by up to 14 % with the rate of approach, propeller and altitude
(NACA, Soulé and Hootman, 1937): stall speeds are those of an entry that loses 1 kt a
second, read off a line through stalls at several entry rates, each flap setting its own (AC 23-8C,
stall speeds, from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.units import degree, kt
from flyoff.flights.card import NotedPoint
from flyoff.flights.read import Flight
from flyoff.physics.airspeed import equivalent_airspeed
from flyoff.physics.manoeuvre import lift_coefficient, stall_speed
from flyoff.reduction.airplane import MASS_U, Airplane, Correction
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.statistics import Estimate

STANDARD_ENTRY_M_S2 = 1.0 * kt
LEAST_ENTRY_SPREAD_M_S2 = 0.5 * kt
"""[m/s²] How far apart entry rates must be to show what they do; common practice, no source."""
SAME_FLAPS_RAD = 1 * degree
_ENTRY_SOURCE = "AC 23-8C, stall speeds by entry rate, from memory"


@dataclass(frozen=True)
class Stall:
    """One stall: calibrated speed as noted, and at standard weight, balance and entry; lift coefficient.

    `entry_rate_m_s2` is the airspeed lost each second on the way into it, None where not noted.
    """

    line: int
    start: str
    flaps_rad: float | None
    indicated: Estimate
    calibrated: Estimate
    standard: Estimate
    lift_coefficient: Estimate | None
    corrections: tuple[Correction, ...]
    flags: tuple[str, ...]
    entry_rate_m_s2: float | None = None


def reduce_stalls(
    flight: Flight, masses_kg: Sequence[float | None], calibration: Calibration, airplane: Airplane
) -> tuple[Stall, ...]:
    """Return the stalls of a flight; `masses_kg` are those of its noted stalls, by the loading."""
    noted = [point for point in flight.card.points if point.kind == "stall"]
    stalls = [
        _stall(point, mass_kg, calibration, airplane)
        for point, mass_kg in zip(noted, masses_kg, strict=True)
        if point.indicated_airspeed is not None
    ]
    return tuple(_at_standard_entry(stall, [s for s in stalls if _alike(s, stall)]) for stall in stalls)


def _alike(one: Stall, other: Stall) -> bool:
    if one.flaps_rad is None or other.flaps_rad is None:
        return one.flaps_rad is other.flaps_rad
    return abs(one.flaps_rad - other.flaps_rad) < SAME_FLAPS_RAD


def _at_standard_entry(stall: Stall, alike: Sequence[Stall]) -> Stall:
    """Return a stall at the standard entry rate, by a line through all stalls at its flap setting."""
    rate = stall.entry_rate_m_s2
    if rate is None:
        flag = "at the entry rate flown: none is noted"
        return replace(stall, flags=(*stall.flags, flag))
    noted = [s for s in alike if s.entry_rate_m_s2 is not None]
    rates = np.array([s.entry_rate_m_s2 for s in noted], dtype=np.float64)
    away = STANDARD_ENTRY_M_S2 - rate
    if np.ptp(rates) < LEAST_ENTRY_SPREAD_M_S2:
        if abs(away) < LEAST_ENTRY_SPREAD_M_S2:
            return stall
        flag = f"at an entry of {rate / kt:.1f} kt a second: no other entry rate shows what that does"
        return replace(stall, flags=(*stall.flags, flag))
    from_mean = rates - rates.mean()
    spread = float(from_mean @ from_mean)
    speeds = np.array([s.standard.value for s in noted])
    slope = float(from_mean @ speeds) / spread
    left = speeds - speeds.mean() - slope * from_mean
    scatter2 = float(left @ left) / (len(noted) - 2) if len(noted) > 2 else 0.0
    # the calibration, which all share, shifts the line but does not tilt it
    readings2 = float(np.mean([s.indicated.u**2 for s in noted]))
    u_slope = math.sqrt(max(readings2, scatter2) / spread)
    value = stall.standard.scaled(1.0, slope * away).widened(u_slope * away)
    step = Correction("entry rate", stall.standard.value, value.value, "kt", _ENTRY_SOURCE)
    return replace(stall, standard=value, corrections=(*stall.corrections, step))


def _stall(point: NotedPoint, mass_kg: float | None, calibration: Calibration, airplane: Airplane) -> Stall:
    written = point.indicated_airspeed
    assert written is not None  # reduce_stalls leaves these out
    u95 = written.u95_si
    u = written.half_digit_si / math.sqrt(3) if u95 is None else u95 / COVERAGE_95
    indicated = Estimate(written.si, u)
    correction = calibration.correction(written.si)
    calibrated = indicated.scaled(1.0, correction.value).widened(correction.u)
    steps = [
        Correction(
            "calibration", indicated.value, calibrated.value, "kt", f"calibration: {calibration.basis}"
        )
    ]
    flags = []
    if calibration.is_extrapolated(written.si):
        flags.append("the calibration is extrapolated to the stall")
    mass_kg = mass_kg if point.weight is None else point.weight.si
    standard = calibrated
    if mass_kg is None or airplane.standard_mass_kg is None:
        flags.append("not corrected for weight: no weight is known")
    else:
        value = float(stall_speed(calibrated.value, airplane.standard_mass_kg, mass_kg))
        steps.append(Correction("weight", standard.value, value, "kt", "constant maximum lift coefficient"))
        standard = calibrated.scaled(value / calibrated.value).widened(value * MASS_U / 2)
    arms = point.arm, airplane.forward_limit_m, airplane.tail_arm_m
    if arms[0] is not None and arms[1] is not None and arms[2] is not None:
        factor = math.sqrt(1 / max(1 + (arms[1] - arms[0].si) / arms[2], 0.5))
        steps.append(
            Correction(
                "balance", standard.value, standard.value * factor, "kt", "AC 23-8, stall speeds, from memory"
            )
        )
        standard = standard.scaled(factor)
    else:
        flags.append("at the balance flown: forward limit, tail arm or arm of the balance are not stated")
    return Stall(
        written.place.line, point.start, None if point.flaps is None else point.flaps.si, indicated,
        calibrated, standard, _lift(point, calibrated, mass_kg, airplane), tuple(steps), tuple(flags),
        None if point.entry_rate is None else point.entry_rate.si,
    )  # fmt: skip


def _lift(
    point: NotedPoint, calibrated: Estimate, mass_kg: float | None, airplane: Airplane
) -> Estimate | None:
    if mass_kg is None or airplane.wing_area_m2 is None or calibrated.value <= 0:
        return None
    altitude_m = 0.0 if point.pressure_altitude is None else point.pressure_altitude.si
    eas = float(equivalent_airspeed(calibrated_airspeed_m_s=calibrated.value, pressure_altitude_m=altitude_m))
    value = float(lift_coefficient(eas, mass_kg, airplane.wing_area_m2))
    return Estimate(value, value * math.hypot(2 * calibrated.u / calibrated.value, MASS_U))
