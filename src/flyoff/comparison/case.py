"""One airplane under the terms: the quantities that every subject starts from.

A *sample* is an array whose element 0 is the nominal value and whose other
elements are its draws, so that one formula serves both.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from flyoff.comparison.equipment import Fit
from flyoff.comparison.evidence import FITTED_SOURCE, READINGS, Evidence, Evidences, Kind, Reading
from flyoff.comparison.terms import FuelTerms, MoneyTerms, Ownership, Terms
from flyoff.core.draws import Draws
from flyoff.core.figure import Basis, Figure, Input, Trace, format_number
from flyoff.core.quantity import Quantity, QuantityError, parse_quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Airplane
from flyoff.dossier.loading import MASS_TOLERANCE_KG, Loading, load
from flyoff.dossier.read import Dossier

_COUNTS_TAXI_FUEL = re.compile(
    r"(range|endurance)|trip\.[^.]+\.(fuel|stops|share|strongest|elapsed|both_ways|co2)"
)
COMMON_PRACTICE = "common practice, no source"
WEIGHT_AND_BALANCE = "FAA-H-8083-1B (2016), Aircraft Weight and Balance Handbook, chapter 2 and glossary"


@dataclass(frozen=True)
class Method:
    """How a figure is computed, and the source of the method."""

    words: str
    source: str = COMMON_PRACTICE


@dataclass(frozen=True)
class Case:
    """One airplane, equipped, loaded and fuelled as the terms say, on one kind of evidence."""

    fit: Fit
    evidences: Evidences
    kind: Kind
    terms: Terms
    money: MoneyTerms
    fuel: FuelTerms
    draws: Draws
    ownership: Ownership | None = None

    @property
    def dossier(self) -> Dossier:
        """The dossier of the airplane."""
        return self.fit.dossier

    @property
    def airplane(self) -> Airplane:
        """What the dossier's aircraft file says."""
        return self.dossier.airplane

    @property
    def key(self) -> str:
        """The first part of the key of each figure."""
        return self.dossier.key

    @property
    def evidence(self) -> Evidence:
        """What says how the airplane cruises and climbs."""
        return self.evidences.of(self.kind)

    @property
    def reading(self) -> Reading:
        """How that evidence is read."""
        return READINGS[self.kind]

    def read(self, words: str) -> Method:
        """Return a method that reads the evidence, with the source of how it is read."""
        return Method(words) if self.kind == "handbook" else Method(words, FITTED_SOURCE)

    def sample(self, quantity: Quantity) -> Array:
        """Return a measured or printed quantity as a sample, its last digit rounded."""
        return self.draws.sample(quantity)

    def declared(self, quantity: Quantity) -> Array:
        """Return a declared quantity as a sample: exact but for a doubt that is written with it."""
        return self.draws.sample(quantity, rounded=False)

    @cached_property
    def empty_kg(self) -> Array:
        """Empty weight as compared, a sample."""
        empty = self.sample(self.airplane.weights.empty)
        for option in self.fit.added:
            empty = empty + self.sample(option.weight)
        for option in self.fit.removed:
            empty = empty - self.sample(option.weight)
        return empty

    @property
    def takeoff_kg(self) -> float:
        """Maximum takeoff weight."""
        return self.airplane.weights.takeoff.si

    @property
    def start_kg(self) -> float:
        """Most weight at start: beyond takeoff's by what taxi burns, up to the ramp weight.

        A manual that prints no ramp weight allows nothing aboard beyond its takeoff weight.
        """
        ramp = self.airplane.weights.ramp
        return self.takeoff_kg if ramp is None else min(self.takeoff_kg + float(self.taxi_kg[0]), ramp.si)

    @property
    def taxi_fuel(self) -> Quantity | None:
        """What start, taxi and run-up burn: as the terms lay down for all, or else as printed."""
        return self.terms.taxi_fuel or self.airplane.allowances.taxi_fuel

    @cached_property
    def taxi_kg(self) -> Array:
        """The weight of that fuel, a sample; none where neither says."""
        taxi = self.taxi_fuel
        return self.draws.exact(0.0) if taxi is None else self.declared(taxi) * self.fuel.density.si

    def taxi_inputs(self) -> tuple[Input, ...]:
        """Return what the taxi fuel rests on."""
        taxi = self.taxi_fuel
        return () if taxi is None else (Input("taxi fuel", str(taxi), taxi.place, taxi.source),)

    @cached_property
    def full_fuel_kg(self) -> Array:
        """Usable fuel of full tanks, a sample."""
        volume = self.draws.exact(0.0)
        for tank in self.airplane.tanks:
            volume = volume + self.declared(tank.usable)
        return volume * self.fuel.density.si

    def full_fuel_inputs(self) -> tuple[Input, ...]:
        """Return what the weight of full tanks rests on."""
        tanks = (
            Input(f"usable fuel: {t.name}", str(t.usable), t.usable.place, t.usable.source)
            for t in self.airplane.tanks
        )
        density = self.fuel.density
        return (*tanks, Input(f"density of {self.fuel.kind}", str(density), density.place, density.source))

    @cached_property
    def loading(self) -> Loading:
        """The people and bags of the terms, seated and stowed."""
        return self.loaded(len(self.terms.occupants), self.terms.bags.si)

    def loaded(self, occupants: int, bags_kg: float) -> Loading:
        """Return the first of the terms' people and some bags, seated and stowed."""
        return load(self.airplane, [o.weight.si for o in self.terms.occupants[:occupants]], bags_kg)

    def people_inputs(self) -> tuple[Input, ...]:
        """Return the people and bags of the terms as inputs."""
        people = (
            Input(f"aboard: {o.name}", str(o.weight), o.weight.place, o.weight.source)
            for o in self.terms.occupants
        )
        bags = self.terms.bags
        return (*people, Input("bags", str(bags), bags.place, bags.source))

    def payload_limit_kg(self) -> Array:
        """Return the most payload that the limits allow without fuel, a sample."""
        zero_fuel = self.airplane.weights.zero_fuel
        limit = zero_fuel.si if zero_fuel else self.takeoff_kg
        return limit - self.empty_kg

    def overweight(self, payload_kg: float) -> str:
        """Return in words by how much a payload alone is over a limit; empty where it is not."""
        over = payload_kg - float(self.payload_limit_kg()[0])
        if over <= MASS_TOLERANCE_KG:
            return ""
        return f"people and bags alone are {format_number(over, 0)} kg over the limit"

    def fuel_allowed_kg(self, payload_kg: float | Array) -> Array:
        """Return the fuel that can be carried with a payload, a sample.

        NaN where the payload alone is above a limit.
        """
        fuel = np.minimum(self.full_fuel_kg, self.start_kg - self.empty_kg - payload_kg)
        allowed = payload_kg <= self.payload_limit_kg() + MASS_TOLERANCE_KG
        return np.where((fuel >= -MASS_TOLERANCE_KG) & allowed, np.maximum(fuel, 0.0), np.nan)

    def limit_inputs(self) -> tuple[Input, ...]:
        """Return the takeoff, zero fuel and ramp limits as inputs."""
        weights = self.airplane.weights
        limits = [
            ("maximum takeoff weight", weights.takeoff),
            ("maximum zero fuel weight", weights.zero_fuel),
            ("maximum ramp weight", weights.ramp),
        ]
        return tuple(Input(label, str(q), q.place, q.source) for label, q in limits if q)

    def masses_kg(self, payload_kg: float) -> tuple[float, float]:
        """Return the weight at takeoff with a payload and all the fuel beside it, and half way through."""
        fuel = float(np.nan_to_num(self.takeoff_fuel_kg(payload_kg)[0]))
        takeoff = min(float(self.empty_kg[0]) + payload_kg + fuel, self.takeoff_kg)
        return takeoff, takeoff - fuel / 2

    def takeoff_fuel_kg(self, payload_kg: float) -> Array:
        """Return what taxi leaves of the fuel allowed beside a payload, a sample; NaN as there."""
        return np.maximum(self.fuel_allowed_kg(payload_kg) - self.taxi_kg, 0.0)

    def figure(
        self,
        quantity: str,
        label: str,
        unit: tuple[str, str],
        sample: Array | None,
        method: Method,
        inputs: tuple[Input, ...],
        *,
        basis: Basis = "handbook",
        terms: Mapping[str, str] | None = None,
        missing: str = "",
        remarks: tuple[str, ...] = (),
        extrapolated: bool = False,
        grain_si: float = 0.0,
    ) -> Figure:
        """Return a figure of this airplane from a sample; missing where there is none.

        `unit` is its label and dimension. Draws that have no answer (a limit
        passed, say) are left out of the interval and said in a remark.
        """
        trace = Trace(method.words, method.source, inputs)
        key = f"{self.key}.{quantity}"
        terms = {**self.fit.terms, **(terms or {})}
        if sample is None or not np.isfinite(sample[0]):
            reason = missing or "the evidence has no answer"
            return Figure(key, label, *unit, None, basis, trace, terms=terms, missing=reason, remarks=remarks)
        draws = sample[1:]
        known = np.isfinite(draws)
        if not known.all():
            share = (
                f"{100 * (1 - known.mean()):.0f} % of draws have no answer and are left out of the interval"
            )
            remarks = (*remarks, share)
        exact = bool(np.all(draws[known] == sample[0]))
        return Figure(
            key,
            label,
            *unit,
            float(sample[0]),
            basis,
            trace,
            None if exact else np.where(known, draws, np.nan),
            terms,
            extrapolated,
            remarks=remarks,
            grain_si=(grain_si or _declared_grain_si(float(sample[0]), unit[1], inputs)) if exact else 0.0,
        )


def _declared_grain_si(value_si: float, dimension: str, inputs: tuple[Input, ...]) -> float:
    """Return how finely an exact value was declared: as the input that it equals, else as the finest."""
    given = [quantity for i in inputs if (quantity := _quantity(i.text, dimension))]
    same = [quantity for quantity in given if math.isclose(quantity.si, value_si, rel_tol=1e-9)]
    return min((quantity.grain_si for quantity in same or given), default=0.0)


@lru_cache(maxsize=8192)
def _quantity(text: str, dimension: str) -> Quantity | None:
    """Return the quantity that a text is; none where it is none, which is dear to find out."""
    try:
        return parse_quantity(text, dimension)
    except QuantityError:
        return None


def counts_taxi_fuel(quantity: str) -> bool:
    """Return whether a quantity is the better for taxi fuel that is not counted."""
    return _COUNTS_TAXI_FUEL.match(quantity) is not None


def counted(case: Case, label: str, number: int) -> Input:
    """Return something counted, which the aircraft file says, as an input."""
    return Input(label, str(number), Place(case.airplane.weights.empty.place.file), case.airplane.source)
