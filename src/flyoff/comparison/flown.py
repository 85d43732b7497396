"""What was flown beside what the handbook prints."""

from collections.abc import Sequence

from flyoff.comparison.case import Case, Method
from flyoff.comparison.results import FlownPoint
from flyoff.core.figure import Figure, difference, format_number
from flyoff.core.units import ft, hour, us_gal
from flyoff.model.book import BookPoint
from flyoff.physics import atmosphere

SPEED = ("kt", "speed")
_FLOWN = Method(
    "reduced from the recorder's log: true airspeed of a steady level condition", "flyoff, methods: reduction"
)
_PRINTED = Method(
    "the cruise table at the flown altitude, temperature and fuel flow, linear between printed values"
)


def flown_figures(case: Case, book: Sequence[BookPoint]) -> tuple[list[Figure], list[FlownPoint]]:
    """Return flown, printed and difference for each flown condition, and their table."""
    figures: list[Figure] = []
    points: list[FlownPoint] = []
    for point in book:
        condition = point.condition
        prefix = f"flown.{condition.flight}.{condition.number}"
        words = _condition(point)
        flown = case.figure(
            f"{prefix}.true_airspeed", f"True airspeed as flown, {words}", SPEED, point.flown_m_s, _FLOWN,
            (condition.input,), basis="measured", remarks=condition.remarks,
            extrapolated=condition.extrapolated,
        )  # fmt: skip
        printed = case.figure(
            f"{prefix}.handbook", f"True airspeed of the handbook, {words}", SPEED, point.handbook_m_s,
            _PRINTED, point.inputs, missing=point.missing, remarks=point.remarks,
        )  # fmt: skip
        apart = difference(f"{case.key}.{prefix}.difference", f"Flown less handbook, {words}", flown, printed)
        figures += [flown, printed, apart]
        points.append(
            FlownPoint(
                case.key, condition.flight, condition.number, words, flown.key, printed.key, apart.key,
                verdict(apart),
            )
        )  # fmt: skip
    return figures, points


def _condition(point: BookPoint) -> str:
    condition = point.condition
    deviation_k = float(
        atmosphere.temperature_deviation(condition.pressure_altitude_m, condition.temperature_k)
    )
    flow = condition.fuel_flow_m3_s / (us_gal / hour)
    return (
        f"{format_number(condition.pressure_altitude_m / ft, -1)} ft, "
        f"ISA {'+' if deviation_k >= 0 else '−'}{abs(deviation_k):.0f} °C, "
        f"{format_number(flow, 1)} US gal/h"
    )


def verdict(apart: Figure) -> str:
    """Return in words whether flight and handbook agree."""
    value, u95 = apart.value, apart.u95
    if value is None or u95 is None:
        return f"cannot be said: {apart.missing}"
    if abs(value) <= u95:
        return "agrees within the uncertainty"
    way = "slower" if value < 0 else "faster"
    size = format_number(abs(value), apart.decimals)
    return f"{way} by {size} ± {format_number(u95, apart.decimals)} {apart.unit_label}"
