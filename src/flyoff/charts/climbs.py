"""Rate of climb at standard conditions over calibrated airspeed, its curve, and the best if there is one."""

from flyoff.charts import fitted
from flyoff.charts.chart import members_words, printed
from flyoff.core.figure import format_number
from flyoff.core.units import fpm, ft, kt, lb
from flyoff.reduction.climb import Climbs
from flyoff.reduction.standard import Standard

_PAIRED, _ALONE, _BEST = "circle", "square", "diamond"


def _find(standard: Standard) -> Climbs | None:
    found = standard.climbs
    return found if found is not None and found.speeds else None


def _subtitle(found: Climbs) -> str:
    """Return what the marks mean."""
    weight = found.standard_mass_kg
    said = ["As flown" if weight is None else f"At {format_number(weight / lb, 0)} lb"]
    if any(s.is_paired for s in found.speeds):
        said.append("dots are means of reciprocal headings")
    if not all(s.is_paired for s in found.speeds):
        said.append("squares are of one heading")
    said.append(f"no best: {found.missing}" if found.best_speed is None else "the diamond is the best")
    if found.curve is not None:
        height = format_number(found.curve.pressure_altitude_m / ft, 0)
        said.append(f"the curve is a parabola at {height} ft, the mean of those near one height")
    return "; ".join([*said, "whiskers and band hold 95 %"])


def _seen(found: Climbs) -> list[fitted.Seen]:
    seen = [
        fitted.Seen(
            s.calibrated_airspeed_m_s / kt, s.rate.value / fpm, 0.0, s.rate.u95 / fpm,
            members_words(s.members), _PAIRED if s.is_paired else _ALONE,
        )
        for s in found.speeds
    ]  # fmt: skip
    speed, rate = found.best_speed, found.best_rate
    if speed is not None and rate is not None:
        best = (speed.value / kt, rate.value / fpm, speed.u95 / kt, rate.u95 / fpm)
        seen.append(fitted.Seen(*best, "best", _BEST))
    return seen


def _curve(found: Climbs) -> list[fitted.OnCurve]:
    if found.curve is None:
        return []
    rates = [(v, found.curve.rate_at(v)) for v in fitted.spread(found.curve.speeds_m_s)]
    return [fitted.OnCurve(v / kt, rate.value / fpm, rate.u95 / fpm) for v, rate in rates]


def _alt(found: Climbs) -> str:
    """Return the chart in words, from its numbers."""
    told = [
        f"{s.name if s.shape == _BEST else 'points ' + s.name}, {printed(s.y, s.half_y)} ± "
        f"{printed(s.half_y, s.half_y)} ft/min at {s.x:.0f} kt"
        for s in _seen(found)
    ]
    missing = f" No best: {found.missing}." if found.best_speed is None else ""
    return f"Rate of climb over calibrated airspeed: {'; '.join(told)}.{missing}"


CHART = fitted.Subject(
    _find, ("Calibrated airspeed, kt", "Rate of climb, ft/min"), _seen, _curve, _subtitle, _alt
).chart("climbs", "Rate of climb")
