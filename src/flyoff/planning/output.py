"""A plan as plain data and as text, in trade units."""

from collections.abc import Iterator
from typing import Any

from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number, supported_decimals
from flyoff.core.units import Unit, find_unit, ft, hour, kt, litre, minute
from flyoff.planning.candidates import Candidate
from flyoff.planning.figures import Figure
from flyoff.planning.plan import Plan
from flyoff.planning.schedule import Step

FLIGHT_CAUTION = (
    "Within the approved envelope. By a qualified pilot. Traffic first: look out before every reading."
)
"""What stands on every plan and card besides the general caution."""
_UNIT = {"kg/h": ("kg/h", "mass_flow"), "": ("", "count"), "nmi": ("nmi", "length"), "kt": ("kt", "speed"),
         "ft/min": ("ft/min", "speed")}  # fmt: skip
NAMES = {
    "taxi": "start and taxi", "climb to": "climb", "box": "box of four legs", "level": "level",
    "climb": "sawtooth climb, two runs", "cruise climb": "climb at cruise power, two runs",
    "glide": "glide, two runs", "descend": "descend",
    "land": "land and taxi",
}  # fmt: skip


def plan_data(plan: Plan) -> dict[str, Any]:
    """Return a plan as JSON data."""
    request = plan.request
    return {
        "flight": plan.name,
        "aircraft": request.fit.known.key,
        "time_min": round(plan.cost.time_s / minute, 1),
        "time_available_min": round(request.time_s / minute, 1),
        "fuel_l": round(_litres(plan, plan.cost.fuel_kg), 1),
        "fuel_aboard_l": round(_litres(plan, request.fuel_kg), 1),
        "reserve_fuel_l": round(_litres(plan, request.reserve_kg), 1),
        "ramp_weight_kg": round(request.ramp_mass_kg, 1),
        "figures": [_figure(plan, i) for i in range(len(plan.design.figures))],
        "steps": [_step(plan, step) for step in plan.steps],
        "further_time": [
            {
                "time_min": round(rung.time_s / minute),
                "conditions": rung.conditions,
                "u95": {
                    f.name: _shown(f, float(u)) for f, u in zip(plan.design.figures, rung.u95, strict=True)
                },
            }
            for rung in plan.rungs
        ],
        "balance": [
            {
                "moment": b.moment,
                "weight_kg": round(b.mass_kg, 1),
                "arm_m": None if b.arm_m is None else round(b.arm_m, 4),
                "envelopes": list(b.envelopes),
            }
            for b in plan.balances
        ],
        "remarks": list(plan.remarks),
        "caution": f"{FLIGHT_CAUTION} {CAUTION}",
    }


def fuel_unit(plan: Plan) -> Unit:
    """Return the unit that fuel is shown in: US gallons where the tanks are written so, else litres."""
    written = plan.request.airplane.tanks[0].usable.unit.label
    return find_unit(written if written == "US gal" else "L", "volume")


def fuel_text(plan: Plan, mass_kg: float) -> str:
    """Return a mass of fuel as a volume with its unit."""
    unit = fuel_unit(plan)
    return f"{format_number(unit.from_si(mass_kg / plan.request.fuel_density_kg_m3), 0)} {unit.label}"


def flow_text(plan: Plan, flow_kg_s: float) -> str:
    """Return a fuel flow as a volume an hour with its unit."""
    unit = fuel_unit(plan)
    return (
        f"{format_number(unit.from_si(flow_kg_s / plan.request.fuel_density_kg_m3) * hour, 1)} {unit.label}/h"
    )


def _litres(plan: Plan, mass_kg: float) -> float:
    return mass_kg / plan.request.fuel_density_kg_m3 / litre


def _shown(figure: Figure, si: float) -> float:
    unit = find_unit(*_UNIT[figure.unit])
    number = si / unit.factor
    return float(f"{number:.4g}")


def _figure(plan: Plan, i: int) -> dict[str, Any]:
    figure = plan.design.figures[i]
    return {
        "name": figure.name,
        "unit": figure.unit,
        "value_before": _shown(figure, figure.value),
        "u95_before": _shown(figure, float(plan.u95_before[i])),
        "u95_after": _shown(figure, float(plan.u95_after[i])),
    }


def step_words(step: Step) -> str:
    """Return what to do in a word or two."""
    return NAMES[step.doing]


def _step(plan: Plan, step: Step) -> dict[str, Any]:
    c = step.condition
    data: dict[str, Any] = {
        "number": step.number or None,
        "doing": step.doing,
        "start_min": round(step.start_s / minute, 1),
        "time_min": round(step.time_s / minute, 1),
        "from_altitude_ft": round(step.from_m / ft),
        "altitude_ft": round(step.to_m / ft),
        "cas_kt": None,
        "tas_kt": None,
        "power_percent": None,
        "fuel_flow_l_h": None,
        "fuel_left_l": round(_litres(plan, step.fuel_left_kg), 1),
    }
    if c is not None:
        data |= {
            "cas_kt": round(c.calibrated_airspeed_m_s / kt),
            "tas_kt": round(c.true_airspeed_m_s / kt),
            "power_percent": round(100 * c.power_ratio),
            "fuel_flow_l_h": round(_litres(plan, c.fuel_flow_kg_s) * hour, 1),
        }
    return data


def plan_text(plan: Plan) -> str:
    """Return a plan for reading."""
    return "\n".join(_lines(plan))


def _lines(plan: Plan) -> Iterator[str]:
    request, cost = plan.request, plan.cost
    yield f"{request.airplane.name}: {_minutes(cost.time_s)} of {_minutes(request.time_s)} min"
    yield (
        f"Fuel: {fuel_text(plan, request.fuel_kg)} aboard, {fuel_text(plan, cost.fuel_kg)} used, "
        f"{fuel_text(plan, request.reserve_kg)} reserve"
    )
    for balance in plan.balances:
        arm = "arm not known"
        if balance.arm_m is not None:
            arm = f"at {balance.arm_m:.3f} m, inside {', '.join(balance.envelopes)}"
        yield f"Balance at {balance.moment}: {balance.mass_kg:,.0f} kg, {arm}"
    yield ""
    heads = f"{'CAS':>4} {'power':>6} {'flow':>13} {'fuel left':>10}"
    yield f"{'':>3} {'min':>4}  {'what':<26} {'altitude':>9}  {heads}"
    yield from (_row(plan, step) for step in plan.steps)
    yield ""
    yield f"{'':<16}{'now':>22}{'after':>12}"
    for i, figure in enumerate(plan.design.figures):
        before, after = (_shown(figure, float(u[i])) for u in (plan.u95_before, plan.u95_after))
        value = _shown(figure, figure.value)
        places = supported_decimals(value, before)
        now = f"{format_number(value, places)} ± {format_number(before, places)}"
        later = f"± {format_number(after, supported_decimals(value, after))}"
        yield f"{figure.name:<16}{now:>22}{later:>12} {figure.unit}"
    yield ""
    yield "What other lengths of flight would leave (± 95 %)"
    names = (f"{f.name} [{f.unit}]" if f.unit else f.name for f in plan.design.figures)
    yield f"{'min':>5} {'conditions':>11}" + "".join(f"{name:>24}" for name in names)
    for rung in plan.rungs:
        mark = "  <" if abs(rung.time_s - plan.request.time_s) < 1 else ""
        cells = (_shown(f, float(u)) for f, u in zip(plan.design.figures, rung.u95, strict=True))
        texts = "".join(f"{format_number(x, supported_decimals(x, x)):>24}" for x in cells)
        yield f"{rung.time_s / minute:>5.0f} {rung.conditions:>11}{texts}{mark}"
    yield ""
    yield from plan.remarks
    yield FLIGHT_CAUTION
    yield CAUTION


def _minutes(time_s: float) -> str:
    return format_number(time_s / minute, 0)


def _row(plan: Plan, step: Step) -> str:
    number = str(step.number) if step.number else ""
    altitude = f"{format_number(step.to_m / ft, 0)} ft"
    left = fuel_text(plan, step.fuel_left_kg)
    head = f"{number:>3} {step.start_s / minute:>4.0f}  {step_words(step):<26} {altitude:>9}"
    c: Candidate | None = step.condition
    if c is None:
        return f"{head}  {'':>4} {'':>6} {'':>13} {left:>10}"
    power = "idle" if c.kind == "glide" else "full" if c.kind == "climb" else f"{100 * c.power_ratio:.0f} %"
    flow = "" if c.kind in {"glide", "climb"} else flow_text(plan, c.fuel_flow_kg_s)
    return f"{head}  {c.calibrated_airspeed_m_s / kt:>4.0f} {power:>6} {flow:>13} {left:>10}"
