"""Shares of a count, with intervals: Wilson's (also for an effective count), and the exact ones."""

from __future__ import annotations

import math

from evenhand.stats.estimate import Est
from evenhand.stats.quantiles import normal_quantile


def wilson(share: float, n: float, *, level: float = 0.95, deff: float = 1.0) -> Est:
    """Wilson's score interval for a share of `n`, two-sided.

    `share` is a fraction, 0 to 1, and need not be a whole count over `n` (it may be weighted). `deff` is the
    design effect: the interval is that of `n / deff` independent ones (1: all are independent). Unit-free.
    No `n`, or a share of NaN: missing, why 'no-data'. Raises `ValueError` for a share outside 0 to 1 or a
    `deff` not above 0.
    Source: Wilson 1927 (J Am Stat Assoc 22:209), as method 3 of Newcombe 1998 (Stat Med 17:857-872).

    >>> est = wilson(81 / 263, 263)
    >>> round(est.low, 4), round(est.high, 4)
    (0.2553, 0.3662)
    """
    method = "wilson" if deff == 1.0 else "wilson-effective-n"
    if not n > 0 or math.isnan(share):
        return Est.missing("no-data", method=method)
    if not 0 <= share <= 1 or not deff > 0:
        raise ValueError("wilson needs a share from 0 to 1 and a design effect above 0")
    low, high = wilson_limits(share, n / deff, level)
    return Est(share, low, high, level, int(n), method)


def wilson_limits(p: float, n: float, level: float = 0.95) -> tuple[float, float]:
    """The two ends of Wilson's interval for a fraction `p` of `n` (which need not be whole); sources as in `wilson`.

    >>> [round(limit, 4) for limit in wilson_limits(81 / 263, 263)]
    [0.2553, 0.3662]
    """
    z = normal_quantile(0.5 + level / 2)
    square = z * z / n
    middle = p + square / 2
    half = z * math.sqrt(p * (1 - p) / n + square / (4 * n))
    low, high = (middle - half) / (1 + square), (middle + half) / (1 + square)
    return (0.0 if p <= 0 else max(0.0, low)), (1.0 if p >= 1 else min(1.0, high))


def clopper_pearson(count: int, n: int, *, level: float = 0.95) -> Est:
    """The exact interval of `count` in `n` independent ones, equal tails; as a fraction, 0 to 1.

    No `n`: missing, why 'no-data'. Raises `ValueError` for a count outside 0 to `n`.
    Source: Clopper and Pearson 1934 (Biometrika 26:404), as method 5 of Newcombe 1998.

    >>> est = clopper_pearson(4, 20, level=0.90)
    >>> round(est.low, 6), round(est.high, 6)
    (0.071354, 0.401028)
    """
    if n == 0:
        return Est.missing("no-data", method="clopper-pearson")
    tail = (1 + level) / 2
    low, high = exact_lower(count, n, level=tail), exact_upper(count, n, level=tail)
    return Est(count / n, low, high, level, n, "clopper-pearson")


def exact_lower(count: int, n: int, *, level: float = 0.95) -> float:
    """The exact one-sided lower bound of the share of which `count` in `n` were seen; a fraction.

    0 where `count` is 0 (also for no `n`: nothing is known). Raises `ValueError` for a count outside 0 to `n`.

    >>> round(exact_lower(90, 100), 6)
    0.836282
    """
    _check(count, n)
    if count == 0:
        return 0.0
    if count == n:
        return float((1 - level) ** (1 / n))
    low, high = 0.0, 1.0
    while high - low > 1e-15 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if _at_least(count, n, middle) < 1 - level:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _at_least(count: int, n: int, p: float) -> float:
    """The probability of `count` or more of `n` independent ones that each come true with `p`, 0 < p < 1."""
    odds = math.log(p) - math.log1p(-p)
    start = math.lgamma(n + 1) + n * math.log1p(-p)
    terms = (
        math.exp(start - math.lgamma(k + 1) - math.lgamma(n - k + 1) + k * odds) for k in range(count, n + 1)
    )
    return math.fsum(terms)


def exact_upper(count: int, n: int, *, level: float = 0.95) -> float:
    """The exact one-sided upper bound of the share of which `count` in `n` were seen; a fraction.

    1 where `count` is `n`. Raises `ValueError` for a count outside 0 to `n`.

    >>> round(exact_upper(0, 20), 6)
    0.139108
    """
    _check(count, n)
    return 1.0 - exact_lower(n - count, n, level=level)


def _check(count: int, n: int) -> None:
    if not 0 <= count <= n:
        raise ValueError(f"a count of {count} in {n} cannot be")
