"""Agreement of two methods in single measurements: limits of agreement, and repeats of one method.

All of it is in the unit of what goes in. NaN marks a missing measurement; what pairs with it is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenhand.stats.estimate import Est
from evenhand.stats.quantiles import chi_square_quantile, t_quantile

Floats = NDArray[np.float64]

TIMES = 1.96
"""Standard deviations between the mean difference and a limit (Bland and Altman 1999; in 1986 they took 2)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of agreement: mean difference, standard deviation of a single difference, the two limits.

    `sd` is None where there are fewer than two differences."""

    mean: Est
    sd: float | None
    lower: Est
    upper: Est


def limits_of_agreement(differences: ArrayLike, *, times: float = TIMES, level: float = 0.95) -> Limits:
    """Mean difference and limits mean ± `times` SD, each with its t interval.

    `differences` has shape (n,); NaN are left out. The standard error of a limit is sqrt(3 s² / n). Fewer than
    two differences: the limits are missing, why 'too-few', and the mean stands without an interval.
    Source: Bland and Altman, Lancet 1986;1:307-310 (limits and the sqrt(3 s²/n) of their appendix);
    Bland and Altman, Stat Methods Med Res 1999;8:135-160, section 2.

    >>> found = limits_of_agreement([1.0, -1.0, 2.0, 0.0])
    >>> round(found.mean.value, 3), round(found.sd, 4), round(found.upper.value, 4)
    (0.5, 1.291, 3.0303)
    """
    d = _finite(differences)
    n = d.size
    if n == 0:
        none = Est.missing("no-data", method="bland-altman")
        return Limits(none, None, none, none)
    mean = float(d.mean())
    if n == 1:
        few = Est.missing("too-few", n=1, method="bland-altman")
        return Limits(Est(mean, n=1, method="mean-t", why="too-few"), None, few, few)
    sd = float(d.std(ddof=1))
    t = t_quantile((1 + level) / 2, n - 1)
    of_limit = t * math.sqrt(3 * sd**2 / n)
    lower, upper = mean - times * sd, mean + times * sd
    return Limits(
        around(mean, t * sd / math.sqrt(n), level, n, "mean-t"),
        sd,
        around(lower, of_limit, level, n, "bland-altman"),
        around(upper, of_limit, level, n, "bland-altman"),
    )


def around(value: float, half: float, level: float, n: int, method: str) -> Est:
    """The estimate `value` ± `half`.

    >>> around(2.0, 0.5, 0.95, 10, "mean-t").low
    1.5
    """
    return Est(value, value - half, value + half, level, n, method)


@dataclass(frozen=True, slots=True)
class OneWay:
    """A one-way analysis of variance: `groups` groups, `n` values. Mean squares are None where their degrees
    of freedom are 0. `divisor` is m0, the mean group size for unequal groups. `between` is the variance between
    groups, (MS between - MS within) / m0, negative where the groups differ less than chance would have it."""

    groups: int
    n: int
    mean: float
    ms_between: float | None
    ms_within: float | None
    divisor: float | None
    between: float | None


def one_way(values: ArrayLike, group: ArrayLike) -> OneWay:
    """One-way analysis of variance of `values` (n,) by `group` (n,), any labels; NaN values are left out.

    m0 = (N - Σ m² / N) / (groups - 1). Nothing left: n is 0 and the mean NaN. Each group is taken about its own
    mean, so a large common level costs no digits.
    Source: Bland and Altman, J Biopharm Stat 2007;17:571-582; checked with NIST's certified ANOVA sets.

    >>> found = one_way([1.0, 3.0, 5.0, 7.0], [0, 0, 1, 1])
    >>> found.ms_between, found.ms_within, found.between
    (16.0, 2.0, 7.0)
    """
    y = np.asarray(values, np.float64)
    kept = np.isfinite(y)
    y = y[kept]
    labels, index = np.unique(np.asarray(group)[kept], return_inverse=True)
    n, groups = y.size, labels.size
    if n == 0:
        return OneWay(0, 0, math.nan, None, None, None, None)
    shift = float(y[0])
    y = y - shift
    size = np.bincount(index, minlength=groups).astype(np.float64)
    means = np.bincount(index, y, groups) / size
    rest = y - means[index]
    means = means + np.bincount(index, rest, groups) / size
    mean = float((size * means).sum() / n)
    within = float(((y - means[index]) ** 2).sum()) / (n - groups) if n > groups else None
    if groups == 1:
        return OneWay(1, n, mean + shift, None, within, None, None)
    ms_between = float((size * (means - mean) ** 2).sum()) / (groups - 1)
    divisor = (n - float((size**2).sum()) / n) / (groups - 1)
    between = None if within is None else (ms_between - within) / divisor
    return OneWay(groups, n, mean + shift, ms_between, within, divisor, between)


def limits_true_value_varies(differences: ArrayLike, subject: ArrayLike, *, times: float = TIMES) -> Limits:
    """Limits of agreement of several differences per subject, where the true value moves between them.

    `differences` and `subject` have shape (n,). SD = sqrt(between + within) of a one-way analysis of variance; a
    negative variance between counts as 0. The limits stand without an interval (why 'not-computed').
    Fewer than two subjects, or no subject with two: missing, why 'too-few'.
    Source: Bland and Altman, J Biopharm Stat 2007;17:571-582, section 3 ("true value varies").

    >>> found = limits_true_value_varies([1.0, 1.2, 3.0, 3.2], [1, 1, 2, 2])
    >>> round(found.mean.value, 3), round(found.sd, 4)
    (2.1, 1.4177)
    """
    table = one_way(differences, subject)
    if table.between is None or table.ms_within is None:
        return _no_limits(table.n)
    sd = math.sqrt(max(table.between, 0.0) + table.ms_within)
    return _bare_limits(table.mean, sd, table.n, times)


def limits_true_value_constant(
    a: ArrayLike, b: ArrayLike, subject: ArrayLike, *, times: float = TIMES
) -> Limits:
    """Limits of agreement of single measurements, several pairs per subject, whose true value stands still.

    `a`, `b`, `subject` have shape (n,), in pairs. From the subjects' mean differences, with what averaging took
    away put back: variance = var(subject means) + (1 - mean(1/m)) (within a + within b). The limits stand
    without an interval. Fewer than two subjects, or none with two pairs: missing, why 'too-few'.
    Source: Bland and Altman, Stat Methods Med Res 1999;8:135-160, section 5.3.

    >>> found = limits_true_value_constant([2.0, 2.2, 5.0, 5.2], [1.0, 1.2, 2.0, 2.2], [1, 1, 2, 2])
    >>> round(found.mean.value, 3), round(found.sd, 4)
    (2.0, 1.4213)
    """
    first, second = np.asarray(a, np.float64), np.asarray(b, np.float64)
    kept = np.isfinite(first) & np.isfinite(second)
    first, second = first[kept], second[kept]
    labels, index = np.unique(np.asarray(subject)[kept], return_inverse=True)
    within_a, within_b = one_way(first, index).ms_within, one_way(second, index).ms_within
    if labels.size < 2 or within_a is None or within_b is None:
        return _no_limits(first.size)
    size = np.bincount(index).astype(np.float64)
    means = np.bincount(index, first - second) / size
    sd = single_sd(float(means.std(ddof=1)), (within_a, within_b), 1 / float((1 / size).mean()))
    return _bare_limits(float(means.mean()), sd, first.size, times)


def single_sd(sd_of_means: float, within: tuple[float, float], repeats: float) -> float:
    """The SD of a difference of single measurements, from the SD of differences of means of `repeats`.

    `within` are the two methods' variances within a subject; `repeats` is the (harmonic mean) number averaged.
    Source: Bland and Altman 1999, section 5.1; the same as sqrt(s² + s1²/4 + s2²/4) of 1986 for two repeats.

    >>> round(single_sd(3.0, (4.0, 6.0), 2), 4)
    3.7417
    """
    return math.sqrt(sd_of_means**2 + (1 - 1 / repeats) * (within[0] + within[1]))


def repeatability(within_sd: float, *, times: float = TIMES) -> float:
    """The difference that two measurements of the same thing stay within: `times` sqrt(2) within-SD.

    Source: Bland and Altman 1999, section 3; in 1986 `times` was 2.

    >>> round(repeatability(15.3067, times=2), 2)
    43.29
    """
    return times * math.sqrt(2) * within_sd


def repeat_sd(first: ArrayLike, second: ArrayLike, *, level: float = 0.95) -> Est:
    """The SD of one method from pairs of repeats, sqrt(Σ d² / 2n), with its chi-square interval on n df.

    `first`, `second` have shape (n,), in one unit; a pair with a NaN is left out. No pair: missing, why 'no-data'.
    No spread at all: 0 without an interval, why 'no-spread'. It measures scatter, never bias.
    Source: Bland and Altman 1999, section 3 (within-subject SD of pairs); the interval is the textbook one
    for a variance of normal values.

    >>> est = repeat_sd([100.0, 110.0, 90.0], [104.0, 108.0, 92.0])
    >>> round(est.value, 4), round(est.low, 3), round(est.high, 3)
    (2.0, 1.133, 7.457)
    """
    d = _finite(np.asarray(first, np.float64) - np.asarray(second, np.float64))
    n = d.size
    if n == 0:
        return Est.missing("no-data", method="repeat-sd")
    squares = float((d**2).sum()) / 2
    value = math.sqrt(squares / n)
    if value == 0:
        return Est(0.0, level=level, n=n, method="repeat-sd", why="no-spread")
    tail = (1 - level) / 2
    low, high = (math.sqrt(squares / chi_square_quantile(p, n)) for p in (1 - tail, tail))
    return Est(value, low, high, level, n, "repeat-sd")


def repeat_sd_percent(first: ArrayLike, second: ArrayLike, *, level: float = 0.95) -> Est:
    """As `repeat_sd`, each difference in percent of its pair's mean.

    A pair whose mean is not above 0 has no percent and raises `ValueError`.

    >>> round(repeat_sd_percent([100.0, 210.0], [104.0, 200.0]).value, 3)
    3.129
    """
    a, b = np.asarray(first, np.float64), np.asarray(second, np.float64)
    mean = (a + b) / 2
    if (mean <= 0).any():
        raise ValueError("a pair of repeats with a mean of 0 or below has no percent")
    return repeat_sd(100 * a / mean, 100 * b / mean, level=level)


def mean_square_terms(a: ArrayLike, b: ArrayLike, reference: ArrayLike) -> Floats:
    """(a - b)(a + b - 2m) for each of n: how much further a is from m than b, in squares; NaN where any is.

    Their mean is mean (a-m)² - mean (b-m)²; noise of m cancels in it on average, and a bias of m enters as
    -2 bias mean(a - b). An identity of algebra.

    >>> mean_square_terms([3.0, 5.0], [1.0, 5.0], [2.0, 1.0]).tolist()
    [0.0, 0.0]
    """
    one, two, m = (np.asarray(x, np.float64) for x in (a, b, reference))
    return np.asarray((one - two) * (one + two - 2 * m), np.float64)


def mean_square_difference(a: ArrayLike, b: ArrayLike, reference: ArrayLike) -> float:
    """The mean of `mean_square_terms`, NaN left out; NaN where nothing is left.

    >>> mean_square_difference([4.0], [1.0], [2.0])
    3.0
    """
    terms = _finite(mean_square_terms(a, b, reference))
    return float(terms.mean()) if terms.size else math.nan


def _finite(values: ArrayLike) -> Floats:
    found = np.asarray(values, np.float64)
    return found[np.isfinite(found)]


def _no_limits(n: int) -> Limits:
    none = Est.missing("too-few" if n else "no-data", n=n, method="bland-altman-repeated")
    return Limits(none, None, none, none)


def _bare_limits(mean: float, sd: float, n: int, times: float) -> Limits:
    middle, lower, upper = (
        Est(value, n=n, method="bland-altman-repeated", why="not-computed")
        for value in (mean, mean - times * sd, mean + times * sd)
    )
    return Limits(middle, sd, lower, upper)
