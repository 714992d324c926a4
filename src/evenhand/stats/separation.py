"""Three instruments on the same things: the error variance of each, without any of them being the truth.

Needs errors independent of each other and of what is measured, and equal gain. An error that two of the three
share counts as the third's. Estimates may be negative and are given as they are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenhand.stats.estimate import Est
from evenhand.stats.jackknife import jackknife

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Separation:
    """Error variances of three instruments, in the squared unit of what was measured; may be negative."""

    first: Est
    second: Est
    third: Est


def from_difference_variances(v12: float, v13: float, v23: float) -> tuple[float, float, float]:
    """The three error variances from the variances of the three differences: (v12 + v13 - v23) / 2 and so on.

    Source: Grubbs, J Am Stat Assoc 1948;43:243; known among clocks as the three-cornered hat.

    >>> from_difference_variances(3.0, 4.0, 5.0)
    (1.0, 2.0, 3.0)
    """
    return (v12 + v13 - v23) / 2, (v12 + v23 - v13) / 2, (v13 + v23 - v12) / 2


def from_covariances(s: ArrayLike) -> tuple[float, float, float]:
    """The same from the (3, 3) covariance matrix: S11 - S12 - S13 + S23 and so on.

    Source: Grubbs 1948, as above; equal to `from_difference_variances` by algebra.

    >>> from_covariances([[5.0, 4.0, 4.0], [4.0, 6.0, 4.0], [4.0, 4.0, 7.0]])
    (1.0, 2.0, 3.0)
    """
    c = np.asarray(s, np.float64)
    s12, s13, s23 = c[0, 1], c[0, 2], c[1, 2]
    return (
        float(c[0, 0] - s12 - s13 + s23),
        float(c[1, 1] - s12 - s23 + s13),
        float(c[2, 2] - s13 - s23 + s12),
    )


def three_way(first: ArrayLike, second: ArrayLike, third: ArrayLike) -> tuple[float, float, float]:
    """Error variances from three instruments' values on the same n things, each of shape (n,).

    A row with a NaN is left out; fewer than two rows: three NaN.

    >>> three_way([1.0, 2.0, 4.0], [1.0, 2.0, 4.0], [2.0, 1.0, 4.0])
    (0.0, 0.0, 1.0)
    """
    y = np.stack([np.asarray(x, np.float64) for x in (first, second, third)])
    y = y[:, np.isfinite(y).all(0)]
    if y.shape[1] < 2:
        return math.nan, math.nan, math.nan
    v12, v13, v23 = (float((y[i] - y[j]).var(ddof=1)) for i, j in ((0, 1), (0, 2), (1, 2)))
    return from_difference_variances(v12, v13, v23)


def separate(
    first: ArrayLike,
    second: ArrayLike,
    third: ArrayLike,
    group: ArrayLike,
    stratum: ArrayLike | None = None,
    *,
    level: float = 0.95,
) -> Separation:
    """`three_way`, with intervals from leaving out one group at a time (see `jackknife`).

    All of shape (n,). `group` is the day, `stratum` the wear: t with groups minus strata degrees of freedom.
    Fewer than two whole rows: all missing, why 'no-data' or 'not-defined'.

    >>> found = separate([1.0, 2.0, 4.0], [1.0, 2.0, 4.0], [2.0, 1.0, 4.0], [1, 2, 3])
    >>> found.third.value, found.first.value
    (1.0, 0.0)
    """
    y = np.stack([np.asarray(x, np.float64) for x in (first, second, third)])
    whole = np.isfinite(y).all(0)
    y, labels = y[:, whole], np.asarray(group)[whole]
    strata = None if stratum is None else np.asarray(stratum)[whole]
    method = "three-way-jackknife"
    if y.shape[1] == 0:
        return Separation(*(Est.missing("no-data", method=method) for _ in range(3)))
    return Separation(
        *jackknife(lambda used: three_way(*y[:, used]), labels, strata, level=level, method=method)
    )
