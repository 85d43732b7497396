"""How finely a written number is known, and how finely to print it in another unit: one rule for all.

A value that was declared prints in its own unit as it was declared. In another
unit it prints no finer than what was written bears out, and finely enough to
say what was declared when it is turned back.
"""

import math

_HUNDREDS = 4.5
_TENS = 2.0


def grain(written: str) -> float:
    """Return what a written number may be off by and still say the same, in its own unit.

    The last digit counts as one. A whole number that ends in zero may have been rounded to fives
    (its grain keeps within half of them); one of thousands that ends in two zeros, to tens.

    >>> grain("3,500"), grain("340"), grain("347"), grain("9.40")
    (4.5, 2.0, 1.0, 0.01)
    """
    whole, _, rest = written.lstrip("+-−").replace(",", "").partition(".")
    if rest:
        return 10.0 ** -len(rest)
    if len(whole) >= 4 and whole.endswith("00"):
        return _HUNDREDS
    return _TENS if len(whole) >= 2 and whole.endswith("0") else 1.0


def decimals_in(value: float, grain_there: float) -> int:
    """Return the decimals of a value whose grain is known in its unit; negative for tens and more.

    The coarsest power of ten within the grain; a number of one digit keeps a second, as 3 m is 9.8 ft.

    >>> decimals_in(11482.94, 4.5 / 0.3048), decimals_in(154.2, 4.5 * 0.4536)
    (-1, 0)
    """
    if not value:
        return 0
    decimals = -math.floor(math.log10(grain_there * (1 + 1e-9)))
    decimals = max(decimals, 1 - math.floor(math.log10(abs(value))))
    return min(decimals, 6)


def restated_decimals(written: str, value: float, scale: float) -> int:
    """Return the decimals of a written number, once it is `value`, its own unit being `scale` of the other.

    >>> restated_decimals("3,500", 11482.94, 1 / 0.3048), restated_decimals("52", 196.84, 3.785)
    (-1, 0)
    >>> restated_decimals("50", 15.24, 0.3048), restated_decimals("347", 157.4, 0.4536)
    (0, 1)
    """
    kept = grain(written)
    decimals = decimals_in(value, kept * scale)
    # Fives stay whole: 50 ft is 15 m, which turned back is still nearer to 50 than to another five.
    if decimals == 1 and kept == _TENS and abs(value) >= 10 and 2 * kept * scale >= 1:
        return 0
    return decimals
