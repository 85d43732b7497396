"""Sound levels."""

import numpy as np

from flyoff.core.typing import Floats
from flyoff.physics.limits import floats


def mean_level(level_ratio: Floats) -> Floats:
    r"""Return the level of the mean energy of several readings.

    .. math:: \bar L = 10 \lg \frac{1}{n} \sum 10^{L_i / 10}

    Parameters
    ----------
    level_ratio
        Levels, in decibels: ten times the logarithm of a ratio. [-] Averaged over the first axis.

    Returns
    -------
    Floats
        Level, in decibels. [-] The shape without its first axis.

    Raises
    ------
    ValueError
        If there is no reading.

    Notes
    -----
    Exact. Never below the arithmetic mean of the levels.

    References
    ----------
    .. [1] ISO 1996-1:2016, Acoustics, 3.6, equivalent continuous sound pressure level (from memory).

    Examples
    --------
    >>> f"{mean_level(np.array([80.0, 90.0])):.1f}"
    '87.4'
    """
    levels = np.asarray(level_ratio, dtype=np.float64)
    if levels.ndim == 0 or levels.shape[0] == 0:
        raise ValueError("level_ratio must hold at least one reading; got none")
    return floats(10 * np.log10(np.mean(10 ** (levels / 10), axis=0)))
