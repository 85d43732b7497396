"""How much the mean wind of one leg strays from that of the others, estimated from the flight itself.

Along its course a leg shows by how much the wind of its second half differed
from that of its first: ground speed less what the airspeed did. The mean of a
whole leg strays with a quarter of that variance if the halves are independent;
over the minutes from leg to leg the wind strays further than between halves,
and `SLOW` times that variance is taken. What all legs of the flight show is pooled with a
weak prior: `PRIOR_M_S` with the weight of `PRIOR_DOF` legs (conjugate prior of a
normal variance; Gelman and others, Bayesian Data Analysis, 2.6, from memory).
`SLOW` and the prior are common practice, no source, held to the coverage that
simulated flights show.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from flyoff.core.units import kt
from flyoff.reduction.readings import Readings

PRIOR_M_S = 0.3 * kt
PRIOR_DOF = 4.0
SLOW = 2.0


@dataclass(frozen=True)
class Wander:
    """Standard deviation of each component of a leg's mean wind, and the degrees of freedom of that."""

    sd_m_s: float = PRIOR_M_S
    dof: float = PRIOR_DOF


def wind_wander(legs: Iterable[Readings]) -> Wander:
    """Return how much the wind strays from leg to leg by what the legs show."""
    changes = [leg.wind_change_m_s for leg in legs if leg.wind_change_m_s is not None]
    dof = PRIOR_DOF + len(changes)
    total = PRIOR_DOF * PRIOR_M_S**2 + SLOW * sum(change**2 for change in changes) / 4
    return Wander(math.sqrt(total / dof), dof)
