"""Where each airplane is at its best over the altitudes of the terms, and where one overtakes another."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.cruise import DISTANCE_PER_FUEL, FLOW, SPEED, CruiseSample, cruise_sample
from flyoff.comparison.results import Crossing, PowerCell, difference_key
from flyoff.core.figure import Basis, Figure, Input, Trace, format_number, slug
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import ft

ALTITUDE = ("ft", "length")
_BEST = Method("the largest over the altitudes of the terms, draw by draw")
_CROSS = (
    "where the two speeds, straight between the altitudes of the terms, are equal, draw by draw; "
    "draws without such an altitude are left out"
)
_RARE = 0.025


@dataclass(frozen=True)
class Curve:
    """Cruise over the altitudes of the terms, samples; NaN where there is no evidence, shape (n, samples)."""

    case: Case
    altitudes_m: Array
    speeds_m_s: Array
    flows_kg_s: Array
    samples: tuple[CruiseSample, ...]

    @property
    def inputs(self) -> tuple[Input, ...]:
        """What it rests on, each once."""
        every = (given for c in self.samples for given in (*c.speed_inputs, *c.flow_inputs))
        return tuple(dict.fromkeys(every))


def curve_of(case: Case) -> Curve:
    """Return a case's cruise at each altitude of the terms, from the lowest."""
    altitudes = sorted(altitude.si for altitude in case.terms.altitudes)
    mass_kg = case.masses_kg(case.loading.mass_kg)[1]
    found = tuple(cruise_sample(case, altitude_m, mass_kg) for altitude_m in altitudes)
    gone = case.draws.exact(np.nan)
    speeds = [gone if c.true_airspeed_m_s is None else c.true_airspeed_m_s for c in found]
    flows = [gone if c.fuel_flow_kg_s is None else c.fuel_flow_kg_s for c in found]
    return Curve(case, np.array(altitudes), np.array(speeds), np.array(flows), found)


def best_figures(curve: Curve) -> list[Figure]:
    """Return the fastest cruise and the longest distance per fuel over altitude, and where they are."""
    case = curve.case
    distances = curve.speeds_m_s / (curve.flows_kg_s / case.fuel.density.si)
    parts: list[tuple[str, str, tuple[str, str], Array]] = [
        ("best_speed", "Fastest cruise", SPEED, curve.speeds_m_s),
        ("best_specific_range", "Best specific range", DISTANCE_PER_FUEL, distances),
    ]
    return [figure for part in parts for figure in _best(curve, *part)]


def _best(curve: Curve, key: str, label: str, unit: tuple[str, str], values: Array) -> Iterator[Figure]:
    case = curve.case
    known = np.isfinite(values[:, 0])
    value = where = None
    remarks: tuple[str, ...] = ()
    extrapolated = False
    if known.any():
        rows = values[known]
        altitudes_m = curve.altitudes_m[known]
        top = np.argmax(np.where(np.isfinite(rows), rows, -np.inf), axis=0)
        value, where = rows.max(axis=0), altitudes_m[top]
        extrapolated = curve.samples[int(np.flatnonzero(known)[top[0]])].extrapolated
        if len(altitudes_m) > 1 and top[0] == len(altitudes_m) - 1:
            above = "the highest of the terms" if known[-1] else "the highest with evidence at this power"
            remarks = (f"at {above}: it may be better still above",)
    gone = next((c.missing for c in curve.samples if c.missing), "")
    for suffix, word, of, sample in (("", "", unit, value), ("_altitude", ", altitude", ALTITUDE, where)):
        yield case.figure(
            f"{key}{suffix}", f"{label}{word}", of, sample, case.read(_BEST.words), curve.inputs,
            basis=case.reading.basis, terms={"altitude": "the best of the terms’"}, missing=gone,
            remarks=remarks, extrapolated=extrapolated,
            grain_si=max((a.grain_si for a in case.terms.altitudes), default=0.0) if suffix else 0.0,
        )  # fmt: skip


def power_figures(case: Case) -> tuple[list[Figure], list[PowerCell]]:
    """Return cruise at each further power and with each mixture, over the altitudes of the terms."""
    terms = case.terms
    settings = [(power, "") for power in terms.powers] + [(terms.power, name) for name in terms.mixtures]
    figures: list[Figure] = []
    cells = []
    for altitude, (power, mixture) in itertools.product(terms.altitudes, settings):
        own = _set(case, altitude, power, mixture)
        figures += own
        words = f"{power} power, mixture for {mixture}" if mixture else f"{power} power"
        cells.append(PowerCell(case.key, str(altitude), words, *(figure.key for figure in own)))
    return figures, cells


def _set(case: Case, altitude: Quantity, power: Quantity, mixture: str) -> list[Figure]:
    """Return speed, flow and distance per fuel at one altitude and setting."""
    mass_kg = case.masses_kg(case.loading.mass_kg)[1]
    cruise = cruise_sample(case, altitude.si, mass_kg, power=power, mixture=mixture)
    speed, flow = cruise.true_airspeed_m_s, cruise.fuel_flow_kg_s
    volume = None if flow is None else flow / case.fuel.density.si
    per_fuel = None if speed is None or volume is None else speed / volume
    feet = f"{format_number(altitude.si / ft, 0).replace(',', '')}ft"
    own = f"mixture={slug(mixture)}" if mixture else f"power={power.text.replace(' ', '')}"
    inputs = (
        *cruise.speed_inputs, *cruise.flow_inputs,
        Input("cruise power", str(power), power.place, power.source),
        Input("pressure altitude", str(altitude), altitude.place, altitude.source),
    )  # fmt: skip
    asked = {"mixture": mixture} if mixture else {"power": str(power)}
    return [
        case.figure(
            f"{key}?altitude={feet}&{own}", label, unit, sample,
            case.read(case.reading.cruise), inputs, basis=case.reading.basis,
            terms={"altitude": str(altitude), **asked}, missing=cruise.missing,
            remarks=cruise.remarks, extrapolated=cruise.extrapolated,
        )
        for key, label, unit, sample in (
            ("cruise_speed", "Cruise true airspeed", SPEED, speed),
            ("cruise_fuel_flow", "Cruise fuel flow", FLOW, volume),
            ("specific_range", "Specific range", DISTANCE_PER_FUEL, per_fuel),
        )
    ]  # fmt: skip


def speed_crossings(curves: Sequence[Curve]) -> tuple[list[Figure], list[Crossing]]:
    """Return for each pair of airplanes the altitude where the faster becomes the slower."""
    figures = []
    told = []
    for first, rival in itertools.combinations(curves, 2):
        sample, words = _crossing(first, rival)
        figure = _crossing_figure(first, rival, sample, words)
        figures.append(figure)
        told.append(Crossing(first.case.key, rival.case.key, figure.key, words))
    return figures, told


def _crossing(first: Curve, rival: Curve) -> tuple[Array | None, str]:
    """Return the lowest altitude where one overtakes the other, a sample, and what happens there."""
    ahead = first.speeds_m_s - rival.speeds_m_s
    known = np.isfinite(ahead[:, 0])
    if known.sum() < 2:
        return None, "no two altitudes with evidence for both"
    ahead, altitudes_m = ahead[known], first.altitudes_m[known]
    turns = ahead[:-1] * ahead[1:] <= 0
    at = np.argmax(turns, axis=0)
    each = np.arange(ahead.shape[1])
    below, above = ahead[at, each], ahead[at + 1, each]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = below / (below - above)
        height = altitudes_m[at] + share * (altitudes_m[at + 1] - altitudes_m[at])
    height = np.where(turns.any(axis=0), height, np.nan)
    names = first.case.airplane.name, rival.case.airplane.name
    if not np.isfinite(height[0]):
        faster, slower = names if ahead[0, 0] > 0 else names[::-1]
        often = float(np.isfinite(height[1:]).mean())
        doubt = f"; in {100 * often:.0f} % of draws it is overtaken" if often > _RARE else ""
        return None, f"{faster} is faster than {slower} at every altitude compared{doubt}"
    low, high = names if below[0] > 0 else names[::-1]
    return height, f"below it {low} is faster, above it {high}"


def _crossing_figure(first: Curve, rival: Curve, sample: Array | None, words: str) -> Figure:
    cases = (first.case, rival.case)
    inputs = tuple(Input(f"{c.case.airplane.name}: {i.label}", i.text, i.place, i.source)
                   for c in (first, rival) for i in c.inputs)  # fmt: skip
    trace = Trace(_CROSS, "common practice, no source", inputs)
    bases: list[Basis] = [case.reading.basis for case in cases]
    key = difference_key(first.case.key, rival.case.key, "speed_crossover")
    label = "Altitude where the speeds are equal"
    if sample is None:
        return Figure(key, label, *ALTITUDE, None, bases[0], trace, missing=words)
    draws = sample[1:]
    lacking = float(1 - np.isfinite(draws).mean())
    said = (
        (f"{100 * lacking:.0f} % of draws have no such altitude among those compared",)
        if lacking > 0.005
        else ()
    )
    return Figure(key, label, *ALTITUDE, float(sample[0]), bases[0], trace, draws, remarks=(words, *said))
