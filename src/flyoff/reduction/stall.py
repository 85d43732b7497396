"""Stall speeds noted by hand, to standard weight and, where stated, to the forward limit of balance.

Weight: constant maximum lift coefficient (FAA-H-8083-25, from memory). Balance:
the tail's download falls as the balance moves aft, so that the lift at the
stall is that of the wing times 1 + (x − x_t) / l, with x the arm of the balance
and l the tail's arm (AC 23-8, stall speeds, from memory). In flight the maximum lift
coefficient varies by up to 14 % with the rate of approach, propeller and altitude
(NACA, Soulé and Hootman, 1937): fly stalls as the handbook's were flown.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flyoff.core.draws import COVERAGE_95
from flyoff.flights.card import NotedPoint
from flyoff.flights.read import Flight
from flyoff.physics.airspeed import equivalent_airspeed
from flyoff.physics.manoeuvre import lift_coefficient, stall_speed
from flyoff.reduction.airplane import MASS_U, Airplane, Correction
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.statistics import Estimate


@dataclass(frozen=True)
class Stall:
    """One stall: calibrated speed as noted and at standard weight and balance, and the lift coefficient."""

    line: int
    start: str
    flaps_rad: float | None
    indicated: Estimate
    calibrated: Estimate
    standard: Estimate
    lift_coefficient: Estimate | None
    corrections: tuple[Correction, ...]
    flags: tuple[str, ...]


def reduce_stalls(
    flight: Flight, masses_kg: Sequence[float | None], calibration: Calibration, airplane: Airplane
) -> tuple[Stall, ...]:
    """Return the stalls of a flight; `masses_kg` are those of its noted stalls, by the loading."""
    noted = [point for point in flight.card.points if point.kind == "stall"]
    return tuple(
        _stall(point, mass_kg, calibration, airplane)
        for point, mass_kg in zip(noted, masses_kg, strict=True)
        if point.indicated_airspeed is not None
    )


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
