"""Drag over lift of the glides, and the parabola through them."""

import numpy as np

from flyoff.charts import fitted
from flyoff.charts.chart import printed
from flyoff.charts.style import SHAPES
from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import format_number
from flyoff.reduction.glide import Polar
from flyoff.reduction.standard import Standard


def _find(standard: Standard) -> Polar | None:
    return standard.polar


def _states(found: Polar) -> list[str]:
    return list(dict.fromkeys(g.propeller for g in found.glides))


def _subtitle(found: Polar) -> str:
    """Return what the marks mean."""
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


def _alt(found: Polar) -> str:
    """Return the chart in words, from its numbers."""
    told = [
        f"point {s.name}, CD {printed(s.y, s.half_y)} ± {printed(s.half_y, s.half_y)} "
        f"at CL {format_number(s.x, 2)}"
        for s in _seen(found)
    ]
    missing = f" No polar: {found.missing}." if found.coefficients is None else ""
    return f"Drag coefficient over lift coefficient of the glides: {'; '.join(told)}.{missing}"


CHART = fitted.Subject(
    _find, ("Lift coefficient CL", "Drag coefficient CD"), _seen, _curve, _subtitle, _alt
).chart("polar", "Glide polar")
