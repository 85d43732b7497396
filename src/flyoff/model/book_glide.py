"""Glides and stalls beside what the handbook says of them."""

import math
from collections.abc import Iterator

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import Input, format_number
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import ft, kt
from flyoff.model.book_climb import printed_speed
from flyoff.model.handbook import Handbook, sample_of
from flyoff.model.statement import BookPoint, Flown, statement_of, table_mass, unfit, weight_words
from flyoff.physics.atmosphere import temperature_deviation
from flyoff.physics.manoeuvre import stall_speed
from flyoff.reduction.airplane import MASS_U, Correction
from flyoff.reduction.glide import Glide
from flyoff.reduction.stall import Stall

_SAME_LIFT = "constant maximum lift coefficient, FAA-H-8083-25 (from memory)"
_POLAR = "CD = CD0 + CL² / (π A e): SFTE Reference Handbook, 2013, 12.6"
_CLEAN_RAD = 1e-3
MOST_SPEED_SHARE = 0.15
"""Airspeed off the handbook's that a glide ratio is carried over; common practice, no source."""


def glide_points(flown: Flown, handbook: Handbook) -> Iterator[BookPoint | str]:
    """Yield each glide beside the glide table, or why it cannot be."""
    polar = flown.reduction.standard.polar
    for glide in polar.glides if polar else ():
        why = unfit(flown.reduction.points[glide.point])
        at = f"{flown.name}, condition {glide.point}"
        yield f"{at}: {why}" if why else _glide(flown, handbook, glide)


def _glide(flown: Flown, handbook: Handbook, glide: Glide) -> BookPoint | str:
    point = flown.reduction.points[glide.point]
    altitude, temperature, cas = point.pressure_altitude, point.air.temperature, point.air.calibrated_airspeed
    assert altitude is not None  # a glide at standard conditions has all three
    assert temperature is not None
    assert cas is not None
    table = handbook.dossier.tables.get("glide")
    deviation_k = 0.0  # the angle of a glide is that of any air
    if table is not None and (table.axis("temperature") or table.axis("ISA deviation")):
        deviation_k = float(temperature_deviation(altitude.value, temperature.value))
    mass_kg = point.mass_kg or math.nan
    table_kg = table_mass(handbook, "glide", mass_kg)
    asked = printed_speed(handbook, "glide", altitude.value, deviation_k, table_kg)
    if asked is not None:
        asked *= math.sqrt(mass_kg / table_kg)  # the same lift coefficient at the weight flown
    if asked is not None and abs(asked / cas.value - 1) > MOST_SPEED_SHARE:
        return (
            f"{flown.name}, condition {glide.point}: glided at {format_number(cas.value / kt, 0)} kt "
            f"calibrated, the handbook's speed is {format_number(asked / kt, 0)} kt at this weight"
        )
    value = handbook.printed("glide", "glide ratio", altitude.value, deviation_k, table_kg)
    name = f"{flown.reduction.flight.name}#{glide.point}/glide ratio"
    ratio = flown.draws.about(name, glide.glide_ratio.value, COVERAGE_95 * glide.glide_ratio.u)
    words = f"{format_number(altitude.value / ft, -2)} ft, {format_number(cas.value / kt, 0)} kt calibrated"
    remarks = [*value.remarks, f"propeller {glide.propeller}"]
    if asked is None:
        remarks.append("the handbook gives no calibrated glide speed: the speed flown stands")
    at_book = ratio
    steps: tuple[Correction, ...] = ()
    if asked is not None and flown.reduction.standard.airplane.span_m is not None:
        at_book, steps = _at_speed(flown, glide, ratio, asked / cas.value)
    seen = flown.seen(glide.point, f"{glide.glide_ratio.value:.1f}")
    return BookPoint(
        statement_of("glide_ratio"), flown.name, str(glide.point), glide.point, words, altitude.value, ratio,
        at_book, sample_of(value), steps, seen, value.inputs, value.missing, (*remarks, *point.flags),
        point.extrapolated,
    )  # fmt: skip


def _at_speed(
    flown: Flown, glide: Glide, ratio: Array, speed_ratio: float
) -> tuple[Array, tuple[Correction, ...]]:
    """Return a glide ratio at the lift coefficient of the handbook's speed, along a parabolic polar."""
    airplane = flown.reduction.standard.airplane
    assert airplane.span_m is not None  # _glide has asked
    assert airplane.wing_area_m2 is not None  # no glide is reduced without
    flown_lift = glide.lift_coefficient.value
    lift = flown_lift / speed_ratio**2
    per_lift2 = airplane.wing_area_m2 / (math.pi * np.square(flown.effective_span_m(airplane.span_m)))
    drag = flown_lift / ratio + per_lift2 * (lift**2 - flown_lift**2)
    at = lift / np.maximum(drag, 0.1 * drag[0])
    return at, (Correction("airspeed, to the handbook's", float(ratio[0]), float(at[0]), "", _POLAR),)


def stall_points(flown: Flown, handbook: Handbook) -> Iterator[BookPoint | str]:
    """Yield each stall beside the handbook's stall speed for its flaps, at its takeoff weight."""
    speeds = handbook.dossier.airplane.speeds
    most = max((flap.si for flap in handbook.dossier.airplane.airframe.flap_settings), default=None)
    for stall in flown.reduction.standard.stalls:
        at = f"{flown.name}, stall at {stall.start}"
        if stall.flaps_rad is None:
            yield f"{at}: no flap setting is noted"
        elif stall.flaps_rad < _CLEAN_RAD:
            yield _stall(flown, handbook, stall, "clean", speeds.stall_clean if speeds else None)
        elif most is not None and abs(stall.flaps_rad - most) < _CLEAN_RAD:
            yield _stall(flown, handbook, stall, "landing", speeds.stall_landing if speeds else None)
        else:
            yield f"{at}: flaps neither clean nor fully extended"


def _stall(
    flown: Flown, handbook: Handbook, stall: Stall, setting: str, printed: Quantity | None
) -> BookPoint:
    airplane, speeds = handbook.dossier.airplane, handbook.dossier.airplane.speeds
    shown = stall.indicated if speeds and speeds.kind == "indicated" else stall.calibrated
    sample = _as_noted(flown, stall, is_calibrated=shown is stall.calibrated)
    standard_kg, book_kg = flown.reduction.standard.airplane.standard_mass_kg, airplane.weights.takeoff.si
    corrected, remarks = sample, stall.flags
    steps: tuple[Correction, ...] = ()
    if standard_kg is not None and "not corrected for weight: no weight is known" not in stall.flags:
        flown_kg = (
            standard_kg
            * float(np.prod([c.start / c.end for c in stall.corrections if c.name == "weight"])) ** 2
        )
        scale = float(stall_speed(1.0, book_kg, flown_kg)) / np.sqrt(flown.shared("weight", 1.0, MASS_U))
        corrected = sample * scale
        words = f"weight, {weight_words(handbook, flown_kg)} to {weight_words(handbook, book_kg)}"
        steps = (Correction(words, float(sample[0]), float(corrected[0]), "kt", _SAME_LIFT),)
        for step in (c for c in stall.corrections if c.name == "balance"):
            before = float(corrected[0])
            corrected = corrected * (step.end / step.start)
            steps = (*steps, Correction("balance", before, float(corrected[0]), "kt", step.source))
    flight = flown.reduction.flight
    seen = Input(
        f"{flown.name}: stall at {stall.start}",
        f"{format_number(stall.indicated.value / kt, 0)} kt indicated",
        Place(flight.name, stall.line, "indicated_airspeed"),
        flight.card.source,
    )
    given = () if printed is None else (
        Input(f"stall speed, {setting}", str(printed), printed.place, printed.source),
    )  # fmt: skip
    kind = "calibrated" if shown is stall.calibrated else "indicated"
    return BookPoint(
        statement_of(f"stall_speed_{setting}"), flown.name, f"stall-{stall.line}", None,
        f"{setting}, {kind}, at {stall.start}", None, sample, corrected,
        None if printed is None else flown.draws.sample(printed), steps, seen, given,
        "" if printed else f"the handbook gives no stall speed, {setting}", remarks,
    )  # fmt: skip


def _as_noted(flown: Flown, stall: Stall, *, is_calibrated: bool) -> Array:
    """Return a stall speed as a sample: its reading is its own, the calibration's doubt is the flight's."""
    name = f"{flown.reduction.flight.name}#stall {stall.line}"
    read = flown.draws.about(name, stall.indicated.value, COVERAGE_95 * stall.indicated.u)
    if not is_calibrated:
        return read
    shared = max(stall.calibrated.u**2 - stall.indicated.u**2, 0.0) ** 0.5
    added = stall.calibrated.value - stall.indicated.value
    return read + flown.shared("calibration at the stall", added, shared)
