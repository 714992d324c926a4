"""The even scale, on which errors of sensors and meters have nearly one spread, and its exact inverse."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

CENTRE = 1.3
"""What is taken off values on the even scale within the model: about 135 mg/dL."""
HIGHEST = 4.0
"""Values above are cut before the way back, against overflow in wild draws (about 2,000 mg/dL)."""


def even(mg_dl: ArrayLike) -> Floats:
    """T(g) = g/100 below 100 mg/dL, 1 + ln(g/100) from 100 up; any shape.

    >>> even([50.0, 100.0, 271.8281828]).round(6).tolist()
    [0.5, 1.0, 2.0]
    """
    share = np.asarray(mg_dl, np.float64) / 100.0
    return np.where(share < 1.0, share, 1.0 + np.log(np.maximum(share, 1.0)))


def mg_dl(value: ArrayLike) -> Floats:
    """The exact inverse of `even`, up to `HIGHEST`; any shape.

    >>> mg_dl(even([40.0, 99.0, 100.0, 350.0])).round(9).tolist()
    [40.0, 99.0, 100.0, 350.0]
    """
    on = np.asarray(value, np.float64)
    return 100.0 * np.where(on < 1.0, on, np.exp(np.clip(on, 1.0, HIGHEST) - 1.0))
