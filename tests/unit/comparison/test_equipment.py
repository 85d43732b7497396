"""Equal equipment: the lightest allowed set, checked against brute force."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from flyoff.comparison.equipment import equip
from flyoff.core.quantity import parse_quantity
from flyoff.dossier.airplane import Airplane, Option
from flyoff.dossier.read import Dossier

WORDS = ("a", "b", "c")
NAMES = ("o0", "o1", "o2", "o3", "o4")


def option(name, grams, provides, needs, excludes):
    return Option.model_construct(
        name=name,
        weight=parse_quantity(f"{grams} g", "mass"),
        arm=parse_quantity("1 m", "length"),
        price=None, price_year=None, speed=None,
        provides=tuple(provides), needs=tuple(set(needs) - {name}), excludes=tuple(set(excludes) - {name}),
    )  # fmt: skip


@st.composite
def airplanes(draw):
    some = st.lists(st.sampled_from(NAMES), max_size=2)
    weights = draw(st.lists(st.integers(1, 10_000), min_size=5, max_size=5, unique=True))
    options = [
        option(name, weight, draw(st.lists(st.sampled_from(WORDS), max_size=2)), draw(some), draw(some))
        for name, weight in zip(NAMES, weights, strict=True)
    ]
    return Airplane.model_construct(
        options=tuple(options),
        standard_equipment=tuple(draw(st.lists(st.sampled_from(WORDS), max_size=1))),
        weights=type("W", (), {"includes": tuple(draw(some))})(),
    )


def allowed(options):
    names = {o.name for o in options}
    return all(set(o.needs) <= names and not set(o.excludes) & names for o in options)


def best(airplane, wanted):
    """Return how many words can be met and the least weight that meets so many."""
    subsets = itertools.chain.from_iterable(
        itertools.combinations(airplane.options, count) for count in range(len(airplane.options) + 1)
    )
    scores = [
        (-len(wanted & {w for o in chosen for w in o.provides}), sum(o.weight.si for o in chosen))
        for chosen in subsets
        if allowed(chosen)
    ]
    return min(scores)


@given(airplanes())
def test_the_choice_is_the_best_of_all_subsets(airplane):
    fit = equip(Dossier("x", airplane, None), WORDS)
    wanted = set(WORDS) - set(airplane.standard_equipment)
    met, mass = best(airplane, wanted)
    assert allowed(fit.options)
    assert len(wanted) - len(fit.lacking) == -met
    assert abs(sum(o.weight.si for o in fit.options) - mass) < 1e-9


@given(airplanes())
def test_added_and_removed_lead_from_the_weighed_example_to_the_choice(airplane):
    fit = equip(Dossier("x", airplane, None), WORDS)
    names = set(airplane.weights.includes) & set(NAMES)
    names |= {o.name for o in fit.added}
    names -= {o.name for o in fit.removed}
    assert names == {o.name for o in fit.options}
