"""A reduction as plain data: the one place that names what readers get, in trade units."""

import math
from typing import Any

from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number
from flyoff.core.units import degree, find_unit, ft, kt, lb
from flyoff.flights.card import ConditionEdit
from flyoff.flights.log import utc
from flyoff.flights.manoeuvres import Manoeuvre
from flyoff.flights.merge import Merge
from flyoff.flights.steady import Condition, edits_of
from flyoff.reduction.calibration import Beside, Observation, beside_handbook
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction
from flyoff.reduction.standard_output import standard_data, standard_lines
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.turns import TurnWind

_UNITS = {
    "pressure_altitude_ft": ("ft", 1),
    "density_altitude_ft": ("ft", 1),
    "outside_air_temp_c": ("°C", 2),
    "indicated_outside_air_temp_c": ("°C", 2),
    "ias_kt": ("kt", 2),
    "cas_kt": ("kt", 2),
    "tas_kt": ("kt", 2),
    "fuel_flow_gph": ("US gal/h", 3),
    "rpm": ("rpm", 1),
    "manifold_pressure_inhg": ("inHg", 3),
    "rate_of_climb_fpm": ("ft/min", 1),
    "wind_kt": ("kt", 2),
}


def reduction_data(reduction: Reduction) -> dict[str, Any]:
    """Return a reduction as JSON data; null where a quantity is not known."""
    return {
        "flight": reduction.flight.name,
        "date": reduction.flight.date.isoformat() if reduction.flight.date_known else None,
        "aircraft": reduction.flight.card.aircraft,
        "logs": [log.name for log in reduction.flight.logs],
        "merges": [_merge(merge) for merge in reduction.flight.merges],
        "points": [_point(point) for point in reduction.points],
        "legs": [_group(group) for group in reduction.legs],
        "turns": [_turn(turn) for turn in reduction.turns],
        "manoeuvres": [_manoeuvre(manoeuvre) for manoeuvre in reduction.manoeuvres],
        "edits": [_edit(edit, found) for edit, found in edits_of(reduction.flight)],
        "calibration": _calibration(reduction),
        **standard_data(reduction.standard),
        "repairs": [
            {
                "log": name,
                "kind": repair.kind,
                "channel": repair.channel,
                "start_utc": utc(repair.start_s),
                "end_utc": utc(repair.end_s),
                "lines": list(repair.lines),
                "count": repair.count,
                "why": repair.why,
            }
            for name, repair in reduction.repairs
        ],
        "warnings": list(reduction.warnings),
        "caution": CAUTION,
    }


def _merge(merge: Merge) -> dict[str, Any]:
    refused = bool(merge.refused)
    return {
        "log": merge.log,
        "onto": merge.onto,
        "offset_s": None if refused else round(merge.offset_s, 3),
        "offset_s_u95": None if refused else round(1.96 * merge.u_s, 3),
        "shared": list(merge.shared),
        "correlation": round(merge.correlation, 4),
        "channels": list(merge.channels),
        "refused": merge.refused or None,
    }


def _quantities(given: dict[str, Estimate | None]) -> dict[str, float | None]:
    """Return each quantity in its trade unit, with its 95 % half-width under ``_u95``."""
    data: dict[str, float | None] = {}
    for name, estimate in given.items():
        label, decimals = _UNITS[name]
        unit = find_unit(label)
        data[name] = None if estimate is None else round(unit.from_si(estimate.value), decimals)
        data[f"{name}_u95"] = None if estimate is None else round(estimate.u95 / unit.factor, decimals + 1)
    return data


def _point(point: Point) -> dict[str, Any]:
    condition = point.condition
    return {
        "start_utc": utc(condition.start_s),
        "end_utc": utc(condition.end_s),
        "kind": condition.kind,
        "phase": condition.phase or condition.kind,
        **_quantities(
            {
                "pressure_altitude_ft": point.pressure_altitude,
                "density_altitude_ft": point.air.density_altitude,
                "outside_air_temp_c": point.air.temperature,
                "indicated_outside_air_temp_c": point.probe_temperature,
                "ias_kt": point.indicated_airspeed,
                "cas_kt": point.air.calibrated_airspeed,
                "tas_kt": point.air.true_airspeed,
                "fuel_flow_gph": point.fuel_flow,
                "rpm": point.rpm,
                "manifold_pressure_inhg": point.manifold_pressure,
                "rate_of_climb_fpm": point.rate_of_climb,
            }
        ),
        "weight_lb": None if point.mass_kg is None else round(point.mass_kg / lb, 1),
        "airspeed_drift_kt_per_min": round(condition.drift_m_s2 * 60 / kt, 2),
        "origin": condition.origin,
        "origin_note": condition.origin_note or None,
        "extrapolated": point.extrapolated,
        "flags": list(point.flags),
        "log": point.readings.log,
        "lines": list(point.readings.lines),
    }


def _group(group: LegGroup) -> dict[str, Any]:
    solution, given = group.solution, not group.refused
    quantities = _quantities(
        {
            "pressure_altitude_ft": group.pressure_altitude,
            "ias_kt": group.indicated_airspeed,
            "tas_kt": solution.true_airspeed if given else None,
            "wind_kt": solution.wind_speed if given else None,
        }
    )
    return {
        "start_utc": utc(group.start_s),
        "end_utc": utc(group.end_s),
        "method": "legs",
        "members": list(group.members),
        **quantities,
        **_wind_from(solution, given),
        "residuals_kt": [round(float(r) / kt, 2) for r in solution.residuals_m_s] if given else None,
        "chance_of_residuals": round(solution.chance, 4),
        "widened": round(solution.widened, 2),
        "wind_profile": group.profile or None,
        "refused": group.refused or None,
    }


def _wind_from(solution: WindSolution, given: bool) -> dict[str, float | None]:
    return {
        "wind_from_deg": round(solution.wind_from_rad / degree, 1) if given else None,
        "wind_from_deg_u95": round(1.96 * solution.wind_from_u_rad / degree, 1) if given else None,
    }


def _turn(turn: TurnWind) -> dict[str, Any]:
    solution, given = turn.solution, not turn.refused
    return {
        "start_utc": utc(turn.turn.start_s),
        "end_utc": utc(turn.turn.end_s),
        "method": "turn",
        "turned_deg": round(turn.turn.change / degree, 1),
        **_quantities(
            {
                "pressure_altitude_ft": turn.pressure_altitude,
                "ias_kt": turn.indicated_airspeed,
                "tas_kt": solution.true_airspeed if given else None,
                "wind_kt": solution.wind_speed if given else None,
            }
        ),
        **_wind_from(solution, given),
        "residual_scatter_kt": round(turn.scatter_m_s / kt, 2) if math.isfinite(turn.scatter_m_s) else None,
        "readings": turn.seconds,
        "refused": turn.refused or None,
        "log": turn.log,
        "lines": list(turn.lines),
    }


def _manoeuvre(manoeuvre: Manoeuvre) -> dict[str, Any]:
    turns = manoeuvre.kind == "turn"
    return {
        "kind": manoeuvre.kind,
        "start_utc": utc(manoeuvre.start_s),
        "end_utc": utc(manoeuvre.end_s),
        "turn_rate_deg_s": round(manoeuvre.rate / degree, 2) if turns else None,
        "turned_deg": round(manoeuvre.change / degree, 1) if turns else None,
        "acceleration_kt_per_min": None if turns else round(manoeuvre.rate * 60 / kt, 1),
        "speed_change_kt": None if turns else round(manoeuvre.change / kt, 1),
    }


def _edit(edit: ConditionEdit, found: list[Condition]) -> dict[str, Any]:
    return {
        "start": edit.start,
        "end": edit.end,
        "decision": edit.decision,
        "why": edit.why or None,
        "found_there": [
            {"kind": c.kind, "start_utc": utc(c.start_s), "end_utc": utc(c.end_s)} for c in found
        ],
    }


def _calibration(reduction: Reduction) -> dict[str, Any]:
    calibration = reduction.calibration
    speeds = sorted({p.indicated_airspeed.value for p in reduction.points if p.indicated_airspeed})
    curve = []
    if speeds:
        low, high = int(speeds[0] / kt) // 5 * 5, -(-int(speeds[-1] / kt + 1) // 5) * 5
        for ias in range(low, high + 1, 5):
            correction = calibration.correction(ias * kt)
            curve.append(
                {
                    "ias_kt": ias,
                    "cas_minus_ias_kt": round(correction.value / kt, 2),
                    "cas_minus_ias_kt_u95": round(correction.u95 / kt, 2),
                    "extrapolated": calibration.is_extrapolated(ias * kt),
                }
            )
    return {
        "basis": calibration.basis,
        "observations": [
            *({"legs": o.group, **_observation(o)} for o in calibration.observations),
            *({"turn": o.group, **_observation(o)} for o in calibration.turns),
        ],
        "curve": curve,
        "orders": [round(w, 3) for w in calibration.weights],
        "static_source": reduction.flight.card.instruments.static_source,
        "handbook": [
            {
                "ias_kt": round(row.indicated_m_s / kt, 1),
                "cas_minus_ias_kt": round(row.handbook_m_s / kt, 2),
                "found_cas_minus_ias_kt": round(row.found.value / kt, 2),
                "found_cas_minus_ias_kt_u95": round(row.found.u95 / kt, 2),
                "agrees": row.agrees,
            }
            for row in _handbook(reduction)
        ],
        "oat_recovery": reduction.probe.recovery,
        **_found("oat_recovery_found", reduction.recovery, 3),
        "oat_lag_s": round(reduction.probe.lag_s, 1),
        **_found("oat_lag_found_s", reduction.lag, 1),
    }


def _observation(seen: Observation) -> dict[str, Any]:
    return {
        "ias_kt": round(seen.indicated_m_s / kt, 2),
        "cas_minus_ias_kt": round(seen.correction.value / kt, 2),
        "cas_minus_ias_kt_u95": round(seen.correction.u95 / kt, 2),
    }


def _found(name: str, estimate: Estimate | None, digits: int) -> dict[str, float | None]:
    """Return what the flight itself shows of a probe, and its uncertainty."""
    if estimate is None:
        return {name: None, f"{name}_u95": None}
    return {name: round(estimate.value, digits), f"{name}_u95": round(estimate.u95, digits)}


def _handbook(reduction: Reduction) -> tuple[Beside, ...]:
    return beside_handbook(reduction.calibration, reduction.standard.airplane.tables.get("airspeed"))


def calibration_lines(reduction: Reduction) -> list[str]:
    """Return the airspeed calibration, and the handbook's beside it, as lines to read."""
    data = _calibration(reduction)
    if not data["observations"]:
        return []
    lines = ["", f"airspeed calibration ({data['basis']}): add to indicated, kt"]
    for row in data["curve"]:
        note = "  extrapolated" if row["extrapolated"] else ""
        lines.append(
            f"  {row['ias_kt']:4}  {row['cas_minus_ias_kt']:+5.1f} ± {row['cas_minus_ias_kt_u95']:.1f}{note}"
        )
    for row in data["handbook"]:
        verdict = "agrees" if row["agrees"] else "disagrees"
        lines.append(
            f"  the handbook at {row['ias_kt']:.0f} kt: {row['cas_minus_ias_kt']:+.1f}; found "
            f"{row['found_cas_minus_ias_kt']:+.1f} ± {row['found_cas_minus_ias_kt_u95']:.1f}: {verdict}"
        )
    return lines


def reduction_text(reduction: Reduction) -> str:
    """Return a reduction as lines to be read on a terminal."""
    data = reduction_data(reduction)
    lines = [f"{data['flight']}: {len(data['points'])} steady conditions, {len(data['legs'])} leg groups"]
    lines += ["", "repairs" if data["repairs"] else "no repairs", *_repair_lines(data["repairs"])]
    lines += _point_lines(reduction, data["points"])
    lines += ["", "leg groups: true airspeed and wind from ground velocities"] if data["legs"] else []
    for g in data["legs"]:
        who = ", ".join(str(m) for m in g["members"])
        if g["refused"]:
            lines.append(f"  points {who}: refused: {g['refused']}")
        else:
            lines.append(
                f"  points {who}: {g['tas_kt']:.1f} ± {g['tas_kt_u95']:.1f} kt true, "
                f"wind {g['wind_from_deg']:03.0f}° at {g['wind_kt']:.1f} ± {g['wind_kt_u95']:.1f} kt"
            )
    lines += _turn_lines(data["turns"])
    lines += calibration_lines(reduction)
    lines += standard_lines(reduction.standard)
    lines += _edit_lines(data["edits"])
    lines += ["", *(f"note: {w}" for w in data["warnings"]), CAUTION]
    return "\n".join(lines)


def _repair_lines(repairs: list[dict[str, Any]]) -> list[str]:
    """Return the repairs, those of several channels at once in one line."""
    together: dict[tuple[Any, ...], list[str]] = {}
    for r in repairs:
        together.setdefault((r["start_utc"], r["kind"], *r["lines"], r["why"]), []).append(r["channel"])
    return [
        f"  {start}  {kind}, {', '.join(channels)}, "
        f"{f'line {first}' if first == last else f'lines {first}–{last}'}: {why}"
        for (start, kind, first, last, why), channels in together.items()
    ]


_COLUMNS = (
    ("alt ft", "pressure_altitude_ft", 7, 0),
    ("GPS ft", "gps_altitude", 7, 0),
    ("°C", "outside_air_temp_c", 6, 1),
    ("IAS kt", "ias_kt", 8, 1),
    ("CAS kt", "cas_kt", 8, 1),
    ("TAS kt", "tas_kt", 8, 1),
    ("±", "tas_kt_u95", 5, 1),
    ("GS kt", "ground_speed", 8, 1),
    ("gal/h", "fuel_flow_gph", 8, 1),
    ("ft/min", "rate_of_climb_fpm", 8, 0),
)
_INSTEAD = {"gps_altitude": ("pressure_altitude_ft", ft), "ground_speed": ("ias_kt", kt)}
"""What the receiver shows, with its unit, where a log has none of what is asked for first."""


def _point_lines(reduction: Reduction, points: list[dict[str, Any]]) -> list[str]:
    """Return the table of points: the columns of which anything is known."""
    if not points:
        return []
    rows = [dict(point) for point in points]
    for name, (first, unit) in _INSTEAD.items():
        means = [own.readings.mean(name) for own in reduction.points]
        wanted = all(row[first] is None for row in rows)
        for row, mean in zip(rows, means, strict=True):
            row[name] = mean.value / unit if wanted and mean is not None else None
    shown = [c for c in _COLUMNS if any(row[c[1]] is not None for row in rows)]
    lines = ["", f"{'':4}{'UTC':18}{'kind':8}{' '.join(f'{head:>{width}}' for head, _, width, _ in shown)}"]
    for i, row in enumerate(rows):
        times = f"{row['start_utc'][11:19]}–{row['end_utc'][11:19]}"
        cells = " ".join(_cell(row[key], width, decimals) for _, key, width, decimals in shown)
        lines.append(f"{i:3} {times} {row['kind']:8}{cells}  {'; '.join(row['flags'])}".rstrip())
    return lines


def _turn_lines(turns: list[dict[str, Any]]) -> list[str]:
    lines = ["", "turns: true airspeed and wind from one turn each"] if turns else []
    for t in turns:
        when = f"  turn {t['start_utc'][11:19]}–{t['end_utc'][11:19]}"
        if t["refused"]:
            lines.append(f"{when}: refused: {t['refused']}")
        else:
            lines.append(
                f"{when}: {t['tas_kt']:.1f} ± {t['tas_kt_u95']:.1f} kt true, "
                f"wind {t['wind_from_deg']:03.0f}° at {t['wind_kt']:.1f} ± {t['wind_kt_u95']:.1f} kt"
            )
    return lines


def _edit_lines(edits: list[dict[str, Any]]) -> list[str]:
    lines = ["", "conditions by hand"] if edits else []
    for e in edits:
        found = ", ".join(
            f"{c['kind']} {c['start_utc'][11:19]}–{c['end_utc'][11:19]}" for c in e["found_there"]
        )
        why = f": {e['why']}" if e["why"] else ""
        lines.append(f"  {e['start']}–{e['end']} {e['decision']}ed{why} (found there: {found or 'nothing'})")
    return lines


def _cell(value: float | None, width: int, decimals: int) -> str:
    return f"{'–' if value is None else format_number(value, decimals):>{width}}"
