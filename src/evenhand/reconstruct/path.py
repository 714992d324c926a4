"""Blood glucose every five minutes with its uncertainty, and joint draws of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from evenhand.clock import MINUTE
from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.grid import STEP
from evenhand.reconstruct.laplace import Curvature
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import FARTHEST, TAU
from evenhand.reconstruct.rows import blood_rows
from evenhand.reconstruct.scale import CENTRE, Floats, mg_dl
from evenhand.reconstruct.sticks import blood_at
from evenhand.stats.banded import NotPositive

PARAMETERS, EACH = 60, 4
"""So many parameter vectors are drawn, and so many paths for each."""
WIDER = 1.75
"""Intervals of a mean size of error, or of a difference of such, are made wider by this (decision 0047; not the band)."""
NODES = 24
"""Points of the quadrature over blood at one instant."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number read off the path: `value` at the fitted parameters, and its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class BloodPath:
    """Blood glucose at M instants five minutes apart, `at` (seconds since the epoch), shape (M,).

    On the even scale (`scale.mg_dl` turns back): `mean` and `sd` at the fitted parameters, exact; `draws` (D, M)
    joint draws with the parameters' uncertainty, `EACH` rows in turn from one parameter vector.
    """

    at: Floats
    mean: Floats
    sd: Floats
    draws: Floats

    @property
    def mg_dl(self) -> Floats:
        """The middle of blood glucose in mg/dL, (M,): the median, and what to draw as the line."""
        return mg_dl(self.mean)

    def band(self, share: float = 0.9) -> tuple[Floats, Floats]:
        """Lower and upper end of the pointwise band that holds blood with this probability, mg/dL, (M,) each: mean
        and SD of the draws, parameters' uncertainty included, as a normal on the even scale."""
        from scipy.special import ndtri

        reach = float(ndtri(0.5 + share / 2.0)) * self.draws.std(axis=0)
        middle = self.draws.mean(axis=0)
        return mg_dl(middle - reach), mg_dl(middle + reach)

    def drawn(self, instants: Floats, rows: slice = slice(None)) -> Floats:
        """The draws (or some of them) at these instants in mg/dL, (D, n), in straight lines on the even scale between
        five minutes."""
        place, share = self._between(instants)
        return self._some(rows, place, share)

    def middle(self, instants: Floats) -> tuple[Floats, Floats]:
        """Mean and SD on the even scale at these instants, at the fitted parameters; (n,) each."""
        place, share = self._between(instants)
        mean = self.mean[place] * (1 - share) + self.mean[place + 1] * share
        return mean, self.sd[place] * (1 - share) + self.sd[place + 1] * share

    def spread(self, instants: Floats) -> tuple[Floats, Floats]:
        """Mean and SD of the draws on the even scale at these instants, the parameters' uncertainty in them; (n,)
        each."""
        place, share = self._between(instants)
        mean, sd = self.draws.mean(axis=0), self.draws.std(axis=0)
        middle = mean[place] * (1 - share) + mean[place + 1] * share
        return middle, sd[place] * (1 - share) + sd[place + 1] * share

    def mean_of(self, instants: Floats, what: Callable[[Floats], Floats]) -> Number:
        """The mean over these instants of something that depends on blood there: its value and its 95 % interval.

        `what` takes blood in mg/dL, (k, n), and gives an array of that shape, for example
        `lambda blood: abs(reading - blood)` for a sensor's MAD. The value is the expectation at the fitted
        parameters (by quadrature over each instant's normal); the interval's ends lie as far from it as the 2.5 and
        97.5 percentiles of the draws' means lie from their mean, times `WIDER`. A difference of two sensors' numbers
        is one call at their common instants.
        """
        place, share = self._between(instants)
        node, weight = _quadrature()
        mean, sd = self.middle(instants)
        value = float(weight @ what(mg_dl(mean + sd * node[:, None])).mean(axis=1))
        drawn = np.concatenate(
            [what(self._some(rows, place, share)).mean(axis=1) for rows in _chunks(self.draws.shape[0])]
        )
        low, high = np.quantile(drawn, (0.025, 0.975)) - drawn.mean()
        return Number(value, value + WIDER * float(low), value + WIDER * float(high))

    def chance(self, instants: Floats, what: Callable[[Floats], Floats]) -> Floats:
        """The probability at each instant, (n,), that something holds of blood there; `what` as in `mean_of`, True
        or False: the share of the draws in which it does."""
        return np.asarray(what(self.drawn(instants)).mean(axis=0), np.float64)

    def _between(self, instants: Floats) -> tuple[Whole, Floats]:
        where = (np.asarray(instants, np.float64) - self.at[0]) / (STEP * MINUTE)
        place = np.asarray(np.clip(np.floor(where), 0, self.at.size - 2), np.int64)
        return place, where - place

    def _some(self, rows: slice, place: Whole, share: Floats) -> Floats:
        low = self.draws[rows][:, place]
        return mg_dl(low + (self.draws[rows][:, place + 1] - low) * share)


def _chunks(many: int, size: int = 40) -> list[slice]:
    return [slice(first, min(first + size, many)) for first in range(0, many, size)]


@lru_cache(maxsize=1)
def _quadrature() -> tuple[Floats, Floats]:
    node, weight = np.polynomial.hermite_e.hermegauss(NODES)
    return node, weight / weight.sum()


def path_of(
    top: Solved,
    bent: Curvature,
    span: tuple[float, float],
    rng: np.random.Generator,
    told: Callable[[float], None],
) -> BloodPath:
    """The path every five minutes over the instants of `span`, with draws from the parameters' uncertainty."""
    grid = top.problem.grid
    many = int((span[1] - span[0]) // (STEP * MINUTE)) + 2
    at = np.asarray(span[0] + STEP * MINUTE * np.arange(many), np.float64)
    minutes = grid.minutes(at)
    mean, variance = blood_at(top, minutes)
    normal = rng.standard_normal((PARAMETERS, bent.root.shape[1]))
    draws = np.empty((PARAMETERS * EACH, many))
    for number in range(PARAMETERS):
        u = np.clip(top.u + bent.root @ normal[number], -FARTHEST, FARTHEST)
        try:
            solved = solve(top.problem, u)
        except NotPositive:
            solved = top
        draws[number * EACH : (number + 1) * EACH] = _paths(solved, minutes, rng)
        told((number + 1) / PARAMETERS)
    return BloodPath(at, mean + CENTRE, np.sqrt(variance), draws + CENTRE)


def _paths(solved: Solved, minutes: Floats, rng: np.random.Generator) -> Floats:
    """`EACH` joint draws of blood at these minutes given the parameters, (EACH, M): the border from its covariance,
    then the unknowns given the border."""
    beta = np.linalg.cholesky(solved.beta_covariance) @ rng.standard_normal((solved.beta.size, EACH))
    normal = np.asfortranarray(rng.standard_normal((solved.mean.size, EACH)))
    unknown = solved.mean[:, None] - solved.through @ beta + solved.factor.spread(normal)
    place, by, _ = blood_rows(minutes, float(solved.value[TAU]), solved.problem.grid)
    return np.asarray(np.einsum("sm,smd->dm", by, unknown[place]), np.float64)
