"""Money over the years: equal payments, value lost, interest paid; pure functions."""

import numpy as np

from flyoff.core.typing import Floats

SOURCE = "NIST Handbook 135 (1995), Life-Cycle Costing Manual, appendix A: uniform capital recovery"


def capital_recovery(rate: Floats, years: Floats) -> Floats:
    """Return the equal yearly payment that repays one unit of money, at each year's end.

    Parameters
    ----------
    rate : float or array
        Interest a year [-].
    years : float or array
        Payments, one a year.

    References
    ----------
    NIST Handbook 135 (1995), appendix A: A = P i (1 + i)ⁿ / ((1 + i)ⁿ − 1).

    Examples
    --------
    A loan of 200,000 over 15 years of monthly payments at 7.5 % a year:

    >>> round(200_000 * float(capital_recovery(0.075 / 12, 12 * 15)), 2)
    1854.02
    """
    rate = np.asarray(rate, dtype=np.float64)
    free = rate == 0
    safe = np.where(free, 1.0, rate)
    return np.where(free, 1 / np.asarray(years), -safe / np.expm1(-np.asarray(years) * np.log1p(safe)))


def interest_per_year(loan: Floats, rate: Floats, years: Floats) -> Floats:
    """Return the interest of a loan in equal yearly payments, spread evenly over its years.

    >>> float(interest_per_year(1000.0, 0.0, 10))
    0.0
    """
    return loan * (capital_recovery(rate, years) - 1 / np.asarray(years))


def value_left(price: Floats, rate: Floats, years: Floats) -> Floats:
    """Return what is left of a price that loses the same share of its value each year.

    >>> round(float(value_left(100_000.0, 0.1, 2)))
    81000
    """
    return price * (1 - np.asarray(rate)) ** years


def mean_value(price: Floats, rate: Floats, years: Floats) -> Floats:
    """Return the mean of the values at each year's beginning: a geometric series.

    >>> round(float(mean_value(100_000.0, 0.1, 2)))
    95000
    """
    rate = np.asarray(rate, dtype=np.float64)
    kept = rate == 0
    safe = np.where(kept, 0.5, rate)
    return price * np.where(kept, 1.0, -np.expm1(years * np.log1p(-safe)) / (safe * years))
