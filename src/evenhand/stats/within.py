"""How finely days were pricked: psi, by which the variance within days is multiplied.

Sticks spread over a day catch its slow part better than the same number of sticks at random moments would, because
moments near one another are alike. How alike is read from the sticks themselves (the variogram within days), how well
the moments were spread from where they lie among the day's eligible minutes. docs/method.md, section 4.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from evenhand.stats.cells import Floats, Whole

RANGES = np.array([3600.0, 6 * 3600.0])
"""Seconds over which values stay alike, one quick and one slow (this project's choice)."""
LEAST_PAIRS = 30
"""With fewer pairs of sticks of one day in wear nothing is measured."""
HALFWAY = 50
"""With so many pairs what is measured counts half, the rest is 1: few pairs tell a variogram poorly."""
LEAST_PSI = 0.5
"""No day counts as pricked more finely than this, whatever the variogram says."""
MOST = 60
"""So many sticks of a day at most make pairs; of more, every second, third, ... does."""
_NEAR = 1800.0
_BLOCK = 2**20


@dataclass(frozen=True, slots=True)
class Within:
    """What psi needs beside the values. With g_0 = 1, g_1, g_2 the parts of the variogram (nugget, quick, slow):

    `first`, `second` (P,) are the sticks of each pair of one day in wear; `weighed` (P, 3) holds g at their distance,
    times the pair's weight, `normal` (3, 3) the normal equations; `real` (3,) is the variance within days that each
    part makes at the moments really pricked, `told` (3,) what it makes of D.
    """

    first: Whole
    second: Whole
    weighed: Floats
    normal: Floats
    real: Floats
    told: Floats

    def psi(self, values: Floats) -> Floats:
        """Psi for each column of `values`, shape (n, m), in the order of the sticks; between 0.5 and 1."""
        return np.asarray(1.0 - self.trust * (1.0 - np.clip(self.measured(values), LEAST_PSI, 1.0)))

    @property
    def trust(self) -> float:
        """How much what was measured counts beside 1, from 0 to 1."""
        return self.first.size / (self.first.size + HALFWAY)

    def measured(self, values: Floats) -> Floats:
        """Real over told for each column, whatever it is; 1 where the fit tells of no scatter."""
        right = np.zeros((3, values.shape[1]))
        step = max(1, _BLOCK // values.shape[1])
        for start in range(0, self.first.size, step):
            part = slice(start, start + step)
            apart = values[self.first[part]] - values[self.second[part]]
            right += self.weighed[part].T @ (0.5 * apart * apart)
        parts = nonnegative(self.normal, right)
        told, real = self.told @ parts, self.real @ parts
        known = told > 0
        found = np.ones(told.size)
        found[known] = real[known] / told[known]
        return found


def nonnegative(normal: Floats, right: Floats) -> Floats:
    """Least squares with no coefficient below 0, from the normal equations (q, q) and right sides (q, m); (q, m).

    Every subset of coefficients is solved, the others 0; of those without a negative one the best is the answer.

    >>> nonnegative(np.eye(2), np.array([[3.0, -1.0], [2.0, 4.0]]))
    array([[3., 0.],
           [2., 4.]])
    """
    size = normal.shape[0]
    best, gain = np.zeros_like(right), np.zeros(right.shape[1])
    for many in range(1, size + 1):
        for subset in combinations(range(size), many):
            chosen = np.array(subset, np.int64)
            part = normal[np.ix_(chosen, chosen)]
            if not np.linalg.det(part) > 1e-10 * np.diag(part).prod():
                continue
            found = np.linalg.solve(part, right[chosen])
            reached = (found * right[chosen]).sum(axis=0)
            better = (found >= 0).all(axis=0) & (reached > gain)
            gain[better] = reached[better]
            best[:, better] = 0.0
            best[np.ix_(chosen, np.flatnonzero(better))] = found[:, better]
    return best


def within(
    days: Iterator[tuple[Whole, Floats | None]], share: Floats, at: Whole, visit: Whole
) -> Within | None:
    """What psi needs, or None with fewer than 30 pairs or where no moments are known.

    `days` gives, for every pricked day in a wear that counts, its sticks (places in the sorted sticks), and its eligible
    moments (seconds, sorted), None where there are none. `share` (n,) is each stick's weight in the estimate, `at`
    its time in seconds, `visit` the number of its visit.
    """
    first, second = [], []
    real, told = np.zeros(3), np.zeros(3)
    for sticks, moments in days:
        thinned = sticks[:: -(-sticks.size // MOST)]
        pairs = np.triu_indices(thinned.size, 1)
        first.append(thinned[pairs[0]])
        second.append(thinned[pairs[1]])
        if moments is not None and visit[sticks[0]] != visit[sticks[-1]]:
            weight = float(share[sticks[0]]) ** 2
            by_real, by_told = _day(at[sticks], visit[sticks], moments)
            real += weight * by_real
            told += weight * by_told
    if not told.any() or sum(part.size for part in first) < LEAST_PAIRS:
        return None
    one, other = np.concatenate(first), np.concatenate(second)
    apart = np.abs(at[one] - at[other]).astype(np.float64)
    parts = np.concatenate((np.ones((apart.size, 1)), _gamma(apart)), axis=1)
    weighed = parts / np.sqrt(np.maximum(apart, _NEAR))[:, np.newaxis]
    return Within(one, other, weighed, weighed.T @ parts, real, told)


def _gamma(apart: Floats) -> Floats:
    """The quick and the slow part of the variogram at these distances in seconds; one axis more, of 2."""
    found: Floats = -np.expm1(-apart[..., np.newaxis] / RANGES)
    return found


def _day(at: Whole, visit: Whole, moments: Floats) -> tuple[Floats, Floats]:
    """For one day and each part of the variogram: the variance of the sum of its n sticks about n times the day's mean,
    and what Vd (times n² of the wear) is expected to make of them; both of shape (3,)."""
    n = at.size
    seconds = at - moments[0]
    between = _gamma(np.abs(seconds[:, np.newaxis] - seconds).astype(np.float64))
    to_moments, of_moments = _alike(seconds.astype(np.float64), moments - moments[0])
    kriged = n * n * (2 * (1 - to_moments) - (1 - of_moments)) - between.sum(axis=(0, 1))
    same = (visit[:, np.newaxis] == visit).astype(np.float64)
    visits = visit[-1] - visit[0] + 1
    by_row = same.mean(axis=0)
    centred = (same - by_row - by_row[:, np.newaxis] + by_row.mean()) * visits / (visits - 1)
    told = -(centred[..., np.newaxis] * between).sum(axis=(0, 1))
    return np.concatenate(([n], kriged)), np.concatenate(([np.trace(centred)], told))


def _alike(sticks: Floats, moments: Floats) -> tuple[Floats, Floats]:
    """The mean of exp(-distance / range) between sticks and moments, and among moments; shape (2,) each. `moments`
    is sorted; sums over those before and after come from running sums, so that no table of all distances is made."""
    falling, rising = np.exp(-moments[:, np.newaxis] / RANGES), np.exp(moments[:, np.newaxis] / RANGES)
    zero = np.zeros((1, RANGES.size))
    before = np.concatenate((zero, np.cumsum(rising, axis=0)))
    after = np.concatenate((np.cumsum(falling[::-1], axis=0)[::-1], zero))
    place = np.searchsorted(moments, sticks, side="right")
    to_sticks = np.exp(-sticks[:, np.newaxis] / RANGES) * before[place]
    to_sticks += np.exp(sticks[:, np.newaxis] / RANGES) * after[place]
    among = 2 * (falling * before[1:]).sum(axis=0) - moments.size
    return to_sticks.mean(axis=0) / moments.size, among / moments.size**2
