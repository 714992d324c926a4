"""Intervals around a `VisitMean`: for means, for means of absolute values, and for rates.

Each gives an `Est` whose `n` counts the pairs that went in. Where no wear counts the value is missing; with
fewer than 6 visits in all it stands without an interval; `why` says so.
"""

from __future__ import annotations

import math

from evenhand.stats.estimate import Est
from evenhand.stats.grouped import VisitMean
from evenhand.stats.proportions import wilson_limits
from evenhand.stats.quantiles import t_quantile

MEAN, LOG, RATE = "visits-t", "visits-log-t", "visits-wilson"
"""Method ids: estimate ± t √V; estimate × exp(± t √V / estimate); Wilson with the effective number."""

ZERO = "zero-estimate"


def _half(found: VisitMean, level: float) -> float | None:
    """t √V; None where there is no interval."""
    if found.variance is None or found.df is None:
        return None
    return t_quantile(0.5 + level / 2, found.df) * math.sqrt(found.variance)


def mean_est(found: VisitMean, level: float = 0.95) -> Est:
    """A mean or a difference: value ± t √V."""
    half = _half(found, level)
    if found.value is None or half is None:
        return Est(found.value, level=level, n=found.n, method=MEAN, why=found.why)
    return Est(found.value, found.value - half, found.value + half, level, found.n, MEAN)


def log_est(found: VisitMean, level: float = 0.95) -> Est:
    """A mean of absolute values (MAD, MARD): value × exp(± t √V / value), so that neither limit is below 0.

    An estimate of 0 has no interval.
    """
    half = _half(found, level)
    if found.value is None or half is None:
        return Est(found.value, level=level, n=found.n, method=LOG, why=found.why)
    if found.value <= 0:
        return Est(found.value, level=level, n=found.n, method=LOG, why=ZERO)
    factor = math.exp(half / found.value)
    return Est(found.value, found.value / factor, found.value * factor, level, found.n, LOG)


def rate_est(found: VisitMean, level: float = 0.95) -> Est:
    """A rate, from values 0 and 1, in percent: Wilson's interval at n / deff.

    deff = max(1, V n / (p (1 - p))). Where p is 0 or 1 nothing scatters and V says nothing: the sticks of a visit
    then count as one, n / deff is the number of visits (Wilson 1927; Newcombe, Stat Med 1998;17:857-872, method 3).
    """
    if found.value is None or found.variance is None:
        value = None if found.value is None else 100 * found.value
        return Est(value, level=level, n=found.n, method=RATE, why=found.why)
    p = min(max(found.value, 0.0), 1.0)
    plain = p * (1 - p)
    alone = float(min(found.n, found.visits))
    number = found.n / max(1.0, found.variance * found.n / plain) if plain > 1e-12 else alone
    low, high = wilson_limits(p, number, level)
    return Est(100 * p, 100 * low, 100 * high, level, found.n, RATE)
