"""From common pairs to what the next sensors out of the box would show: log ratios of MADs by stretch."""

from __future__ import annotations

import numpy as np

from evenhand.compare.common import Common
from evenhand.stats.next_wear import Stretches


def stretches(pairs: Common) -> Stretches:
    """The log ratio of MADs, a over b, of each stretch that counts, with its standard error.

    The error is that of the mean of |error a|/MAD a - |error b|/MAD b, by the variance of visits and days (phi and psi
    of the whole comparison). A stretch in which either MAD is 0 has no ratio and is left out.
    """
    size_a, size_b = np.abs(pairs.error_a), np.abs(pairs.error_b)
    mads = pairs.visits.means(np.column_stack([size_a, size_b]))
    wear = mads[0].by_wear.wear
    mad_a, mad_b = mads[0].by_wear.mean, mads[1].by_wear.mean
    if wear.size == 0:
        none, whole = np.empty(0), np.empty(0, np.int64)
        return Stretches(none, none, whole, whole)
    told = (mad_a > 0) & (mad_b > 0)
    place = np.minimum(np.searchsorted(wear, pairs.stretch), wear.size - 1)
    over_a, over_b = (np.where(told, mad, 1.0)[place] for mad in (mad_a, mad_b))
    relative = pairs.visits.mean(size_a / over_a - size_b / over_b)
    by_wear = relative.by_wear
    between = np.maximum(by_wear.within_wear - by_wear.within_days, 0.0)
    variance = relative.psi * by_wear.within_days + relative.phi * between
    worn = np.array([pairs.worn(stretch) for stretch in wear[told]], np.int64).reshape(-1, 2)
    return Stretches(
        np.log(mad_a[told] / mad_b[told]), np.sqrt(variance[told]), worn[:, 0].copy(), worn[:, 1].copy()
    )
