"""What the reader's page answers from: each airplane's results at the corners of what a reader may ask.

The page adds and interpolates only. Its nominal values come of tables of time and air distance over fuel
burnt, by payload, so that wind, reserve and distance are exact between the rows; its intervals are those of
the library at the corners, interpolated between them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np

from flyoff.comparison.aloft import steady
from flyoff.comparison.altitude import nominal
from flyoff.comparison.case import Case
from flyoff.comparison.lifting import Fitted, most_fuel_sample, people, ready
from flyoff.comparison.ownership import assumptions, total_figures
from flyoff.comparison.profile import Flown, Profile, profile, reach
from flyoff.core.draws import half_width_95
from flyoff.core.quantity import parse_quantity
from flyoff.core.typing import Array
from flyoff.core.units import find_unit, hour, minute, nmi, us_gal

WINDS_KT = (-60, -30, 0, 30, 60)
RESERVES_MIN = (0, 60, 180)
LEGS_NMI = (25, 50, 100, 200, 400, 800, 1600)
HOURS = (20, 40, 80, 160, 320, 640)
_BAG_STEPS = (10, 5, 2, 1)
_MOST_STEPS = 60
_BAND_EVERY = 4
"""Bag steps between those at which the interval of range is worked out."""
_COARSEST_KG = 5.0
_PAYLOADS = 9
_BURNS = 13

_Record: TypeAlias = dict[str, Any]


@dataclass(frozen=True)
class Bags:
    """The bags that a reader may set: a number of steps of a unit."""

    unit: str
    step: int
    steps: int
    unit_kg: float

    def kg(self, index: int) -> float:
        """Return the weight of a number of steps."""
        return index * self.step * self.unit_kg


def bags_of(cases: Sequence[Case], label: str = "") -> Bags:
    """Return the steps of bags, in a unit or the terms', up to what the roomiest airplane stows.

    The largest step of which the terms' bags are a multiple, and the most of 5 kg or 10 lb; 5 of a unit
    in which they are no whole number.
    """
    terms_bags = cases[0].terms.bags
    unit = find_unit(label, "mass") if label else terms_bags.unit
    unit_kg = unit.to_si(1.0)
    asked = float(f"{unit.from_si(terms_bags.si):.6g}")
    coarse = [step for step in _BAG_STEPS if step * unit_kg <= _COARSEST_KG]
    even = coarse if asked.is_integer() else [5]
    step = next((step for step in even if asked % step == 0), even[-1])
    most_kg = max([terms_bags.si, *(_stowed_kg(case) for case in cases)])
    return Bags(unit.label, step, min(int(most_kg / (step * unit_kg) + 1e-9), _MOST_STEPS), unit_kg)


def _stowed_kg(case: Case) -> float:
    holds = [s.limit.si for s in case.airplane.stations if not s.seats and s.limit]
    return sum(holds)


@dataclass(frozen=True)
class Asked:
    """One airplane, asked for all that the page needs of it."""

    case: Case
    bags: Bags
    most_people: int

    @cached_property
    def quick(self) -> Case:
        """The case with a single draw, for nominal values."""
        return nominal(self.case)

    @cached_property
    def people_kg(self) -> tuple[float, ...]:
        """Weight of each number of people, from none."""
        weights = [person.mass_kg for person in people(self.case, self.most_people)]
        return tuple(sum(weights[:count]) for count in range(self.most_people + 1))

    @cached_property
    def fits(self) -> tuple[tuple[Fitted, ...], ...]:
        """The most fuel by people, from one, and bags, whatever the reserve."""
        of = replace(ready(self.case), reserve_kg=0.0)
        return tuple(
            tuple(
                most_fuel_sample(self.case, of, people(self.case, count), self.bags.kg(index))
                for index in range(self.bags.steps + 1)
            )
            for count in range(1, self.most_people + 1)
        )

    def record(self) -> _Record:
        """Return everything as plain numbers: nmi, minutes, US gallons, knots, kilograms."""
        case = self.case
        ways = [self._way(payload_kg) for payload_kg in self._payloads_kg()]
        missing = next((way.missing for way in ways if way.missing), "")
        landing = (case.airplane.weights.landing or case.airplane.weights.takeoff).si
        return {
            "key": case.key,
            "name": case.airplane.name,
            "maker": case.airplane.maker,
            "fuel": case.fuel.kind,
            "people": _rounded(self.people_kg),
            "missing": missing,
            "extrapolated": any(way.extrapolated for way in ways),
            "remarks": self._way(case.loading.mass_kg).remarks,
            "landing": _number(landing - float(case.empty_kg[0])),
            "reserve_kg": _number(self._reserve_kg_per_minute()),
            "alternate": _number(case.terms.alternate.si / nmi if case.terms.alternate else 0.0),
            "fits": self._fits(),
            "grain": _number(min(tank.usable.grain_si for tank in case.airplane.tanks) / us_gal),
            "payloads": _rounded(self._payloads_kg()),
            "ways": [] if missing else [self._way_record(way) for way in ways],
            "bands": {} if missing else self._bands(),
            "cost": self._cost(),
        }

    def _reserve_kg_per_minute(self) -> float:
        """Return what a minute of reserve weighs where the landing weight is checked."""
        reserve_s = self.case.terms.reserve.si
        return ready(self.case).reserve_kg / reserve_s * minute if reserve_s else 0.0

    def _gallons(self, fuel_kg: float) -> float:
        return fuel_kg / self.case.fuel.density.si / us_gal

    def _payloads_kg(self) -> tuple[float, ...]:
        """Return payloads between which the table is linear: evenly spread, and where full tanks give way."""
        case = self.case
        most = min(self.people_kg[-1] + self.bags.kg(self.bags.steps), float(case.payload_limit_kg()[0]))
        kink = case.start_kg - float(case.empty_kg[0]) - float(case.full_fuel_kg[0])
        even = np.linspace(self.people_kg[1], max(most, self.people_kg[1] + 1.0), _PAYLOADS)
        between = [kink] if even[0] < kink < even[-1] else []
        return tuple(sorted({float(kg) for kg in (*even, *between)}))

    def _way(self, payload_kg: float, head_kt: float = 0.0, case: Case | None = None) -> Profile:
        case = case or self.quick
        wind = parse_quantity(f"{head_kt:g} kt", "speed")
        alternate_m = case.terms.alternate.si if case.terms.alternate else 0.0
        air = steady(wind, case.terms.isa_deviation)
        return profile(case, payload_kg, Flown(case.terms.altitude.si, air, alternate_m=alternate_m))

    def _way_record(self, way: Profile) -> _Record:
        """Return time and air distance over fuel burnt, from climb and descent alone to full tanks."""
        case = self.quick
        assert way.rates is not None
        aside_kg = float(way.aside_kg[0])
        count = 2 if way.rates.constant and case.kind == "handbook" else _BURNS
        burns = np.linspace(aside_kg, max(float(case.full_fuel_kg[0]), aside_kg + 1.0), count)
        reached = [self._reached(way, float(kg)) for kg in burns]
        speed, flow = way.cruise.true_airspeed_m_s, way.cruise.fuel_flow_kg_s
        assert speed is not None
        assert flow is not None
        return {
            "burn": _rounded(self._gallons(float(kg)) for kg in burns),
            "air": _rounded(air_m / nmi for air_m, _ in reached),
            "time": _rounded(time_s / minute for _, time_s in reached),
            "climb": _rounded([float(way.climb.ground_m[0]) / nmi, float(way.climb.time_s[0]) / minute]),
            "speed": _number(float(speed[0]) * hour / nmi),
            "flow": _number(self._gallons(float(flow[0]) * minute)),
        }

    def _reached(self, way: Profile, burn_kg: float) -> tuple[float, float]:
        """Return the air distance and time that burning some fuel gives, nothing kept at landing."""
        slack_kg = 1e-9  # so that rounding leaves the fuel of climb and descent enough
        fuel = way.alternate_fuel_kg + burn_kg + slack_kg
        found = reach(self.quick, way, fuel, 0.0)
        assert found.range_m is not None
        assert found.endurance_s is not None
        return float(found.range_m[0]), float(found.endurance_s[0])

    def _fits(self) -> _Record:
        """Return the fuel that fits by people and bags, its half-width, and why where none does."""
        reasons: dict[str, int] = {}
        told = [[self._fit(fitted, reasons) for fitted in row] for row in self.fits]
        fuel, half, why = ([[cell[part] for cell in row] for row in told] for part in range(3))
        return {"fuel": fuel, "half": half, "why": why, "reasons": list(reasons)}

    def _fit(self, fitted: Fitted, reasons: dict[str, int]) -> tuple[float | None, float | None, int | None]:
        if fitted.fuel_kg is None:
            return None, None, reasons.setdefault(fitted.missing, len(reasons))
        gallons = np.asarray(fitted.fuel_kg) / self.case.fuel.density.si / us_gal
        return _number(float(gallons[0])), _half(gallons), None

    def _bands(self) -> _Record:
        steps = [self._band_steps(row) for row in self.fits]
        payloads = self._payloads_kg()[:: _PAYLOADS - 1]
        trips = [[list(self._over(kg, wind)) for wind in WINDS_KT] for kg in payloads]
        return {
            "steps": steps,
            "range": [
                [self._range_bands(count, index) for index in own] for count, own in enumerate(steps, 1)
            ],
            "payloads": _rounded(payloads),
            "time": [[[time for time, _ in legs] for legs in winds] for winds in trips],
            "fuel": [[[fuel for _, fuel in legs] for legs in winds] for winds in trips],
        }

    def _band_steps(self, row: Sequence[Fitted]) -> list[int]:
        """Return the bag steps to work intervals out at: evenly, and where what decides changes."""
        kept = {0, *range(0, len(row), _BAND_EVERY), len(row) - 1}
        for index, (before, after) in enumerate(pairwise(row)):
            if self._decided(before) != self._decided(after):
                kept |= {index, index + 1}
        return sorted(kept)

    def _decided(self, fitted: Fitted) -> str:
        """Return what decides how much fuel fits: the tanks, or limits of weight and balance."""
        if fitted.fuel_kg is None:
            return "nothing"
        return "tanks" if np.ptp(fitted.fuel_kg) == 0 else "limits"

    def _range_bands(self, count: int, index: int) -> list[list[float | None]] | None:
        """Return the half-width of range by reserve and wind; nothing where people and bags do not fit."""
        fitted = self.fits[count - 1][index]
        if fitted.fuel_kg is None:
            return None
        payload_kg = self.people_kg[count] + self.bags.kg(index)
        ways = [self._way(payload_kg, wind, self.case) for wind in WINDS_KT]
        return [
            [_half(reach(self.case, way, fitted.fuel_kg, kept * minute).range_m, nmi) for way in ways]
            for kept in RESERVES_MIN
        ]

    def _over(self, payload_kg: float, wind_kt: float) -> Iterator[tuple[float | None, float | None]]:
        """Yield the half-widths of time and fuel of a leg of each length."""
        way = self._way(payload_kg, wind_kt, self.case)
        per_gallon = self.case.fuel.density.si * us_gal
        for leg_nmi in LEGS_NMI:
            time, fuel = way.over(leg_nmi * nmi) if way.rates and not way.missing else (None, None)
            yield _half(time, minute), _half(fuel, per_gallon)

    def _cost(self) -> _Record | None:
        """Return the cost of a year at some hours; it is linear in them. Nothing where none is declared."""
        case = self.case
        if case.ownership is None:
            return None
        given = assumptions(case)
        rows = []
        for hours in HOURS:
            flown = replace(given["hours"], sample=case.draws.exact(hours * hour))
            figures = {f.key: f for f in total_figures(case, {**given, "hours": flown})}
            year = figures[f"{case.key}.cost_per_year"]
            if year.value is None or year.u95 is None:
                return {"missing": year.missing}
            rows.append((year.value, year.u95))
        return {
            "missing": "",
            "year": _rounded(value for value, _ in rows),
            "half": _rounded(half for _, half in rows),
        }


def _half(sample: Array | None, unit: float = 1.0) -> float | None:
    """Return the half-width of a sample's 95 % interval in a unit; None where it has no nominal value."""
    if sample is None or not np.isfinite(sample[0]):
        return None
    width = half_width_95(sample[1:], float(sample[0])) / unit
    return _number(width) if np.isfinite(width) else None


def _number(value: float) -> float:
    """Return a number to seven digits: more than is ever printed."""
    return float(f"{value:.7g}")


def _rounded(values: Iterable[float]) -> list[float]:
    return [_number(float(value)) for value in values]


def reader_table(cases: Sequence[Case], bags_unit: str = "") -> _Record:
    """Return what the page answers from, for some airplanes under the same terms."""
    bags = bags_of(cases, bags_unit)
    most_people = max(case.airplane.seats for case in cases)
    return {
        "bags": {"unit": bags.unit, "step": bags.step, "steps": bags.steps, "kg": _number(bags.unit_kg)},
        "people": most_people,
        "winds": WINDS_KT,
        "reserves": RESERVES_MIN,
        "legs": LEGS_NMI,
        "hours": HOURS,
        "airplanes": [Asked(case, bags, most_people).record() for case in cases],
    }
