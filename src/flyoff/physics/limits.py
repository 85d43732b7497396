"""What every function of the physics does with its arguments and its result."""

from typing import Any

import numpy as np

from flyoff.core.typing import Floats


def floats(value: Any) -> Floats:
    """Return numbers as an array of floats, a single number as a float."""
    result: Floats = np.asarray(value, dtype=np.float64)[()]
    return result


def require(
    name: str,
    value: Floats,
    unit: str = "",
    *,
    at_least: float | None = None,
    at_most: float | None = None,
    above: float | None = None,
    below: float | None = None,
) -> None:
    """Hold an argument to its limits; NaN is a missing value and passes.

    Raises
    ------
    ValueError
        If any value is beyond a limit; the message names the argument, the
        limit and the first such value.
    """
    values = np.asarray(value, dtype=np.float64)
    checks = (
        (at_least, np.less, "must not be below"),
        (at_most, np.greater, "must not exceed"),
        (above, np.less_equal, "must be above"),
        (below, np.greater_equal, "must be below"),
    )
    for limit, beyond, words in checks:
        if limit is None:
            continue
        wrong = beyond(values, limit)
        if np.any(wrong):
            got = values[wrong].flat[0]
            space = f" {unit}" if unit else ""
            raise ValueError(f"{name} {words} {limit:.9g}{space}; got {got:.9g}{space}")


def require_positive(**arguments: Floats) -> None:
    """Hold several arguments above 0.

    Raises
    ------
    ValueError
        If any value of any argument is 0 or less.
    """
    for name, value in arguments.items():
        require(name, value, above=0.0)
