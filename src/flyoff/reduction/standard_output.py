"""What a reduction shows at standard conditions, as plain data in trade units and as lines to read."""

from collections.abc import Iterable
from typing import Any

from flyoff.core.figure import format_number
from flyoff.core.units import degree, find_unit, ft, hp, kt, lb
from flyoff.reduction.airplane import Correction
from flyoff.reduction.climb import Climbs
from flyoff.reduction.cruise import SpeedPower
from flyoff.reduction.glide import Polar
from flyoff.reduction.power import EnginePoint, Powers
from flyoff.reduction.stall import Stall
from flyoff.reduction.standard import Standard
from flyoff.reduction.statistics import Estimate

_UNITS = {
    "kt": ("kt", 2), "hp": ("hp", 2), "fpm": ("ft/min", 1), "gph": ("US gal/h", 3), "lb_hp_h": ("lb/hp/h", 4),
    "": ("", 5),
}  # fmt: skip


def standard_data(standard: Standard) -> dict[str, Any]:
    """Return everything at standard conditions as JSON data; null where the data do not allow it."""
    return {
        "speed_power": None if standard.speed_power is None else _speed_power(standard.speed_power),
        "climbs": None if standard.climbs is None else _climbs(standard.climbs),
        "glides": None if standard.polar is None else _polar(standard.polar),
        "stalls": [_stall(stall) for stall in standard.stalls],
        "engine": [_engine(point) for point in standard.engine],
    }


def _quantity(name: str, suffix: str, estimate: Estimate | None) -> dict[str, float | None]:
    label, decimals = _UNITS[suffix]
    unit = find_unit(label)
    key = f"{name}_{suffix}" if suffix else name
    if estimate is None:
        return {key: None, f"{key}_u95": None}
    return {
        key: round(unit.from_si(estimate.value), decimals),
        f"{key}_u95": round(estimate.u95 / unit.factor, decimals + 1),
    }


def _corrections(corrections: Iterable[Correction]) -> list[dict[str, Any]]:
    return [
        {
            "name": c.name,
            "from": round(find_unit(c.unit).from_si(c.start), 2),
            "to": round(find_unit(c.unit).from_si(c.end), 2),
            "change": round((c.end - c.start) / find_unit(c.unit).factor, 2),
            "unit": c.unit,
            "source": c.source,
        }
        for c in corrections
    ]


def _steps(point: int | str, corrections: Iterable[Correction]) -> str:
    """Return by how much each step changed a result, as a line to read."""
    told = [
        f"{c['name']} {c['change']:+.{0 if c['unit'] == 'ft/min' else 1}f} {c['unit']}"
        for c in _corrections(corrections)
    ]
    return f"  corrections to {point}: {'; '.join(told)}"


def _speed_power(found: SpeedPower) -> dict[str, Any]:
    return {
        "standard_weight_lb": round(found.standard_mass_kg / lb, 1),
        "points": [
            {
                "point": p.point,
                "power_by": p.power_by,
                **_quantity("viw", "kt", p.generalised_speed),
                **_quantity("piw", "hp", p.generalised_power),
                "pressure_altitude_ft": round(p.altitude_m / ft),
                **_quantity("tas", "kt", p.speed),
                **_quantity("power", "hp", p.power),
                "corrections": _corrections(p.corrections),
                "flags": list(p.flags),
            }
            for p in found.points
        ],
        "curve": _curve(found),
        "missing": found.missing or None,
    }


def _curve(found: SpeedPower) -> list[dict[str, float | None]]:
    """Return the curve at every 5 kt of the generalised speeds flown."""
    if found.coefficients is None:
        return []
    speeds = [p.generalised_speed.value / kt for p in found.points]
    low, high = int(-(-min(speeds) // 5) * 5), int(max(speeds) // 5 * 5)
    return [{"viw_kt": v, **_quantity("piw", "hp", found.power_at(v * kt))} for v in range(low, high + 1, 5)]


def _climbs(found: Climbs) -> dict[str, Any]:
    mass_kg = found.standard_mass_kg
    return {
        "standard_weight_lb": None if mass_kg is None else round(mass_kg / lb, 1),
        "points": [
            {
                "point": c.point,
                **_quantity("measured", "fpm", c.measured),
                **_quantity("standard", "fpm", c.standard),
                "corrections": _corrections(c.corrections),
                "missing": c.missing or None,
            }
            for c in found.climbs
        ],
        "speeds": [
            {
                "points": list(s.members),
                "paired": s.is_paired,
                "cas_kt": round(s.calibrated_airspeed_m_s / kt, 2),
                "pressure_altitude_ft": round(s.pressure_altitude_m / ft),
                **_quantity("rate", "fpm", s.rate),
            }
            for s in found.speeds
        ],
        **_quantity("best_rate_speed", "kt", found.best_speed),
        **_quantity("best_rate", "fpm", found.best_rate),
        "best_rate_note": found.best_note or None,
        "missing": found.missing or None,
    }


def _polar(found: Polar) -> dict[str, Any]:
    cd0 = k = None
    if found.coefficients is not None and found.covariance is not None:
        cd0, k = (
            Estimate(float(value), float(variance) ** 0.5)
            for value, variance in zip(found.coefficients, found.covariance.diagonal(), strict=True)
        )
    return {
        "points": [
            {
                "point": g.point,
                "propeller": g.propeller,
                **_quantity("cl", "", g.lift_coefficient),
                **_quantity("cd", "", g.drag_coefficient),
                **_quantity("glide_ratio", "", g.glide_ratio),
                "corrections": _corrections(g.corrections),
            }
            for g in found.glides
        ],
        **_quantity("cd0", "", cd0),
        **_quantity("k", "", k),
        **_quantity("span_efficiency", "", found.span_efficiency),
        "missing": found.missing or None,
    }


def _stall(stall: Stall) -> dict[str, Any]:
    return {
        "start": stall.start,
        "line": stall.line,
        "flaps_deg": None if stall.flaps_rad is None else round(stall.flaps_rad / degree, 1),
        "entry_rate_kt_per_s": None
        if stall.entry_rate_m_s2 is None
        else round(stall.entry_rate_m_s2 / kt, 2),
        **_quantity("ias", "kt", stall.indicated),
        **_quantity("cas", "kt", stall.calibrated),
        **_quantity("standard_cas", "kt", stall.standard),
        **_quantity("cl_max", "", stall.lift_coefficient),
        "corrections": _corrections(stall.corrections),
        "flags": list(stall.flags),
    }


def _engine(point: EnginePoint) -> dict[str, Any]:
    return {
        "point": point.point,
        "kind": point.kind,
        "mixture": point.mixture,
        **_quantity("fuel_flow", "gph", point.fuel_flow),
        "powers": _powers(point.powers),
        "power_conflict": point.powers.conflict or None,
        **_quantity("specific_consumption", "lb_hp_h", point.consumption_kg_j),
    }


def _powers(powers: Powers) -> list[dict[str, Any]]:
    return [{"by": r.way, **_quantity("power", "hp", r.power_w), "basis": r.basis} for r in powers.readings]


def standard_lines(standard: Standard) -> list[str]:
    """Return the tables to be read on a terminal; none where the airplane's data are not known."""
    return [
        *_speed_power_lines(standard.speed_power),
        *_climb_lines(standard.climbs),
        *_glide_lines(standard.polar),
        *_stall_lines(standard.stalls),
        *_engine_lines(standard.engine),
    ]


def _n(value: float, decimals: int, width: int) -> str:
    return f"{format_number(value, decimals):>{width}}"


def _speed_power_lines(found: SpeedPower | None) -> list[str]:
    if found is None:
        return []
    lines = [
        "",
        f"level speed and power at {format_number(found.standard_mass_kg / lb, 0)} lb: "
        "freed of weight and density, and in standard air",
        "point  Viw kt    ±   Piw hp    ±   alt ft   TAS kt  power hp  by",
    ]
    for p in found.points:
        v, w = p.generalised_speed, p.generalised_power
        lines.append(
            f"{p.point:5}{_n(v.value / kt, 1, 8)}{_n(v.u95 / kt, 1, 5)}"
            f"{_n(w.value / hp, 1, 9)}{_n(w.u95 / hp, 1, 5)}"
            f"{_n(p.altitude_m / ft, 0, 9)}{_n(p.speed.value / kt, 1, 9)}{_n(p.power.value / hp, 1, 10)}  "
            + "; ".join((p.power_by, *p.flags))
        )
    lines += [_steps(f"point {p.point}", p.corrections) for p in found.points]
    return [*lines, *([f"  no curve: {found.missing}"] if found.missing else [])]


def _climb_lines(found: Climbs | None) -> list[str]:
    if found is None:
        return []
    weight = found.standard_mass_kg
    at = "as flown" if weight is None else f"at {format_number(weight / lb, 0)} lb"
    fpm = ft / 60
    lines = ["", f"climbs, weight {at}", "points     CAS kt   alt ft   ft/min    ±"]
    for s in found.speeds:
        who = ", ".join(map(str, s.members))
        lines.append(
            f"{who:8}{_n(s.calibrated_airspeed_m_s / kt, 1, 9)}{_n(s.pressure_altitude_m / ft, 0, 9)}"
            f"{_n(s.rate.value / fpm, 0, 9)}{_n(s.rate.u95 / fpm, 0, 5)}"
            + ("" if s.is_paired else "  one heading only")
        )
    if found.best_speed is not None and found.best_rate is not None:
        speed = found.best_speed
        lines.append(
            f"  best rate at {speed.value / kt:.1f} ± {speed.u95 / kt:.1f} kt calibrated, "
            f"{format_number(found.best_rate.value / fpm, 0)} ± {found.best_rate.u95 / fpm:.0f} ft/min"
            + (f": {found.best_note}" if found.best_note else "")
        )
    else:
        lines.append(f"  no best rate speed: {found.missing}")
    lines += [_steps(f"point {c.point}", c.corrections) for c in found.climbs]
    missing = {c.missing for c in found.climbs if c.missing}
    return [*lines, *(f"  {text}" for text in sorted(missing))]


def _glide_lines(found: Polar | None) -> list[str]:
    if found is None:
        return []
    lines = [
        "",
        "glides, drag with the propeller's",
        "point     CL      CD        ±   glide ratio  propeller",
        *(
            f"{g.point:5}{_n(g.lift_coefficient.value, 3, 8)}{_n(g.drag_coefficient.value, 4, 8)}"
            f"{_n(g.drag_coefficient.u95, 4, 9)}{_n(g.glide_ratio.value, 1, 14)}  {g.propeller}"
            for g in found.glides
        ),
        *(_steps(f"point {g.point}", g.corrections) for g in found.glides),
    ]
    if found.coefficients is None or found.covariance is None:
        return [*lines, f"  no polar: {found.missing}"]
    u95 = 1.96 * found.covariance.diagonal() ** 0.5
    cd0, k = found.coefficients
    polar = f"  CD = {cd0:.4f} (± {u95[0]:.4f}) + {k:.4f} (± {u95[1]:.4f}) CL²"
    e = found.span_efficiency
    return [*lines, polar + ("" if e is None else f", span efficiency {e.value:.2f} ± {e.u95:.2f}")]


def _stall_lines(stalls: tuple[Stall, ...]) -> list[str]:
    lines = ["", "stalls       flaps  entry kt/s   IAS kt   CAS kt  standard kt    ±"] if stalls else []
    for s in stalls:
        entry = "–" if s.entry_rate_m_s2 is None else f"{s.entry_rate_m_s2 / kt:.1f}"
        flaps = "–" if s.flaps_rad is None else f"{s.flaps_rad / degree:.0f}°"
        lines.append(
            f"{s.start:12}{flaps:>6}{entry:>12}"
            f"{_n(s.indicated.value / kt, 1, 9)}{_n(s.calibrated.value / kt, 1, 9)}"
            f"{_n(s.standard.value / kt, 1, 13)}{_n(s.standard.u95 / kt, 1, 5)}  {'; '.join(s.flags)}"
        )
    return lines + [_steps(f"the stall at {s.start}", s.corrections) for s in stalls]


def _engine_lines(points: tuple[EnginePoint, ...]) -> list[str]:
    shown = [p for p in points if p.powers.readings]
    if not shown:
        return []
    head = ["", "engine: power each way, hp", "point  mixture       gal/h  lb/hp/h  powers"]
    return head + [_engine_line(p) for p in shown]


def _engine_line(point: EnginePoint) -> str:
    gph, lb_hp_h = find_unit("US gal/h"), find_unit("lb/hp/h")
    flow = f"{'–':>8}" if point.fuel_flow is None else _n(gph.from_si(point.fuel_flow.value), 2, 8)
    used = point.consumption_kg_j
    sfc = f"{'–':>9}" if used is None else _n(lb_hp_h.from_si(used.value), 3, 9)
    powers = [(r.way, r.power_w.value / hp, r.power_w.u95 / hp) for r in point.powers.readings]
    ways = ", ".join(f"{way} {value:.0f} ± {u95:.0f}" for way, value, u95 in powers)
    text = f"{point.point:5}  {point.mixture:12}{flow}{sfc}  {ways}"
    return text + (f": {point.powers.conflict}" if point.powers.conflict else "")
