"""Cards for a planned flight: to print on A5, and as a page that takes the entries and gives them back."""

import base64
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from itertools import groupby
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number
from flyoff.core.files import write_text
from flyoff.core.units import ft, kt, minute
from flyoff.planning.output import FLIGHT_CAUTION, flow_text, fuel_text, step_words
from flyoff.planning.plan import Plan
from flyoff.planning.request import Practice
from flyoff.planning.schedule import Step

PRINTED, ENTRY = "cards.html", "entry.html"
_TITLES = {
    "box": "Box of four legs", "level": "Level", "climb": "Sawtooth climb",
    "cruise climb": "Climb at cruise power", "glide": "Glide",
}  # fmt: skip
_POINT_KINDS = {
    "box": "level", "level": "level", "climb": "climb", "cruise climb": "climb", "glide": "descent",
}  # fmt: skip
_SLOPES = frozenset({"climb", "cruise climb", "glide"})


@dataclass(frozen=True)
class Reading:
    """Something to write down in each run: its key in the flight file, words, and the unit that it is in."""

    key: str
    label: str
    unit: str = ""
    short: str = ""


@dataclass(frozen=True)
class Card:
    """One condition: what to set (name, number, unit), how to fly it, the blanks to fill in for each run."""

    number: int
    title: str
    kind: str
    at_min: str
    targets: tuple[tuple[str, str, str], ...]
    how: tuple[str, ...]
    runs: tuple[str, ...]
    readings: tuple[Reading, ...]


@dataclass(frozen=True)
class Row:
    """One line of the order of the flight."""

    at_min: str
    number: str
    words: str
    altitude: str
    fuel_left: str


def write_cards(plan: Plan, flight_text: str, folder: Path) -> tuple[Path, ...]:
    """Write the cards and the page into a folder and return the two files.

    `flight_text` is the flight file: the page gives it back with the points added.
    """
    cards = tuple(cards_of(plan))
    rows = tuple(_row(plan, step) for step in plan.steps)
    pages = {PRINTED: _printed(plan, cards, rows), ENTRY: _entry(plan, cards, flight_text)}
    for name, text in pages.items():
        write_text(folder / name, text)
    return tuple(folder / name for name in pages)


def cards_of(plan: Plan) -> Iterator[Card]:
    """Yield a card for each condition; the same condition twice in a row is one card with more runs."""
    for number, group in groupby(plan.steps, key=lambda step: step.number):
        if number:
            yield _card(plan, number, list(group))


def _card(plan: Plan, number: int, steps: Sequence[Step]) -> Card:
    step, c = steps[0], steps[0].condition
    assert c is not None  # cards are of conditions only
    flow, _, unit = flow_text(plan, c.fuel_flow_kg_s).partition(" ")
    speed = f"{c.calibrated_airspeed_m_s / kt:.0f}"
    targets = [("Altitude", _feet(step.from_m), "ft")]
    if c.kind == "glide":
        targets.append(("Down to", _feet(step.to_m), "ft"))
    if c.kind in {"climb", "glide"}:
        targets += [("CAS", speed, "kt"), ("Power", "full" if c.kind == "climb" else "idle", "")]
    else:
        power, about = f"{100 * c.power_ratio:.0f}", "CAS" if c.kind == "cruise climb" else "CAS about"
        targets += [("Power", power, "%"), ("Fuel flow", flow, unit), (about, speed, "kt")]
    runs = _runs(c.kind, len(steps))
    return Card(
        number, _TITLES[c.kind], _POINT_KINDS[c.kind], f"{step.start_s / minute:.0f}", tuple(targets),
        _how(c.kind, len(runs), plan.request.practice), runs,
        _readings(c.kind, unit),
    )  # fmt: skip


def _feet(altitude_m: float) -> str:
    return format_number(round(altitude_m / ft, -1), 0)


def _runs(kind: str, count: int) -> tuple[str, ...]:
    if kind == "box":
        return tuple(f"Leg {i}" for i in range(1, 4 * count + 1))
    pairs = 2 * count if kind in _SLOPES else count
    return tuple(f"Run {i}" for i in range(1, pairs + 1))


def _how(kind: str, runs: int, practice: Practice) -> tuple[str, ...]:
    record = f"{practice.record_s:.0f}\u00a0s"
    steady = "Set power and trim. Wait until the speed stays within 1\u00a0kt for a minute."
    if kind == "box":
        return (
            steady,
            f"Four legs 90° apart, {record} each. Power and trim stay as they are, from leg to leg.",
        )
    if kind == "level":
        again = " Second run: the opposite heading." if runs > 1 else ""
        return (steady, f"Hold altitude, hands off power. Record {record}.{again}")
    if kind in {"climb", "cruise climb"}:
        power = "Full power" if kind == "climb" else "Set the power"
        return (
            f"Across the wind. {power}, hold the speed {practice.climb_settle_s:.0f}\u00a0s, then record "
            f"{practice.climb_record_s:.0f}\u00a0s.",
            "Descend to where you began. Every second run: the opposite heading.",
        )
    return (
        f"Across the wind. Idle, hold the speed {practice.glide_settle_s:.0f}\u00a0s, then record "
        f"{practice.glide_record_s:.0f}\u00a0s. Warm the engine between.",
        "Go on down. Every second run: the opposite heading.",
    )


def _readings(kind: str, flow: str) -> tuple[Reading, ...]:
    start = Reading("start", "Start", "UTC", "Start")
    end = Reading("end", "End", "UTC", "End")
    speed = Reading("indicated_airspeed", "Indicated airspeed", "kt", "IAS")
    warmth = Reading("outside_air_temperature", "Outside air temperature", "°C", "OAT")
    rest = (
        Reading("rpm", "Speed of rotation", "rpm", "rpm"),
        Reading("manifold_pressure", "Manifold pressure", "inHg", "Manifold"),
        Reading("fuel_flow", "Fuel flow", flow, "Fuel flow"),
    )
    level = Reading("pressure_altitude", "Pressure altitude (1013 hPa set)", "ft", "Altitude")
    if kind in _SLOPES:
        ends = (
            Reading("start_altitude", "Pressure altitude at the start", "ft", "Alt. at start"),
            Reading("end_altitude", "Pressure altitude at the end", "ft", "Alt. at end"),
        )
        return (start, end, *ends, speed, warmth, *(rest[2:] if kind == "glide" else rest))
    ground = (
        Reading("ground_speed", "Ground speed", "kt", "Ground speed"),
        Reading("ground_track", "Ground track, true", "°", "Track"),
    )
    return (start, end, level, speed, warmth, *(ground if kind == "box" else ()), *rest)


def _row(plan: Plan, step: Step) -> Row:
    number = str(step.number) if step.number else ""
    words = step_words(step)
    return Row(
        f"{step.start_s / minute:.0f}",
        number,
        words[:1].upper() + words[1:],
        _feet(step.to_m),
        fuel_text(plan, step.fuel_left_kg),
    )


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("flyoff.report"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )


def _asset(name: str) -> str:
    return resources.files("flyoff.report").joinpath("templates", name).read_text("utf-8")


def _printed(plan: Plan, cards: Sequence[Card], rows: Sequence[Row]) -> str:
    limits = [
        (words, f"{format_number(speed.si / kt, 0)} kt")
        for words, speed in (
            ("Never exceed", plan.request.airplane.speeds.never_exceed),
            ("Normal operation", plan.request.airplane.speeds.normal_operating),
            ("Stall, clean", plan.request.airplane.speeds.stall_clean),
        )
        if speed is not None
    ]
    fuel, reserve = (fuel_text(plan, mass_kg) for mass_kg in (plan.request.fuel_kg, plan.request.reserve_kg))
    return _environment().get_template("cards.html.j2").render(
        plan=plan, cards=cards, rows=rows, limits=limits, fuel=fuel, reserve=reserve,
        balances=[
            (f"Weight at {b.moment}", f"{format_number(b.mass_kg, 0)} kg") for b in plan.balances[1:3]
        ],
        airplane=plan.request.airplane.name, flight_caution=FLIGHT_CAUTION, caution=CAUTION,
        style=Markup(_asset("cards.css")),
    )  # fmt: skip


def _entry(plan: Plan, cards: Sequence[Card], flight_text: str) -> str:
    script = _asset("entry.js").strip()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    identity = hashlib.sha256(f"{flight_text}\0{[card.targets for card in cards]}".encode()).hexdigest()[:16]
    return _environment().get_template("entry.html.j2").render(
        plan=plan, cards=cards, airplane=plan.request.airplane.name, flight_text=flight_text,
        identity=identity, flight_caution=FLIGHT_CAUTION, caution=CAUTION,
        style=Markup(_asset("entry.css")), script=Markup(script), script_digest=digest,
    )  # fmt: skip
