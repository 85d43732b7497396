"""Power and consumption of spark-ignition engines by mixture, at one throttle and speed."""

from collections.abc import Mapping
from typing import NamedTuple


class Mixture(NamedTuple):
    """A mixture: fuel over air by mass, and the power it leaves of that at best power, both ratios."""

    fuel_air_ratio: float
    power_ratio: float


MIXTURES: Mapping[str, Mixture] = {
    "full rich": Mixture(0.085, 0.99),
    "best power": Mixture(0.0775, 1.0),
    "best economy": Mixture(0.0625, 0.95),
    "lean of peak": Mixture(0.057, 0.885),
}
"""A general chart of the mixture control, by name.

Best power 0.075 to 0.080 and best economy 0.0625: Society of Flight Test Engineers, SFTE Reference
Handbook (2013), ch. 10. Nearly the least specific consumption where the power is 95 % of its
maximum: S. W. Sparrow, Relation of Fuel-Air Ratio to Engine Performance, NACA Report 189 (1925),
conclusion 3. Full rich and lean of peak are common practice, no source.
"""


def consumption_ratio(mixture: str, over: str = "best economy") -> float:
    r"""Return the specific consumption with one mixture over that with another.

    .. math:: \frac{f_1 / p_1}{f_0 / p_0}

    Parameters
    ----------
    mixture, over
        Keys of `MIXTURES`.

    Returns
    -------
    float
        Ratio at one flow of air. [-]

    Raises
    ------
    ValueError
        If a mixture has no name among `MIXTURES`.

    Notes
    -----
    Spark ignition, 45 to 85 % power; friction takes the same share with each.

    References
    ----------
    .. [1] Those of `MIXTURES`; the ratio of fuel per air to power per air is a definition.

    Examples
    --------
    >>> f"{consumption_ratio('best power'):.3f}"
    '1.178'
    """
    one, other = _named(mixture), _named(over)
    return one.fuel_air_ratio / one.power_ratio / (other.fuel_air_ratio / other.power_ratio)


def power_ratio(mixture: str) -> float:
    """Return the power with a mixture over that with best power, throttle and speed as they are.

    Parameters
    ----------
    mixture
        A key of `MIXTURES`.

    Returns
    -------
    float
        Ratio. [-]

    Raises
    ------
    ValueError
        If the mixture has no name among `MIXTURES`.

    Notes
    -----
    Spark ignition; the same over the range of pressures and temperatures met in flight.

    References
    ----------
    .. [1] S. W. Sparrow, Relation of Fuel-Air Ratio to Engine Performance, NACA Report 189 (1925).

    Examples
    --------
    >>> power_ratio("best economy")
    0.95
    """
    return _named(mixture).power_ratio


def _named(mixture: str) -> Mixture:
    if mixture not in MIXTURES:
        raise ValueError(f"mixture must be one of {', '.join(MIXTURES)}; got {mixture}")
    return MIXTURES[mixture]
