"""Intervals of any statistic by leaving out one group at a time; and a mean over groups."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenhand.stats.estimate import Est
from evenhand.stats.quantiles import t_quantile

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


def jackknife(
    statistic: Callable[[Mask], ArrayLike],
    group: ArrayLike,
    stratum: ArrayLike | None = None,
    *,
    level: float = 0.95,
    method: str = "jackknife",
) -> tuple[Est, ...]:
    """The values of a statistic, each with a t interval from leaving out one group at a time.

    `statistic` takes a mask (n,) of the rows to use and gives one number or several, NaN where it cannot. `group`
    (n,) labels the rows left out together (days), `stratum` (n,) what the groups lie in (wears; None: one): a
    group in two strata is a group in each.
    V = (G - 1)/G Σ (θ without a group - their mean)², df = G - k with G groups and k strata. What differs between
    strata widens the interval; a statistic that should not mind takes its values about each stratum's own mean.
    No rows: missing, why 'no-data'. A statistic that is NaN on all rows: missing, why 'not-defined'. G - k
    below 1, or a NaN when a group is left out: the value without an interval, why 'too-few-groups'.
    Source: Efron and Stein 1981 (Ann Stat 9:586, from memory) for V; the degrees of freedom are this project's.

    >>> import numpy as np
    >>> y = np.array([1.0, 2.0, 4.0, 5.0])
    >>> est, = jackknife(lambda used: y[used].mean(), [1, 2, 3, 4])
    >>> round(est.value, 3), round(est.low, 4), round(est.high, 4)      # for a mean: the plain t interval
    (3.0, 0.0948, 5.9052)
    """
    labels = np.asarray(group)
    n = labels.size
    strata = (
        np.zeros(n, np.int64) if stratum is None else np.unique(np.asarray(stratum), return_inverse=True)[1]
    )
    if n == 0:
        return (Est.missing("no-data", method=method),)
    cells, index = np.unique(
        np.stack([strata, np.unique(labels, return_inverse=True)[1]]), axis=1, return_inverse=True
    )
    whole = np.atleast_1d(np.asarray(statistic(np.ones(n, np.bool_)), np.float64))
    groups, k = cells.shape[1], np.unique(strata).size
    df = groups - k
    if df < 1:
        return tuple(_est(value, None, level, n, method) for value in whole)
    without = np.array([np.atleast_1d(statistic(index.reshape(-1) != g)) for g in range(groups)], np.float64)
    variance = (groups - 1) / groups * ((without - without.mean(0)) ** 2).sum(0)
    half = t_quantile((1 + level) / 2, df) * np.sqrt(variance)
    return tuple(_est(value, width, level, n, method) for value, width in zip(whole, half, strict=True))


def _est(value: float, half: float | None, level: float, n: int, method: str) -> Est:
    if math.isnan(value):
        return Est.missing("not-defined", n=n, method=method)
    if half is None or math.isnan(half):
        return Est(float(value), level=level, n=n, method=method, why="too-few-groups")
    return Est(float(value), float(value - half), float(value + half), level, n, method)


def mean_over_groups(values: ArrayLike, group: ArrayLike, *, level: float = 0.95) -> Est:
    """The mean of all values, with a t interval that takes the groups (days) as what was sampled.

    `values`, `group` have shape (n,); NaN are left out. With n_g values and mean m_g in group g and overall mean m:
    V = G/(G-1) Σ (n_g (m_g - m))² / n², df = G - 1. It speaks of other groups like these. One group: the mean
    without an interval, why 'too-few-groups'; no value: missing, why 'no-data'. `n` of the estimate is G.
    Source: the ratio estimator of cluster sampling (Cochran, Sampling Techniques, section 9A, from memory).

    >>> est = mean_over_groups([1.0, 2.0, 4.0, 5.0], [1, 2, 3, 4])
    >>> round(est.low, 4), round(est.high, 4)
    (0.0948, 5.9052)
    """
    y = np.asarray(values, np.float64)
    kept = np.isfinite(y)
    y = y[kept]
    labels, index = np.unique(np.asarray(group)[kept], return_inverse=True)
    groups = labels.size
    if groups == 0:
        return Est.missing("no-data", method="t-over-groups")
    mean = float(y.mean())
    if groups == 1:
        return Est(mean, level=level, n=1, method="t-over-groups", why="too-few-groups")
    totals = np.bincount(index, y - mean)
    se = math.sqrt(groups / (groups - 1) * float((totals**2).sum())) / y.size
    half = t_quantile((1 + level) / 2, groups - 1) * se
    return Est(mean, mean - half, mean + half, level, groups, "t-over-groups")
