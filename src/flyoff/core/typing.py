"""Types that cross the package."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Floats: TypeAlias = float | Array
"""A float or an array of floats; physics broadcasts over it."""
