"""The seat table: how far each airplane goes with so many people and bags, and what an option costs of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.equipment import Fit
from flyoff.comparison.lifting import VOLUME, WITHIN_LIMITS, Fitted, most_fuel_sample, people
from flyoff.comparison.payload_range import DISTANCE
from flyoff.comparison.profile import WAY, profile, reach
from flyoff.comparison.results import OptionCost, SeatCell
from flyoff.comparison.through_flight import Ready
from flyoff.core.figure import Figure, Input, slug
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Airplane, Option

_FAR = f"the most fuel that fits, limits and balance kept from takeoff to empty tanks; then: {WAY}"
_SPENT = "the same with the option aboard less without it, all else as compared"


@dataclass(frozen=True)
class Going:
    """How far some people and bags go, a sample, and on how much fuel."""

    fitted: Fitted
    range_m: Array | None
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool


def going(case: Case, of: Ready, count: int, bags_kg: float) -> Going:
    """Return how far a number of people goes with some bags on all the fuel that fits."""
    fitted = most_fuel_sample(case, of, people(case, count), bags_kg)
    if fitted.placement is None or fitted.fuel_kg is None:
        return Going(fitted, None, (), (), fitted.missing, extrapolated=False)
    way = profile(case, fitted.placement.loading(of).mass_kg)
    reached = reach(case, way, fitted.fuel_kg)
    missing = "" if reached.range_m is not None and np.isfinite(reached.range_m[0]) else reached.missing
    return Going(fitted, reached.range_m, reached.inputs, reached.remarks, missing, reached.extrapolated)


def bag_steps(case: Case) -> tuple[tuple[str, float], ...]:
    """Return the bags of the seat table: none, half of the terms', and the terms'."""
    bags = case.terms.bags
    steps = (0.0, bags.number / 2, bags.number) if bags.si else (0.0,)
    return tuple((f"{number:g} {bags.unit.label}", bags.unit.to_si(number)) for number in steps)


def seat_figures(case: Case, of: Ready) -> tuple[list[Figure], list[SeatCell]]:
    """Return range and fuel for each number of people by each amount of bags."""
    figures: list[Figure] = []
    cells = []
    for words, bags_kg in bag_steps(case):
        for count in range(1, case.airplane.seats + 1):
            pair = _cell(case, of, count, words, bags_kg)
            figures += pair
            cells.append(SeatCell(case.key, count, words, pair[0].key, pair[1].key, bags_kg))
    return figures, cells


def _cell(case: Case, of: Ready, count: int, bags: str, bags_kg: float) -> tuple[Figure, Figure]:
    found = going(case, of, count, bags_kg)
    ends = f"?occupants={count}&bags={bags.replace(' ', '')}"
    label = f", {count} aboard, {bags} of bags"
    terms = {"occupants": str(count), "bags": bags}
    limits = (*case.limit_inputs(), *case.fit.inputs(), *_aboard(case, count), *case.full_fuel_inputs())
    fuel_kg, stop = found.fitted.fuel_kg, found.fitted.placement
    stopped = (f"fuel stopped by {' and '.join(stop.binding)}",) if stop and stop.binding else ()
    return (
        case.figure(
            f"range{ends}", f"Range{label}", DISTANCE, found.range_m,
            case.read(_FAR.format(climb=case.reading.climb)), (*limits, *found.inputs),
            basis=case.reading.basis, terms=terms, missing=found.missing,
            remarks=(*stopped, *_as_of_range(case, found)), extrapolated=found.extrapolated,
        ),
        case.figure(
            f"fuel{ends}", f"Fuel{label}", VOLUME,
            None if fuel_kg is None else fuel_kg / case.fuel.density.si, WITHIN_LIMITS, limits,
            terms=terms, missing=found.fitted.missing, remarks=stopped,
        ),
    )  # fmt: skip


def _as_of_range(case: Case, found: Going) -> tuple[str, ...]:
    """Return where the remarks on the evidence stand, which are alike for every cell but for its weight."""
    return (f"what is remarked of {case.key}.range holds here, at this weight",) if found.remarks else ()


def _aboard(case: Case, count: int) -> tuple[Input, ...]:
    """Return the people of the terms who are aboard; all of them where others of their mean weight are."""
    people_inputs = case.people_inputs()[:-1]
    return people_inputs[:count] if count <= len(people_inputs) else people_inputs


def option_lifting(
    case: Case, of: Ready, options: Sequence[OptionCost]
) -> tuple[list[Figure], list[OptionCost]]:
    """Return what each option costs in people, fuel and range; the costs with those figures' keys added."""
    now = going(case, of, len(case.terms.occupants), case.terms.bags.si)
    figures: list[Figure] = []
    told = []
    for cost in options:
        own = option_figures(case, of, now, case.airplane.option(cost.name))
        heads, fuel, far = (figure.key for figure in own)
        told.append(replace(cost, people=heads, fuel=fuel, range=far))
        figures += own
    return figures, told


def option_figures(case: Case, of: Ready, now: Going, option: Option) -> tuple[Figure, Figure, Figure]:
    """Return what an option costs in people, in fuel and in range with the terms' people and bags.

    `now` is how far they go as compared. The option's own cost in each is
    negative where it takes away.
    """
    prefix, name = f"option.{slug(option.name)}", option.name
    weight = Input(f"weight of {name}", str(option.weight), option.weight.place, option.weight.source)
    mean_kg = sum(o.weight.si for o in case.terms.occupants) / len(case.terms.occupants)
    heads = case.figure(
        f"{prefix}.people", f"{name}: people given up", ("", "count"), case.sample(option.weight) / mean_kg,
        Method("the option's weight over the mean weight of the terms' people"),
        (weight, *case.people_inputs()[:-1]),
    )  # fmt: skip
    fit, with_words, missing = _switched(case.fit, option)
    other = None
    if not missing:
        changed = replace(case, fit=fit)
        other = going(changed, _ready(changed, of), len(case.terms.occupants), case.terms.bags.si)
        missing = now.missing or other.missing
    aboard = option in case.fit.options
    sign = 1.0 if aboard else -1.0
    fuel = range_m = None
    inputs: tuple[Input, ...] = (weight,)
    if other is not None and not missing:
        if now.fitted.fuel_kg is not None and other.fitted.fuel_kg is not None:
            fuel = sign * (now.fitted.fuel_kg - other.fitted.fuel_kg) / case.fuel.density.si
        if now.range_m is not None and other.range_m is not None:
            range_m = sign * (now.range_m - other.range_m)
        inputs = (weight, *case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *now.inputs)
    said = (with_words,) if with_words else ()
    spent = case.figure(
        f"{prefix}.fuel", f"{name}: fuel that fits", VOLUME, fuel, Method(_SPENT), inputs,
        missing=missing, remarks=said,
    )  # fmt: skip
    far = case.figure(
        f"{prefix}.range", f"{name}: range", DISTANCE, range_m, case.read(_SPENT), inputs,
        basis=case.reading.basis, missing=missing, remarks=(*said, *_as_of_range(case, now)),
        extrapolated=now.extrapolated,
    )  # fmt: skip
    return heads, spent, far


def _ready(changed: Case, of: Ready) -> Ready:
    """Return an airplane otherwise equipped ready to be loaded; the reserve stays."""
    return replace(of, empty_kg=float(changed.empty_kg[0]), empty_moment_kg_m=changed.fit.empty_moment_kg_m)


def _switched(fit: Fit, option: Option) -> tuple[Fit, str, str]:
    """Return an airplane with an option put in, or taken out; and words, or why it cannot be."""
    airplane = fit.dossier.airplane
    included = set(airplane.weights.includes)
    if option in fit.options:
        rest = tuple(o for o in fit.options if o is not option)
        return _with(fit, rest, included), "", ""
    more = _needs(airplane, option, [])
    carried = [o.name for o in fit.options]
    excluded = [name for o in more for name in o.excludes if name in carried]
    excluded += [o.name for o in fit.options for name in o.excludes if name in [m.name for m in more]]
    if excluded:
        return fit, "", f"cannot be had beside {excluded[0]}, which the terms' equipment needs"
    added = tuple(o for o in airplane.options if o in fit.options or o in more)
    others = [o.name for o in more if o is not option and o.name not in carried]
    return _with(fit, added, included), f"with {' and '.join(others)}, which it needs" if others else "", ""


def _needs(airplane: Airplane, option: Option, found: list[Option]) -> Sequence[Option]:
    if option not in found:
        found.append(option)
        for name in option.needs:
            _needs(airplane, airplane.option(name), found)
    return found


def _with(fit: Fit, options: tuple[Option, ...], included: set[str]) -> Fit:
    """Return an airplane with exactly some options, the weighed example's others taken out."""
    names = {option.name for option in options}
    return replace(
        fit,
        options=options,
        added=tuple(o for o in options if o.name not in included),
        removed=tuple(o for o in fit.dossier.airplane.options if o.name in included and o.name not in names),
    )
