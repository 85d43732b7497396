"""A flight's log against what is known of its airplane and its day: another unit, clock or flight shows here.

What cannot be is a problem, and the flight is not reduced; what is only
unlikely is a warning with its number. The bounds are common practice, no
source, where nothing else is said.
"""

import math
from collections.abc import Iterator

import numpy as np

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import find_unit, ft, hour, hp, kt, lb
from flyoff.dossier.read import Dossier
from flyoff.flights.card import ConditionEdit, NotedPoint
from flyoff.flights.log import Log, counted
from flyoff.flights.plausible import FEWEST, SETTINGS_M, in_flight
from flyoff.flights.read import Flight
from flyoff.physics.atmosphere import pressure_at_altitude
from flyoff.reduction.airplane import Airplane

_PER_POWER = lb / hp / hour
_IMPOSSIBLE_USE, _UNLIKELY_USE = 0.80 * _PER_POWER, 0.65 * _PER_POWER
"""[kg/J] Fuel flow over rated power: at full power, full rich, a spark engine burns up to 0.6 lb/hp/h."""
_LEAST_USE = 0.20 * _PER_POWER
"""[kg/J] What the most flow of a flight exceeds: half power, leaned."""
_GASOLINE_KG_M3 = 720.0
_BURNED_SHARE = 1.05
_TANK_SHARE = 0.25
_LEAST_TANK_M3 = 0.010
_MANIFOLD_SHARES = (1.08, 1.3)
"""Of the air's pressure, in an engine without turbocharger: unlikely, impossible."""
_SPEED_SHARES = (0.6, 1.1)
_GROUND_M = 200.0
_STILL_M_S = 2.5
_CLOCK_STEP_S, _MOST_CLOCK_S = 1800.0, 14 * hour
_SET_WRONG_S = 600.0


def cross_checked(flight: Flight, airplane: Airplane, dossier: Dossier | None) -> list[str]:
    """Return what is unlikely of a flight's logs, in words with numbers.

    Raises
    ------
    Problems
        For what cannot be, at the line of the flight file that says a channel's unit.
    """
    problems: list[Problem] = []
    said = [f"{r.channel.replace('_', ' ')}: {r.why}" for _, r in flight.repairs if r.kind == _DOUBT]
    for log in flight.logs:
        for finding in _findings(flight, log, airplane, dossier):
            if isinstance(finding, Problem):
                problems.append(finding)
            else:
                said.append(finding)
    if problems:
        raise Problems(problems)
    return [*said, *_of_clock(flight), *_of_merges(flight)]


_DOUBT = "unlikely reading"


def _findings(
    flight: Flight, log: Log, airplane: Airplane, dossier: Dossier | None
) -> Iterator[Problem | str]:
    with np.errstate(all="ignore"):
        yield from _of_flow(flight, log, airplane, dossier.airplane.engine.count if dossier else 1)
        yield from _of_tanks(flight, log)
        yield from _of_airfield(flight, log)
        if dossier is not None:
            yield from _of_engine(flight, log, airplane, dossier)
            yield from _of_limit(flight, log, dossier)


def _place(flight: Flight, log: Log, channel: str) -> Place:
    return flight.unit_places.get((log.name, channel), Place(flight.name))


def _flown(log: Log, channel: str) -> Array | None:
    """Return a channel's known readings in flight, or None where they are few."""
    values = log.get(channel)
    if values is None:
        return None
    known = values[np.isfinite(values) & in_flight(log)]
    return known if len(known) >= FEWEST else None


def _flow_channel(log: Log) -> str | None:
    return next((name for name in ("fuel_mass_flow", "fuel_flow") if log.get(name) is not None), None)


def _density(flight: Flight) -> float:
    given = flight.card.loading.fuel_density
    return _GASOLINE_KG_M3 if given is None else given.si


def _of_flow(flight: Flight, log: Log, airplane: Airplane, engines: int) -> Iterator[Problem | str]:
    """Hold the fuel flow, be it of one engine or of all, against their rated power."""
    channel, power_w = _flow_channel(log), airplane.rated_power_w
    flow = None if channel is None else _flown(log, channel)
    if channel is None or flow is None or not power_w:
        return
    by_mass = 1.0 if channel == "fuel_mass_flow" else _density(flight)
    median, most = (float(np.percentile(flow, share)) * by_mass / power_w for share in (50, 99))
    median /= engines
    unit = find_unit("US gal/h" if channel == "fuel_flow" else "lb/h")
    per_power = f"lb/h for each of {power_w / hp:,.0f} hp"
    said = (
        f"a median of {unit.from_si(float(np.median(flow))):.1f} {unit.label} is "
        f"{median / _PER_POWER:.2f} {per_power}"
    )
    if median > _IMPOSSIBLE_USE:
        expected = f"expected at most {_IMPOSSIBLE_USE / _PER_POWER:.2f}; is the unit right?"
        yield Problem(_place(flight, log, channel), f"the fuel flow cannot be: {said}", expected)
    elif median > _UNLIKELY_USE:
        yield f"fuel flow: {said}, more than full power takes: is its unit right?"
    elif most < _LEAST_USE:
        yield (
            f"fuel flow: the most of the flight, {unit.from_si(float(np.percentile(flow, 99))):.1f} "
            f"{unit.label}, is {most / _PER_POWER:.2f} {per_power}, less than half power takes: "
            "is its unit right?"
        )


def _of_tanks(flight: Flight, log: Log) -> Iterator[Problem | str]:
    """Hold the fuel burned, and the fuel recorded, against the fuel that was put in."""
    given = flight.card.loading.fuel_at_start
    if given is None or given.si <= 0:
        return
    gallons = find_unit("US gal")
    channel = _flow_channel(log)
    if channel is not None:
        burned_m3 = _burned(log, channel) / (1.0 if channel == "fuel_flow" else _density(flight))
        if burned_m3 > _BURNED_SHARE * given.si:
            yield Problem(
                _place(flight, log, channel),
                f"by its flow the flight burned {gallons.from_si(burned_m3):.1f} US gal",
                f"expected at most the {given} at its start; is the unit right, and the log this flight's?",
            )
    left = log.get("fuel_remaining")
    if left is not None:
        first = float(left[np.isfinite(left)][:FEWEST].max())
        if abs(first - given.si) > max(_TANK_SHARE * given.si, _LEAST_TANK_M3):
            yield (
                f"{log.name} begins with {gallons.from_si(first):.1f} US gal in the tanks, the flight file "
                f"says {given}: is the unit right, and the log this flight's?"
            )


def _burned(log: Log, channel: str) -> float:
    flow = log.channels[channel]
    known = np.isfinite(flow)
    return float(np.trapezoid(flow[known], log.time_s[known])) if known.sum() > 1 else 0.0


def _of_airfield(flight: Flight, log: Log) -> Iterator[str]:
    """Hold where the airplane stood against the airfield that the flight was planned from."""
    plan, ground = flight.card.plan, log.get("ground_speed")
    if plan is None or ground is None:
        return
    for channel, most in (("gps_altitude", _GROUND_M), ("pressure_altitude", SETTINGS_M)):
        altitude = log.get(channel)
        still = np.zeros(0) if altitude is None else altitude[(ground < _STILL_M_S) & np.isfinite(altitude)]
        if len(still) >= FEWEST:
            stood, field_m = float(np.median(still)), plan.airfield_elevation.si
            if abs(stood - field_m) > most:
                yield (
                    f"in {log.name} the airplane stands at {stood / ft:,.0f} ft, the airfield planned at "
                    f"{field_m / ft:,.0f} ft: is it this flight's log?"
                )
            return


def _of_engine(flight: Flight, log: Log, airplane: Airplane, dossier: Dossier) -> Iterator[Problem | str]:
    """Hold manifold pressure and engine speed against what the engine is."""
    pressure = log.get("manifold_pressure")
    altitude = log.get("pressure_altitude")
    engine = dossier.airplane.engine
    if pressure is not None and altitude is not None and engine.aspiration == "normal":
        share = pressure / np.asarray(pressure_at_altitude(altitude))
        share = share[np.isfinite(share) & in_flight(log)]
        most = float(np.percentile(share, 95)) if len(share) >= FEWEST else 0.0
        said = f"{most:.2f} times the air's pressure, in an engine without turbocharger"
        if most > _MANIFOLD_SHARES[1]:
            expected = f"expected at most {_MANIFOLD_SHARES[0]:.2f}; is the unit right?"
            place = _place(flight, log, "manifold_pressure")
            yield Problem(place, f"the manifold pressure cannot be: {said}", expected)
        elif most > _MANIFOLD_SHARES[0]:
            yield f"manifold pressure: {said}: is its unit right?"
    turning, rated = _flown(log, "rpm"), airplane.rated_speed_hz
    if turning is not None and rated:
        share_of = float(np.percentile(turning, 99)) / rated
        if not _SPEED_SHARES[0] < share_of < _SPEED_SHARES[1]:
            yield (
                f"engine speed: the most of the flight is {share_of:.2f} of the engine's rated speed: "
                "is its unit right, and the log this airplane's?"
            )


def _of_limit(flight: Flight, log: Log, dossier: Dossier) -> Iterator[Problem]:
    """Hold the airspeed against the speed never to be exceeded."""
    limit, flown = dossier.airplane.speeds.never_exceed, _flown(log, "indicated_airspeed")
    if limit is not None and flown is not None and np.median(flown) > limit.si:
        found = f"the airspeed cannot be: its median in flight is {np.median(flown) / kt:.0f} kt"
        expected = f"expected less than the {limit} never to be exceeded; is the unit right?"
        yield Problem(_place(flight, log, "indicated_airspeed"), found, expected)


def _of_clock(flight: Flight) -> list[str]:
    """Say where times noted lie outside the logs, and by which shift of the clock they would lie inside."""
    card = flight.card
    entries: tuple[NotedPoint | ConditionEdit, ...] = (*card.points, *card.conditions)
    texts = [text for entry in entries for text in (entry.start, entry.end)]
    times = [flight.time_s(t) for t in (*texts, *(note.at for note in card.notes if note.at))]
    spans = [(float(log.time_s[0]), float(log.time_s[-1])) for log in flight.logs]
    if not times or not spans:
        return []
    start_s, end_s = min(a for a, _ in spans), max(b for _, b in spans)
    outside = sum(not start_s <= t <= end_s for t in times)
    steps = round(_MOST_CLOCK_S / _CLOCK_STEP_S)
    shifts = sorted((n * _CLOCK_STEP_S for n in range(-steps, steps + 1) if n), key=abs)
    fits = [s for s in shifts if all(start_s + s <= t <= end_s + s for t in times)]
    if not outside or not fits:
        return []
    way = [s for s in fits if s * fits[0] > 0]
    span = " to ".join(dict.fromkeys(f"{abs(s) / hour:g}" for s in (way[0], way[-1])))
    return [
        f"{outside} of {counted(len(times), 'time')} noted lie outside the log, all inside were its clock "
        f"{span} h {'later' if fits[0] > 0 else 'earlier'}: is the clock's zone right?"
    ]


def _of_merges(flight: Flight) -> list[str]:
    return [
        f"the clock of {m.log} stands {abs(m.offset_s):,.0f} s {'behind' if m.offset_s > 0 else 'ahead of'} "
        f"that of {m.onto}: is its zone right?"
        for m in flight.merges
        if not m.refused and math.isfinite(m.offset_s) and abs(m.offset_s) > _SET_WRONG_S
    ]
