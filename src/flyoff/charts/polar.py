"""Drag over lift of the glides, and the parabola through them."""

import numpy as np

from flyoff.charts import fitted
from flyoff.charts.chart import Chart, printed
from flyoff.charts.style import SHAPES, Setting, Spec
from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import format_number
from flyoff.reduction.glide import Polar
from flyoff.reduction.run import Reduction

TITLE = "Glide polar"


def drawn(reduction: Reduction) -> bool:
    """Tell whether any glide was reduced."""
    return reduction.standard.polar is not None


def _found(reduction: Reduction) -> Polar:
    found = reduction.standard.polar
    if found is None:
        raise ValueError("no glide was reduced")
    return found


def _states(found: Polar) -> list[str]:
    return list(dict.fromkeys(g.propeller for g in found.glides))


def subtitle(reduction: Reduction) -> str:
    """Return what the marks mean."""
    found = _found(reduction)
    states, names = _states(found), ("dots", "squares", "triangles")
    marks = [f"{name} {state}" for name, state in zip(names, states, strict=False)]
    said = [f"Drag with the propeller’s, {', '.join(states if len(states) == 1 else marks)}"]
    if found.coefficients is None:
        said.append(f"no polar: {found.missing}")
    else:
        said.append("the curve is CD = CD0 + k CL²")
    return "; ".join([*said, "whiskers and band hold 95 %"])


def _seen(found: Polar) -> list[fitted.Seen]:
    states = _states(found)
    return [
        fitted.Seen(
            g.lift_coefficient.value, g.drag_coefficient.value, g.lift_coefficient.u95,
            g.drag_coefficient.u95, f"{g.point}", SHAPES[states.index(g.propeller) % len(SHAPES)],
        )
        for g in found.glides
    ]  # fmt: skip


def _curve(found: Polar) -> list[fitted.OnCurve]:
    if found.coefficients is None or found.covariance is None:
        return []
    curve = []
    for lift in fitted.spread([g.lift_coefficient.value for g in found.glides]):
        terms = np.array([1.0, lift**2])
        half = COVERAGE_95 * float(np.sqrt(terms @ found.covariance @ terms))
        curve.append(fitted.OnCurve(lift, float(terms @ found.coefficients), half))
    return curve


def chart(reduction: Reduction, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    found = _found(reduction)
    titles, axes = (TITLE, subtitle(reduction)), ("Lift coefficient CL", "Drag coefficient CD")
    return fitted.chart(titles, axes, _seen(found), _curve(found), setting)


def alt(reduction: Reduction) -> str:
    """Return the chart in words, from its numbers."""
    found = _found(reduction)
    told = [
        f"point {s.name}, CD {printed(s.y, s.half_y)} ± {printed(s.half_y, s.half_y)} "
        f"at CL {format_number(s.x, 2)}"
        for s in _seen(found)
    ]
    missing = f" No polar: {found.missing}." if found.coefficients is None else ""
    return f"Drag coefficient over lift coefficient of the glides: {'; '.join(told)}.{missing}"


CHART = Chart("polar", TITLE, drawn, subtitle, chart, alt)
