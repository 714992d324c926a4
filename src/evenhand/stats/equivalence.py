"""Two one-sided tests: is a difference inside given bounds?

Kept beside the rule that answers a trial, which reads the same thing off a 90 % interval, so that each can be
held against the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenhand.stats.estimate import Est


@dataclass(frozen=True, slots=True)
class TwoOneSided:
    """The tests of a difference against two bounds: t, df and one-sided p for 'above the lower bound' and 'below
    the upper bound'; `difference` carries the interval of level 1 - 2 alpha, which lies inside the bounds exactly
    when both p are below alpha."""

    difference: Est
    se: float
    df: float
    t_lower: float
    t_upper: float
    p_lower: float
    p_upper: float

    @property
    def p(self) -> float:
        """The larger of the two p: small means the difference lies inside both bounds."""
        return max(self.p_lower, self.p_upper)


def two_one_sided(
    difference: float, se: float, df: float, bounds: tuple[float, float], *, alpha: float = 0.05, n: int = 0
) -> TwoOneSided:
    """The tests from a difference, its standard error and degrees of freedom; all in one unit.

    `bounds` are the (lower, upper) equivalence bounds of the difference. Raises `ValueError` unless `se` and `df`
    are above 0. Source: Schuirmann, J Pharmacokinet Biopharm 1987;15:657-680 (from memory).

    >>> found = two_one_sided(0.04, 0.12, 99, (-0.36, 0.36))
    >>> round(found.t_lower, 6), round(found.t_upper, 6)
    (3.333333, -2.666667)
    """
    if not (se > 0 and df > 0):
        raise ValueError("two one-sided tests need a standard error and degrees of freedom above 0")
    from scipy.special import stdtr, stdtrit

    t_lower, t_upper = (difference - bounds[0]) / se, (difference - bounds[1]) / se
    half = float(stdtrit(df, 1 - alpha)) * se
    est = Est(difference, difference - half, difference + half, 1 - 2 * alpha, n, "two-one-sided")
    return TwoOneSided(est, se, df, t_lower, t_upper, float(stdtr(df, -t_lower)), float(stdtr(df, t_upper)))


def paired(a: ArrayLike, b: ArrayLike, bounds: tuple[float, float], *, alpha: float = 0.05) -> TwoOneSided:
    """The tests of the mean of a - b over n pairs, shapes (n,); a pair with a NaN is left out.

    Raises `ValueError` for fewer than two pairs, or differences that are all the same.

    >>> round(paired([5.0, 6.0, 8.0], [4.0, 6.0, 7.0], (-2, 2)).difference.value, 4)
    0.6667
    """
    d = np.asarray(a, np.float64) - np.asarray(b, np.float64)
    d = d[np.isfinite(d)]
    if d.size < 2:
        raise ValueError("two one-sided tests need at least two pairs")
    se = float(d.std(ddof=1)) / math.sqrt(d.size)
    return two_one_sided(float(d.mean()), se, d.size - 1, bounds, alpha=alpha, n=d.size)


def two_samples(
    a: ArrayLike, b: ArrayLike, bounds: tuple[float, float], *, pooled: bool = False, alpha: float = 0.05
) -> TwoOneSided:
    """The tests of mean(a) - mean(b) of two independent samples, shapes (n,) and (m,); NaN are left out.

    Welch's standard error and degrees of freedom, or with `pooled` the common-variance ones. Raises `ValueError` for
    fewer than two values in either.

    >>> round(two_samples([1.0, 2.0, 3.0], [2.0, 3.0, 5.0], (-9, 9)).df, 3)
    3.448
    """
    x, y = (np.asarray(v, np.float64) for v in (a, b))
    x, y = x[np.isfinite(x)], y[np.isfinite(y)]
    if min(x.size, y.size) < 2:
        raise ValueError("two one-sided tests need at least two values in each sample")
    vx, vy = float(x.var(ddof=1)), float(y.var(ddof=1))
    if pooled:
        df = float(x.size + y.size - 2)
        se = math.sqrt(((x.size - 1) * vx + (y.size - 1) * vy) / df * (1 / x.size + 1 / y.size))
    else:
        wx, wy = vx / x.size, vy / y.size
        se = math.sqrt(wx + wy)
        df = (wx + wy) ** 2 / (wx**2 / (x.size - 1) + wy**2 / (y.size - 1)) if se > 0 else 0.0
    return two_one_sided(float(x.mean() - y.mean()), se, df, bounds, alpha=alpha, n=x.size + y.size)
