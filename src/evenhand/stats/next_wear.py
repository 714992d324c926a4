"""What a few pairs of wears say about the next ones out of the box. Knows log ratios, no glucose.

One unit is a stretch in which the same two wears ran together: y = log of the ratio of their mean errors, SE s.
Wear to wear, log mean errors scatter so that the log ratio of two fresh wears has SD tau:

    y ~ Normal(mu, diag(s²) + tau² · (A + B) / 2)

where A and B are 1 where two stretches share the first, or the second, wear (staggered wears overlap with more
than one partner; with each wear in one stretch the matrix is diag(s² + tau²)). tau is half-normal, mu normal or
flat; tau is integrated on a grid, mu in closed form. The priors are this project's own, to be replaced by what
many trials show.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.stats.estimate import Est

Floats = NDArray[np.float64]

CHANCE_SCALE, CHANCE_MEAN_SD = 0.5, 0.25
"""Priors for the chance: scale of tau, SD of the mean."""
RATIO_SCALE = 0.4
"""Prior scale of tau for the interval of the ratio; its mean is flat."""
CAP = 0.85
"""No chance is told above this: three to five wears cannot carry more."""
LEAST_WEARS = 3
METHOD = "next-wear"
_ROOT = math.sqrt(0.5)
_NODE, _STEP = np.polynomial.legendre.leggauss(160)
_GRID = 6 * ((_NODE + 1) / 2) ** 3
"""tau in units of its prior scale: Gauss-Legendre in its cube root, dense at zero, to six scales (mass beyond: 2e-9)."""
_WEIGHT = np.exp(-0.5 * _GRID**2) * _STEP * 3 * ((_NODE + 1) / 2) ** 2


@dataclass(frozen=True, slots=True)
class Stretches:
    """Log ratios `y`, their standard errors `s` (n,), and which wear stood on each side, `a` and `b` (n,)."""

    y: Floats
    s: Floats
    a: NDArray[np.int64]
    b: NDArray[np.int64]

    @property
    def least_wears(self) -> int:
        """Wears of the side that has fewer."""
        return min(np.unique(self.a).size, np.unique(self.b).size)


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance that the next one of one side is closer. `sign` -1: the first, 1: the second, 0: not told.
    `low` and `high` are the chance with half and with twice the prior scale of tau, in order."""

    sign: int
    chance: float | None
    low: float | None
    high: float | None
    why: str | None


def chance_next(stretches: Stretches) -> Chance:
    """The chance that the next first-side wear has the smaller mean error than the next second-side one.

    Null below 3 wears of either side, with the reason's code; never above 0.85.

    >>> told = chance_next(Stretches(np.array([-0.2, 0.1, -0.2]), np.full(3, 0.1), np.arange(3), np.arange(3)))
    >>> told.sign, round(told.chance, 2), round(told.low, 2), round(told.high, 2)
    (-1, 0.67, 0.66, 0.71)
    """
    wears = stretches.least_wears
    if wears < LEAST_WEARS:
        return Chance(0, None, None, None, ("no-wears", "one-wear", "two-wears")[wears])
    first = _chance_first(stretches, CHANCE_SCALE)
    sign = -1 if first >= 0.5 else 1

    def told(chance: float) -> float:
        return min(CAP, chance if sign == -1 else 1 - chance)

    ends = sorted(told(_chance_first(stretches, CHANCE_SCALE * factor)) for factor in (0.5, 2.0))
    return Chance(sign, told(first), min(ends[0], told(first)), max(ends[1], told(first)), None)


def next_ratio(stretches: Stretches, level: float = 0.95) -> Est:
    """The ratio of mean errors, first over second, that the next pair of wears will show, with its interval.

    The value is the ratio of the kinds, exp(mean of mu). With no stretch: missing; with one wear of a side: a
    value alone, because the interval would be the prior's and nothing else's.
    """
    n = int(stretches.y.size)
    if n == 0:
        return Est.missing("no-wears", method=METHOD, about="next_sensor")
    tau, weight, mean, variance = _posterior(stretches, RATIO_SCALE, None)
    value = math.exp(float(weight @ mean))
    if stretches.least_wears < 2:
        return Est(value, level=level, n=n, method=METHOD, about="next_sensor", why="one-wear")
    spread = np.sqrt(variance + tau**2)
    low, high = (_quantile(p, weight, mean, spread) for p in ((1 - level) / 2, (1 + level) / 2))
    return Est(value, math.exp(low), math.exp(high), level, n, METHOD, "next_sensor")


def _chance_first(stretches: Stretches, scale: float) -> float:
    tau, weight, mean, variance = _posterior(stretches, scale, CHANCE_MEAN_SD)
    return float(weight @ _normal(-mean / np.sqrt(np.maximum(variance + tau**2, 1e-300))))


def _posterior(
    stretches: Stretches, scale: float, mean_sd: float | None
) -> tuple[Floats, Floats, Floats, Floats]:
    """tau's grid (T,), its posterior weights (T,), and mean and variance of mu at each (T,).

    mu ~ Normal(0, mean_sd²), or flat where `mean_sd` is None.
    """
    y, n = stretches.y, stretches.y.size
    shared = (_same(stretches.a) + _same(stretches.b)) / 2
    tau = scale * _GRID
    floor = np.maximum(stretches.s**2, 1e-8)
    covariance = np.diag(floor)[None] + (tau**2)[:, None, None] * shared[None]
    inverse = np.linalg.inv(covariance)
    precision = inverse.sum(axis=(1, 2)) + (0.0 if mean_sd is None else 1 / mean_sd**2)
    mean = (inverse @ y).sum(axis=1) / precision
    fit = np.einsum("i,tij,j->t", y, inverse, y) - mean**2 * precision
    log = -0.5 * (np.linalg.slogdet(covariance)[1] + np.log(precision) + fit)
    assert n > 0
    weight = _WEIGHT * np.exp(log - log.max())
    return tau, weight / weight.sum(), mean, 1 / precision


def _same(wear: NDArray[np.int64]) -> Floats:
    """1 where two stretches share the wear, else 0, shape (n, n)."""
    return np.equal.outer(wear, wear).astype(np.float64)


def _normal(z: Floats) -> Floats:
    """The standard normal distribution function, without the 0.2 s that importing it elsewhere takes."""
    return np.array([0.5 * math.erfc(-each * _ROOT) for each in z.tolist()])


def _quantile(p: float, weight: Floats, mean: Floats, spread: Floats) -> float:
    """The p-quantile of a mixture of normals, by bisection."""
    low, high = float((mean - 12 * spread).min()), float((mean + 12 * spread).max())
    for _ in range(45):
        middle = (low + high) / 2
        if float(weight @ _normal((middle - mean) / spread)) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2
