"""Climb after takeoff, the service ceiling, and how far a glide goes.

Not for flight planning or operational use: the approved flight manual governs.
"""

from dataclasses import replace

import numpy as np

from flyoff.comparison.at_weight import nominal_kg, weight_figure
from flyoff.comparison.case import Case, Method
from flyoff.core.figure import Figure, Input, format_number
from flyoff.core.units import ft
from flyoff.model.handbook import Value, sample_of
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.climb import climb_angle
from flyoff.physics.glide import glide_range

_SFTE = "SFTE Reference Handbook, 2013, 12"
_CEILING = "14 CFR 1.1 and common practice: 100 ft/min left (from memory)"


def _weight(case: Case) -> tuple[float, str, Input]:
    """Return the weight at takeoff on the terms, why it cannot be had, and the figure it is."""
    figure = weight_figure(case)
    return nominal_kg(case), figure.missing, Input(figure.label, str(figure), figure=figure.key)


def climb_out_figures(
    case: Case, air: tuple[float, float], given: tuple[Input, ...], name: str, where: str
) -> list[Figure]:
    """Return rate and gradient of climb in still air; `air` is pressure altitude [m] and ISA deviation [K].

    `given` is what says so.
    """
    altitude_m, deviation_k = air
    mass_kg, missing, weight = _weight(case)
    out = case.evidence.climb_out(altitude_m, deviation_k, mass_kg)
    rate, speed = sample_of(out.rate), sample_of(out.true_airspeed)
    altitude = f"{format_number(altitude_m / ft, 0)} ft, ISA {format_number(deviation_k, 0)} °C"
    terms = {"altitude": altitude}
    inputs = (weight, *given, *out.rate.inputs)
    extrapolated = out.rate.extrapolated
    gradient = None if rate is None or speed is None else np.tan(climb_angle(rate, speed))
    return [
        case.figure(
            f"{name}_rate",
            f"Rate of climb{where}",
            ("ft/min", "speed"),
            None if missing else rate,
            case.read("the climb table's rate of climb" if case.kind == "handbook" else case.reading.climb),
            inputs,
            basis=case.reading.basis,
            terms=terms,
            missing=missing or out.rate.missing,
            remarks=out.rate.remarks,
            extrapolated=extrapolated,
        ),
        case.figure(
            f"{name}_gradient",
            f"Gradient of climb{where}",
            ("%", "ratio"),
            None if missing else gradient,
            Method("tangent of the angle whose sine is rate of climb over true airspeed; still air", _SFTE),
            (*inputs, *out.true_airspeed.inputs),
            basis=case.reading.basis,
            terms=terms,
            missing=missing or out.rate.missing or out.true_airspeed.missing,
            remarks=tuple(dict.fromkeys((*out.rate.remarks, *out.true_airspeed.remarks))),
            extrapolated=extrapolated,
        ),
    ]


def performance_figures(case: Case) -> list[Figure]:
    """Return climb at sea level, service ceiling, and glide range from the altitude of the terms."""
    deviation_k = case.terms.isa_deviation.si
    said = case.terms.isa_deviation
    given = (Input("ISA deviation", str(said), said.place, said.source),)
    climb = climb_out_figures(case, (0.0, deviation_k), given, "climb", " after takeoff")
    return [*climb, _ceiling(case, deviation_k), _glide(case)]


def _ceiling(case: Case, deviation_k: float) -> Figure:
    mass_kg, missing, weight = _weight(case)
    found = case.evidence.service_ceiling(deviation_k, mass_kg)
    return case.figure(
        "service_ceiling",
        "Service ceiling",
        ("ft", "length"),
        None if missing else sample_of(found),
        Method("pressure altitude at which the best rate of climb is 100 ft/min", _CEILING),
        (weight, *found.inputs),
        basis=case.reading.basis,
        missing=missing or found.missing,
        remarks=found.remarks,
        extrapolated=found.extrapolated,
    )


def _glide(case: Case) -> Figure:
    """Return the distance of a glide from the terms' altitude to sea level against the terms' wind."""
    terms = case.terms
    mass_kg, missing = case.masses_kg(case.loading.mass_kg)[1], _weight(case)[1]
    glide = case.evidence.best_glide(mass_kg)
    middle_m = terms.altitude.si / 2
    kelvin = float(temperature_at_altitude(middle_m)) + terms.isa_deviation.si
    root = float(density_ratio(middle_m, kelvin)) ** 0.5
    ratio, speed = sample_of(glide.ratio), sample_of(glide.equivalent_airspeed)
    sample, lacking = None, glide.ratio.missing
    remarks = glide.ratio.remarks
    speed_value: Value = glide.equivalent_airspeed
    if ratio is not None and terms.wind.si == 0:
        sample = np.asarray(glide_range(terms.altitude.si, ratio))
        speed_value = replace(speed_value, inputs=())
    elif ratio is not None and speed is not None:
        sample = np.asarray(glide_range(terms.altitude.si, ratio, speed / root, terms.wind.si))
        remarks = tuple(dict.fromkeys((*remarks, *speed_value.remarks)))
    else:
        lacking = lacking or speed_value.missing
    asked = (("height above the ground", terms.altitude), ("head wind", terms.wind))
    return case.figure(
        "glide_range",
        f"Glide range from {terms.altitude}",
        ("nmi", "length"),
        None if missing else sample,
        Method(
            "height times glide ratio, less what the head wind takes in the time of the glide; true airspeed"
            " as half way down",
            "FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge; arithmetic",
        ),
        (
            *(Input(label, str(q), q.place, q.source) for label, q in asked),
            *glide.ratio.inputs,
            *speed_value.inputs,
        ),
        basis=case.reading.basis,
        missing=missing or lacking,
        remarks=remarks,
        extrapolated=glide.ratio.extrapolated,
    )
