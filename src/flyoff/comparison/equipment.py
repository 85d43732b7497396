"""Equal equipment: which options each airplane needs to match the terms."""

import itertools
from dataclasses import dataclass

from flyoff.core.figure import Input
from flyoff.dossier.airplane import Airplane, Option
from flyoff.dossier.read import Dossier


@dataclass(frozen=True)
class Fit:
    """An airplane equipped as the terms demand.

    `options` are carried; `added` and `removed` are their changes against the
    example that the dossier weighs. `lacking` names demanded equipment that
    the maker does not offer.
    """

    dossier: Dossier
    options: tuple[Option, ...]
    added: tuple[Option, ...]
    removed: tuple[Option, ...]
    lacking: tuple[str, ...]
    words: tuple[str, ...]

    @property
    def empty_moment_kg_m(self) -> float:
        """Moment [kg m] of the empty weight as compared."""
        weights = self.dossier.airplane.weights
        added = sum(o.weight.si * o.arm.si for o in self.added)
        removed = sum(o.weight.si * o.arm.si for o in self.removed)
        return weights.empty.si * weights.empty_arm.si + added - removed

    @property
    def terms(self) -> dict[str, str]:
        """What differs from the study's terms: equipment that cannot be had."""
        return {"equipment": f"without {' and '.join(self.lacking)}"} if self.lacking else {}

    def inputs(self) -> tuple[Input, ...]:
        """Return the empty weight and every option that changes it."""
        weights = self.dossier.airplane.weights
        parts = [Input("empty weight", str(weights.empty), weights.empty.place, weights.empty.source)]
        for sign, options in (("+", self.added), ("−", self.removed)):
            parts += [
                Input(f"{sign} {o.name}", str(o.weight), o.weight.place, o.weight.source) for o in options
            ]
        return tuple(parts)


def equip(dossier: Dossier, demanded: tuple[str, ...]) -> Fit:
    """Return the airplane with exactly the equipment demanded.

    Of the sets of options that give it, the lightest; options that give
    nothing demanded are left out, and taken out where the weighed example has
    them. Equipment that no allowed set gives is reported as lacking.
    """
    airplane = dossier.airplane
    offered = {word for option in airplane.options for word in option.provides}
    wanted = [word for word in demanded if word not in airplane.standard_equipment]
    possible = [word for word in wanted if word in offered]
    chosen, met = _choose(airplane, possible)
    included = set(airplane.weights.includes)
    names = {option.name for option in chosen}
    lacking = tuple(word for word in wanted if word not in met)
    added = tuple(o for o in chosen if o.name not in included)
    removed = tuple(o for o in airplane.options if o.name in included and o.name not in names)
    words = (
        *(_how(word, airplane, chosen, lacking) for word in demanded),
        *(f"{option.name}: taken out of the weighed example" for option in removed),
    )
    return Fit(dossier, chosen, added, removed, lacking, words)


def _how(word: str, airplane: Airplane, chosen: tuple[Option, ...], lacking: tuple[str, ...]) -> str:
    if word in lacking:
        return f"{word}: not offered"
    if word in airplane.standard_equipment:
        return f"{word}: standard"
    names = " and ".join(o.name for o in chosen if word in o.provides)
    return f"{word}: by {names}"


def _choose(airplane: Airplane, wanted: list[str]) -> tuple[tuple[Option, ...], set[str]]:
    """Return the lightest allowed options that give most of what is wanted."""
    for count in range(len(wanted), 0, -1):
        sets = [
            options
            for words in itertools.combinations(wanted, count)
            for options in _allowed_sets(airplane, words)
        ]
        if sets:
            lightest = min(sets, key=lambda options: (_mass(options), sorted(o.name for o in options)))
            return lightest, {word for option in lightest for word in option.provides}
    return (), set()


def _mass(options: tuple[Option, ...]) -> float:
    return sum(option.weight.si for option in options)


def _allowed_sets(airplane: Airplane, words: tuple[str, ...]) -> list[tuple[Option, ...]]:
    givers = [[o for o in airplane.options if word in o.provides] for word in words]
    allowed = {}
    for choice in itertools.product(*givers):
        names = _with_needs(airplane, {option.name for option in choice})
        options = tuple(o for o in airplane.options if o.name in names)
        if not any(other in names for option in options for other in option.excludes):
            allowed[frozenset(names)] = options
    return list(allowed.values())


def _with_needs(airplane: Airplane, names: set[str]) -> set[str]:
    needed = {other for name in names for other in airplane.option(name).needs}
    return names if needed <= names else _with_needs(airplane, names | needed)
