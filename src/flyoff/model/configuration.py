"""Gear, flaps, mixture, a feathered propeller: what each adds, by its prior where no evidence was set so."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from flyoff.model.parameters import Known, Model, Parameter
from flyoff.physics.mixture import MIXTURES, consumption_ratio, power_ratio

UNSTATED = "best economy"
"""Mixture that is meant where no evidence states one; common practice, no source."""
_FULL_FLAPS_RAD = 0.61
_BLADE_AREA_RATIO = 0.035
"""A blade's area over the propeller's diameter squared; common practice, no source."""
_FEATHERED_DRAG = 0.11


class Configuration(NamedTuple):
    """How an airplane is set; an empty mixture is that of most of its cruise evidence.

    `feathered` is of glides: the propeller stands still, its blades along the wind.
    """

    gear_down: bool = False
    flaps_rad: float = 0.0
    mixture: str = ""
    feathered: bool = False


CLEAN = Configuration()


def increments(known: Known) -> tuple[Parameter, ...]:
    """Return what gear, flaps and mixture add, each with the prior of its class or what is declared."""
    area_m2 = known.wing_area_m2
    full = np.square(np.sin(known.full_flaps_rad or _FULL_FLAPS_RAD))
    flaps_m2 = known.flap_drag_area_m2
    found = [
        Parameter(
            "flap_drag_area_m2", "drag area of flaps over the squared sine of their angle", "m²",
            flaps_m2 / full if flaps_m2 else 0.10 * area_m2, 0.1 if flaps_m2 else 0.4,
            0.01 * area_m2, 0.5 * area_m2,
            "the dossier" if flaps_m2 else "A. D. Young, ARC R&M 2622 (from memory): 0.06 slotted to 0.13 "
            "plain, of the wing area, a quarter of the chord over half of the wing",
        ),
    ]  # fmt: skip
    if known.retractable:
        gear_m2 = known.gear_drag_area_m2
        found.append(
            Parameter(
                "gear_drag_area_m2", "drag area of the gear", "m²", gear_m2 or 0.020 * area_m2,
                0.1 if gear_m2 else 0.3, 0.002 * area_m2, 0.06 * area_m2,
                "the dossier" if gear_m2 else "J. Roskam, Airplane Design, part I, table 3.6 (from "
                "memory): 0.015 to 0.025 of the wing area",
            )
        )  # fmt: skip
    if known.propeller == "constant speed":
        blades_m2 = known.engines * known.blades * _BLADE_AREA_RATIO * known.diameter_m**2
        found.append(
            Parameter(
                "feathered_drag_area_m2", "drag area of the feathered propeller", "m²",
                _FEATHERED_DRAG * blades_m2, 0.3, 0.02 * blades_m2, blades_m2,
                "S. F. Hoerner, Fluid-Dynamic Drag, ch. 13 (from memory): 0.1 of the blades' area",
            )
        )  # fmt: skip
    if has_mixture(known):
        found.append(
            Parameter(
                "mixture_effect", "exponent of the general chart of consumption by mixture", "", 1.0, 0.3,
                0.2, 4.0, "SFTE Reference Handbook (2013), ch. 10, and NACA Report 189 (1925); its spread is "
                "common practice, no source",
            )
        )  # fmt: skip
    return tuple(found)


def has_mixture(known: Known) -> bool:
    """Tell whether somebody sets the mixture."""
    return known.ignition == "spark" and known.mixture != "automatic"


def needed(known: Known, configurations: Iterable[Configuration]) -> tuple[Parameter, ...]:
    """Return the increments that some evidence was set to show."""
    seen = set(configurations)
    shown = {
        "flap_drag_area_m2": any(c.flaps_rad > 0 for c in seen),
        "gear_drag_area_m2": any(c.gear_down for c in seen),
        "feathered_drag_area_m2": any(c.feathered for c in seen),
        "mixture_effect": any(_ratio(known, c.mixture) != 1.0 for c in seen),
    }
    return tuple(p for p in increments(known) if shown[p.name])


def usual_mixture(configurations: Sequence[Configuration]) -> str:
    """Return the mixture that most evidence states; empty where none does."""
    stated = sorted(c.mixture for c in configurations if c.mixture)
    return max(stated, key=stated.count, default="")


def configured(model: Model, configuration: Configuration) -> Model:
    """Return an airplane with its gear, flaps and mixture set."""
    if configuration == CLEAN:
        return model
    known, values = model.known, dict(model.values)
    clean = np.asarray(values["drag_area_m2"])
    prior = {p.name: p.prior for p in increments(known)}
    added = np.zeros(1)
    if configuration.gear_down and known.retractable:
        added = added + values.get("gear_drag_area_m2", prior["gear_drag_area_m2"])
    if configuration.flaps_rad:
        flaps = values.get("flap_drag_area_m2", prior["flap_drag_area_m2"])
        added = added + flaps * np.square(np.sin(configuration.flaps_rad))
    if np.any(added):
        gliding = clean * values["glide_drag_factor"] + added
        values["drag_area_m2"] = clean + added
        values["glide_drag_factor"] = gliding / (clean + added)
    if configuration.feathered and known.propeller == "constant speed":
        feathered = values.get("feathered_drag_area_m2", prior["feathered_drag_area_m2"])
        values["glide_drag_factor"] = 1 + feathered / np.asarray(values["drag_area_m2"])
    ratio = _ratio(known, configuration.mixture)
    if ratio != 1.0:
        factor = np.power(ratio, values.get("mixture_effect", prior["mixture_effect"]))
        values["specific_consumption_kg_j"] = values["specific_consumption_kg_j"] * factor
        # what full power burns is set by its own mixture
        values["full_power_consumption_factor"] = values["full_power_consumption_factor"] / factor
    return Model(known, values)


def leaned_power_ratio(model: Model, mixture: str) -> np.ndarray:
    """Return the most power with a mixture over that with best power."""
    effect = model.values.get("mixture_effect", 1.0)
    return np.asarray(np.power(power_ratio(mixture), effect))


def _ratio(known: Known, mixture: str) -> float:
    usual = known.mixture or UNSTATED
    if not has_mixture(known) or mixture not in MIXTURES or usual not in MIXTURES:
        return 1.0
    return consumption_ratio(mixture, over=usual)
