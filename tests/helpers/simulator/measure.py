"""Measure the reduction on the simulated flights: ``python -m helpers.simulator.measure`` from ``tests``.

Arguments: names of scenarios (all by default), ``--seeds N`` for N flights of each, ``--after N`` to leave
out the first N, so that some stay unseen, ``--worst N`` for the worst errors, ``--conditions`` for what was
not found, what was invented and which flags were raised. The column ``z`` is the rms of errors over standard
uncertainties: 1 where the intervals are right, less where they are too wide.
"""

import argparse
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from flyoff.flights.read import read_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from helpers.simulator.flight import Scripted, SimulatedFlight, fly
from helpers.simulator.scenario import Scenario
from helpers.simulator.scenarios import ROUND, SCENARIOS, seeded
from helpers.simulator.standard import standard_rate_fpm

LIMITS = {
    "leg TAS": 0.6, "leg wind": 1.5, "CAS correction": 0.7, "density altitude": 100.0,
    "density altitude on a slope": 100.0, "density altitude, as instrumented": 100.0,
    "rate of climb": 25.0, "rate of climb as scripted": 25.0, "excess power of a climb": 25.0,
    "drag coefficient x 1000": 4.0,
}  # fmt: skip
"""What is asked: largest errors [kt, ft/min, ft, 0.001]."""
_POINTS = {
    "point TAS": "tas_kt", "point CAS": "cas_kt", "density altitude": "density_altitude_ft",
    "air temperature": "outside_air_temp_c", "fuel flow": "fuel_flow_gph",
}  # fmt: skip


@dataclass(frozen=True)
class Miss:
    """One measured quantity: its error and the half-width of its 95 % interval (NaN where none is stated)."""

    scenario: str
    quantity: str
    where: str
    error: float
    u95: float

    @property
    def held(self) -> bool:
        """Whether the interval holds the truth."""
        return abs(self.error) <= self.u95


@dataclass(frozen=True)
class Measured:
    """One flight reduced and held against its truth."""

    flight: SimulatedFlight
    data: dict[str, Any]
    misses: tuple[Miss, ...]
    refused: tuple[str, ...]
    pairs: tuple[tuple[dict[str, Any], Scripted], ...]
    invented: tuple[str, ...]

    @property
    def not_found(self) -> tuple[Scripted, ...]:
        """Scripted conditions, flown steadily, that no found one matches."""
        found = {id(scripted) for _, scripted in self.pairs}
        return tuple(s for s in self.steady if id(s) not in found)

    @property
    def steady(self) -> tuple[Scripted, ...]:
        """Scripted conditions that the truth calls steady: the air did not move them about."""
        return tuple(s for _, s in self._scripted if is_steady(s.kind, s.truth) and not _moves(s))

    @property
    def waves(self) -> tuple[tuple[Scripted, bool, tuple[str, ...]], ...]:
        """Conditions flown in rising or sinking air: whether taken as steady, and their flags."""
        flags = {scripted.start_s: tuple(point["flags"]) for point, scripted in self.pairs}
        return tuple(
            (s, s.start_s in flags, tuple(f for f in flags.get(s.start_s, ()) if "calibrat" not in f))
            for s in self.flight.scripted
            if _moves(s)
        )

    @property
    def still(self) -> tuple[tuple[Scripted, tuple[str, ...]], ...]:
        """Conditions found that were flown in even, still air, and which flags say that it rose or sank."""
        return tuple(
            (scripted, tuple(flag for flag in point["flags"] if "sinking air" in flag or "the air" in flag))
            for point, scripted in self.pairs
            if not _moves(scripted)
        )

    @property
    def _scripted(self) -> list[tuple[int, Scripted]]:
        known = {s.start_s: s for _, s in self.pairs}
        return list(enumerate(known.get(s.start_s, s) for s in self.flight.scripted))


def _moves(scripted: Scripted) -> bool:
    """Whether the air was made to rise or sink."""
    return scripted.step.wave_fpm != 0 or scripted.step.rising_fpm != 0


def seconds(text: str) -> float:
    """Return ISO text as seconds since 1970 UTC."""
    return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


def is_steady(kind: str, truth: dict[str, float]) -> bool:
    """Whether a stretch really was a steady condition: airspeed, height or rate, and course kept.

    The limits are twice those that the reduction works with, for it sees only noisy readings.
    """
    level = abs(truth["rate_of_climb_fpm"]) <= 150
    return (
        abs(truth["cas_slope_kt_min"]) <= 4
        and truth["cas_scatter_kt"] <= 2.5
        and truth["bank_deg"] <= 10
        and (level if kind == "level" else truth["rate_of_climb_fpm"] * (1 if kind == "climb" else -1) > 150)
    )


@cache
def measure(scenario: Scenario) -> Measured:
    """Return a scenario flown, reduced and measured; done once in a session."""
    flight = fly(scenario)
    with tempfile.TemporaryDirectory() as folder:
        reduction = reduce_flight(read_flight(flight.write(Path(folder))))
    data = reduction_data(reduction)
    pairs, invented = _matched(flight, data["points"])
    misses = [*_points(flight, data["points"], pairs), *_legs(flight, data), *_calibration(flight, data)]
    misses += [*_climbs(flight, data), *_glides(flight, data)]
    refused = tuple(f"{g['start_utc'][11:19]}: {g['refused']}" for g in data["legs"] if g["refused"])
    return Measured(flight, data, tuple(misses), refused, tuple(pairs), tuple(invented))


def _matched(
    flight: SimulatedFlight, points: list[dict[str, Any]]
) -> tuple[list[tuple[dict[str, Any], Scripted]], list[str]]:
    """Return pairs of found and scripted conditions, and found ones that are neither scripted nor steady."""
    pairs, invented = [], []
    scripted = flight.scripted
    for point in points:
        start, end = seconds(point["start_utc"]), seconds(point["end_utc"])
        best = max(scripted, key=lambda s: s.overlap_s(start, end))
        if best.kind == point["kind"] and best.overlap_s(start, end) >= 0.5 * (best.end_s - best.start_s):
            pairs.append((point, best))
        elif not is_steady(point["kind"], truth := flight.truth(start, end)):
            span = f"{point['start_utc'][11:19]}–{point['end_utc'][11:19]}"
            invented.append(
                f"{point['kind']} {span}: {_drift(truth)}, {truth['rate_of_climb_fpm']:+.0f} ft/min, "
                f"bank {truth['bank_deg']:.0f}°; flags {point['flags']}"
            )
    return pairs, invented


def _drift(truth: dict[str, float]) -> str:
    return f"{truth['cas_slope_kt_min']:+.1f} kt/min, scatter {truth['cas_scatter_kt']:.1f} kt"


def _points(
    flight: SimulatedFlight, points: list[dict[str, Any]], pairs: Iterable[tuple[dict[str, Any], Scripted]]
) -> list[Miss]:
    """Return the errors of the points that match a scripted condition, over their own stretch of time."""
    misses = []
    for point, scripted in pairs:
        truth = flight.truth(seconds(point["start_utc"]), seconds(point["end_utc"]))
        quantities = dict(_POINTS)
        if point["kind"] != "level":
            quantities["rate of climb"] = "rate_of_climb_fpm"
            error = point["rate_of_climb_fpm"] - scripted.truth["rate_of_climb_fpm"]
            where = f"{point['kind']} {scripted.step.ias_kt:.0f} kt at {point['start_utc'][11:19]}"
            misses.append(_miss(flight, "rate of climb as scripted", where, error, None))
        where = f"{point['kind']} {scripted.step.ias_kt:.0f} kt at {point['start_utc'][11:19]}"
        for label, key in quantities.items():
            extrapolated = point["extrapolated"] and label in {"point TAS", "point CAS"}
            if point[key] is not None:
                name = f"{label}, extrapolated" if extrapolated else label
                if label == "density altitude":
                    error = point[key] - truth[key] - _instruments_ft(flight)
                    misses.append(_miss(flight, f"{label}, as instrumented", where, error, None))
                if point["kind"] != "level" and label in {"density altitude", "air temperature"}:
                    name = f"{label} on a slope"
                misses.append(_miss(flight, name, where, point[key] - truth[key], point[f"{key}_u95"]))
    return misses


def _instruments_ft(flight: SimulatedFlight) -> float:
    """Return what the drawn errors of thermometer and altimeter, which no reduction can know, do to it.

    Density altitude to first order at standard conditions: 118.8 ft for a degree, 1.235 ft for a foot.
    """
    recorder = flight.scenario.recorder
    return 118.8 * recorder.temperature_error_c + 1.235 * recorder.altimeter_error_ft


def _miss(flight: SimulatedFlight, quantity: str, where: str, error: float, u95: float | None) -> Miss:
    return Miss(flight.scenario.name, quantity, where, error, float("nan") if u95 is None else u95)


def _legs(flight: SimulatedFlight, data: dict[str, Any]) -> list[Miss]:
    misses = []
    for group in data["legs"]:
        if group["refused"]:
            continue
        members = [data["points"][i] for i in group["members"]]
        truths = [flight.truth(seconds(p["start_utc"]), seconds(p["end_utc"])) for p in members]
        tas, north, east = (
            float(np.mean([t[key] for t in truths])) for key in ("tas_kt", "wind_north_kt", "wind_east_kt")
        )
        where = f"{len(members)} legs at {group['ias_kt']:.0f} kt, {group['start_utc'][11:19]}"
        from_rad = np.radians(group["wind_from_deg"])
        off = np.array(
            [-group["wind_kt"] * np.cos(from_rad) - north, -group["wind_kt"] * np.sin(from_rad) - east]
        )
        misses.append(_miss(flight, "leg TAS", where, group["tas_kt"] - tas, group["tas_kt_u95"]))
        height = float(np.mean([t["pressure_altitude_ft"] for t in truths]))
        error = group["pressure_altitude_ft"] - height
        misses.append(_miss(flight, "leg altitude", where, error, group["pressure_altitude_ft_u95"]))
        misses.append(_miss(flight, "leg wind", where, float(np.hypot(*off)), None))
        speed = float(np.hypot(north, east))
        misses.append(_miss(flight, "leg wind speed", where, group["wind_kt"] - speed, group["wind_kt_u95"]))
        turn = (group["wind_from_deg"] - float(np.degrees(np.arctan2(-east, -north))) + 180) % 360 - 180
        misses.append(_miss(flight, "leg wind direction", where, turn, group["wind_from_deg_u95"]))
    return misses


def _calibration(flight: SimulatedFlight, data: dict[str, Any]) -> list[Miss]:
    """Return the errors of the curve over the range flown in legs, and beyond it as extrapolated."""
    misses = []
    for row in data["calibration"]["curve"]:
        name = "CAS correction, extrapolated" if row["extrapolated"] else "CAS correction"
        error = row["cas_minus_ias_kt"] - flight.correction_kt(row["ias_kt"])
        misses.append(_miss(flight, name, f"at {row['ias_kt']} kt", error, row["cas_minus_ias_kt_u95"]))
    return misses


def _climbs(flight: SimulatedFlight, data: dict[str, Any]) -> list[Miss]:
    """Return the errors of each climb's rate of energy height and of its rate at standard conditions.

    The former is thrust power less drag's, over weight. In air that rises both are that much more: the
    recorder cannot tell. The rates of speeds, of one climb or two, allow for that.
    """
    misses = []
    for climb in data["climbs"]["points"] if data["climbs"] else ():
        point = data["points"][climb["point"]]
        truth = flight.truth(seconds(point["start_utc"]), seconds(point["end_utc"]))
        steps = {c["name"]: c["to"] for c in climb["corrections"]}
        rate = steps.get("wind gradient", steps["acceleration"])
        error = rate - truth["excess_power_fpm"] - truth["vertical_air_fpm"]
        at = point["start_utc"][11:19]
        misses.append(_miss(flight, "excess power of a climb", at, error, None))
        error = climb["standard_fpm"] - _standard(flight, truth) - truth["vertical_air_fpm"]
        misses.append(_miss(flight, "standard rate of a climb", at, error, climb["standard_fpm_u95"]))
    for speed in data["climbs"]["speeds"] if data["climbs"] else ():
        members = [data["points"][i] for i in speed["points"]]
        truths = [flight.truth(seconds(p["start_utc"]), seconds(p["end_utc"])) for p in members]
        error = speed["rate_fpm"] - float(np.mean([_standard(flight, t) for t in truths]))
        at = members[0]["start_utc"][11:19]
        misses.append(_miss(flight, "standard rate at a speed", at, error, speed["rate_fpm_u95"]))
    return misses


def _standard(flight: SimulatedFlight, truth: dict[str, float]) -> float:
    return standard_rate_fpm(flight.scenario.airplane, truth["cas_kt"], truth["pressure_altitude_ft"])


def _glides(flight: SimulatedFlight, data: dict[str, Any]) -> list[Miss]:
    """Return the errors of glides' drag coefficients, the propeller's drag in it; not in air that moved."""
    misses = []
    for glide in data["glides"]["points"] if data["glides"] else ():
        point = data["points"][glide["point"]]
        start, end = seconds(point["start_utc"]), seconds(point["end_utc"])
        truth = flight.truth(start, end)
        if any(_moves(s) and s.overlap_s(start, end) > 0 for s in flight.scripted):
            continue
        drag = truth["cd"] * (1 - truth["thrust_lb"] / truth["drag_lb"])
        name, where = "drag coefficient x 1000", f"glide at {point['start_utc'][11:19]}"
        misses.append(_miss(flight, name, where, 1000 * (glide["cd"] - drag), 1000 * glide["cd_u95"]))
    return misses


def table(misses: Sequence[Miss]) -> list[str]:
    """Return lines of count, rms and worst error, what is beyond the limit, coverage, median u95 and z."""
    head = f"  {'quantity':30}{'n':>5}{'rms':>9}{'worst':>9}{'limit':>8}{'beyond':>8}"
    lines = [f"{head}{'held %':>8}{'u95':>8}{'z':>6}"]
    for quantity in sorted({m.quantity for m in misses}):
        own = [m for m in misses if m.quantity == quantity]
        errors = np.array([m.error for m in own])
        limit = LIMITS.get(quantity)
        beyond = "–" if limit is None else str(int((np.abs(errors) > limit).sum()))
        rms, worst = np.sqrt((errors**2).mean()), errors[np.abs(errors).argmax()]
        lines.append(
            f"  {quantity:30}{len(own):5}{rms:9.2f}{worst:9.2f}{limit or '–':>8}{beyond:>8}{_stated(own)}"
        )
    return lines


def _stated(misses: Sequence[Miss]) -> str:
    stated = [m for m in misses if m.u95 > 0]
    if not stated:
        return f"{'–':>8}{'–':>8}{'–':>6}"
    z = np.sqrt(np.mean([(1.96 * m.error / m.u95) ** 2 for m in stated]))
    return f"{coverage(stated):8.1f}{np.median([m.u95 for m in stated]):8.2f}{z:6.2f}"


def coverage(misses: Sequence[Miss]) -> float:
    """Return how many of 100 stated intervals hold the truth."""
    return 100 * float(np.mean([m.held for m in misses if m.u95 > 0]))


def _conditions(one: Measured) -> list[str]:
    lines = [
        f"    not found: {s.kind} {s.step.ias_kt:.0f} kt, heading {s.step.heading_deg:.0f}, from "
        f"{_clock(s.start_s)}, {_drift(s.truth)}"
        for s in one.not_found
    ]
    lines += [f"    invented: {text}" for text in one.invented]
    lines += [f"    refused: {text}" for text in one.refused]
    for scripted, taken, flags in one.waves:
        air = f"{scripted.kind} in air of {scripted.truth['vertical_air_fpm']:+.0f} ft/min on average"
        lines.append(f"    moving: {air}: {f'flags {list(flags)}' if taken else 'not taken as steady'}")
    lines += [f"    still air flagged: {s.kind}: {flags}" for s, flags in one.still if flags]
    return lines


def _clock(time_s: float) -> str:
    day = int(time_s) % 86400
    return f"{day // 3600:02}:{day // 60 % 60:02}:{day % 60:02}"


def report(measured: Sequence[Measured], worst: int, conditions: bool) -> list[str]:
    """Return what was measured as lines to read."""
    lines = []
    for one in measured:
        lines.append(f"{one.flight.scenario.name} (seed {one.flight.scenario.seed}): {summary([one])}")
        lines += table(one.misses)
        lines += _conditions(one) if conditions else []
    misses = [m for one in measured for m in one.misses]
    lines += [f"all: {summary(measured)}", *table(misses)]
    for quantity in LIMITS if worst else ():
        own = sorted((m for m in misses if m.quantity == quantity), key=lambda m: -abs(m.error))[:worst]
        lines += [f"  worst {m.quantity}: {m.error:+.2f} ± {m.u95:.2f}, {m.scenario}, {m.where}" for m in own]
    return lines


def summary(measured: Sequence[Measured]) -> str:
    """Return in one line what was found, invented and refused, and the coverage of all intervals."""
    scripted = sum(len(one.steady) for one in measured)
    found = scripted - sum(len(one.not_found) for one in measured)
    return (
        f"{found} of {scripted} scripted conditions found ({100 * found / scripted:.1f} %), "
        f"{sum(len(one.invented) for one in measured)} invented; "
        f"{sum(len(one.data['legs']) for one in measured)} leg groups found of "
        f"{sum(len(one.flight.groups) for one in measured)}, "
        f"{sum(len(one.refused) for one in measured)} refused; "
        f"{sum(not taken or bool(flags) for one in measured for _, taken, flags in one.waves)} of "
        f"{sum(len(one.waves) for one in measured)} in moving air flagged or left out, "
        f"{sum(bool(flags) for one in measured for _, flags in one.still)} of "
        f"{sum(len(one.still) for one in measured)} in still air flagged as moving; "
        f"{coverage([m for one in measured for m in one.misses]):.1f} % of intervals hold the truth"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="The reduction against simulated truth.")
    parser.add_argument("names", nargs="*")
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--after", type=int, default=0)
    parser.add_argument("--worst", type=int, default=5)
    parser.add_argument("--conditions", action="store_true")
    given = parser.parse_args()
    chosen = [s for s in SCENARIOS if not given.names or s.name in given.names]
    variants = range(given.after, given.after + given.seeds)
    flown = [seeded(s, s.seed + ROUND * i) for s in chosen for i in variants]
    print("\n".join(report([measure(s) for s in flown], given.worst, given.conditions)))  # noqa: T201


if __name__ == "__main__":
    main()
