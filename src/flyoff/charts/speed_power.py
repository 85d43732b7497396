"""Level speed and power freed of weight and density, with the curve that a parabolic polar asks for."""

from flyoff.charts import fitted
from flyoff.charts.chart import printed
from flyoff.charts.style import SHAPES
from flyoff.core.figure import format_number
from flyoff.core.units import hp, kt, lb
from flyoff.reduction.cruise import SpeedPower
from flyoff.reduction.standard import Standard


def _find(standard: Standard) -> SpeedPower | None:
    found = standard.speed_power
    return found if found is not None and found.points else None


def _ways(found: SpeedPower) -> list[str]:
    return list(dict.fromkeys(p.power_by for p in found.points))


def _subtitle(found: SpeedPower) -> str:
    """Return what the marks mean."""
    names = dict(zip(SHAPES, ("dots", "squares", "triangles"), strict=False))
    weight = format_number(found.standard_mass_kg / lb, 0)
    said = [f"Freed of weight and density: as at {weight} lb in standard air at sea level"]
    ways = _ways(found)
    by = [f"{names.get(SHAPES[n], 'other marks')} by {way}" for n, way in enumerate(ways)]
    said.append(f"power by {ways[0]}" if len(ways) == 1 else f"power: {', '.join(by)}")
    if found.coefficients is None:
        said.append(f"no curve: {found.missing}")
    else:
        said.append("the curve is P = a V³ + b / V")
    return "; ".join([*said, "whiskers and band hold 95 %"])


def _seen(found: SpeedPower) -> list[fitted.Seen]:
    ways = _ways(found)
    return [
        fitted.Seen(
            p.generalised_speed.value / kt, p.generalised_power.value / hp,
            p.generalised_speed.u95 / kt, p.generalised_power.u95 / hp,
            f"{p.point}", SHAPES[ways.index(p.power_by) % len(SHAPES)],
        )
        for p in found.points
    ]  # fmt: skip


def _curve(found: SpeedPower) -> list[fitted.OnCurve]:
    if found.coefficients is None:
        return []
    speeds = fitted.spread([p.generalised_speed.value for p in found.points])
    powers = [(v, found.power_at(v)) for v in speeds]
    return [fitted.OnCurve(v / kt, p.value / hp, p.u95 / hp) for v, p in powers if p is not None]


def _alt(found: SpeedPower) -> str:
    """Return the chart in words, from its numbers."""
    points = [
        f"point {s.name}, {printed(s.x, s.half_x)} kt and {printed(s.y, s.half_y)} ± "
        f"{printed(s.half_y, s.half_y)} hp"
        for s in _seen(found)
    ]
    curve = _curve(found)
    ends = [f"{printed(c.y, c.half)} hp at {c.x:.0f} kt" for c in (curve[0], curve[-1])] if curve else []
    told = f" The curve goes from {' to '.join(ends)}." if ends else f" No curve: {found.missing}."
    return f"Level speed and power, freed of weight and density: {'; '.join(points)}.{told}"


CHART = fitted.Subject(_find, ("Speed Viw, kt", "Power Piw, hp"), _seen, _curve, _subtitle, _alt).chart(
    "speed_power", "Level speed and power"
)
