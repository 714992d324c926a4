"""Sticks grouped into visits, days and wears, and the means and variances that come from them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.stats.cells import Floats, Whole, sizes
from evenhand.stats.within import Within

LEAST_IN_ALL = 6
"""With fewer visits in all there is no interval."""
FEW_DAYS = 3
"""A counted wear with fewer pricked days is named: no answer may rest on it."""

LOST = 2.0
"""Where psi is measured, the variance within days rests on its pieces of information over 1 + 2 · trust · (1 - phi): on
a third where days were pricked alike and there are many pairs (this project's choice, by simulation)."""

NO_PAIRS, NOTHING_COUNTED, FEW_VISITS = "no-pairs", "no-wear-counted", "few-visits"
"""Why there is no value (no sticks; every wear left out), or no interval."""


@dataclass(frozen=True, slots=True)
class ByWear:
    """What each counted wear brings; arrays of shape (k,). `weight` adds up to 1. `within_wear` is the variance
    of the wear's mean from all its visits (Vs), `within_days` the part that is scatter within days (Vd)."""

    wear: Whole
    weight: Floats
    mean: Floats
    pairs: Whole
    visits: Whole
    days: Whole
    within_wear: Floats
    within_days: Floats


@dataclass(frozen=True, slots=True)
class VisitMean:
    """A weighted mean over wears with its variance.

    `value`, `variance`, `df` are None where no wear counts, `variance` and `df` also with fewer than 6 visits in
    all; `why` says so. `n` pairs, `k` wears, `days` pricked day-in-wear cells (G), `visits` (S), `joined`
    days after joining (C). `within` is D (the part of the variance within days) before `psi`, `between` B before
    `phi` multiplies it: variance = psi * within + phi * between. `left_out` names wears that do not count, with a code;
    `few_days` the counted ones with under three pricked days.
    """

    value: float | None
    variance: float | None
    df: float | None
    n: int
    k: int
    days: int
    visits: int
    joined: int
    phi: float
    psi: float
    within: float
    between: float
    by_wear: ByWear
    left_out: tuple[tuple[int, str], ...]
    few_days: tuple[int, ...]
    why: str | None


@dataclass(frozen=True, slots=True)
class Visits:
    """Sticks grouped into visits, days and wears: everything about a mean that does not depend on the values.

    Made once by `group_visits`, then used for as many values as there are (`mean`, `means`). `order` picks
    the counted sticks, sorted by wear, day and time; the `_start` arrays hold where each group begins: visits and
    joined days in sticks, and those of a wear in visits or joined days.
    """

    n: int
    order: Whole
    share: Floats
    wear_of: Whole
    visit_start: Whole
    wear_start: Whole
    wear_visit: Whole
    joined_start: Whole
    joined_visit: Whole
    wear_joined: Whole
    joined_of: Whole
    wear: Whole
    weight: Floats
    pairs: Whole
    visits: Whole
    days: Whole
    phi: float
    plain: bool
    left_out: tuple[tuple[int, str], ...]
    spread: Within | None = None

    def mean(self, y: Floats) -> VisitMean:
        """The mean of `y`, shape (n,), in the order the sticks were given."""
        return self.means(y[:, np.newaxis])[0]

    def means(self, y: Floats) -> tuple[VisitMean, ...]:
        """The means of the columns of `y`, shape (n, m)."""
        if self.wear.size == 0:
            why = NO_PAIRS if self.n == 0 else NOTHING_COUNTED
            return tuple(self._nothing(why) for _ in range(y.shape[1]))
        values = y[self.order]
        shift = values[0]
        values = values - shift
        share = self.share[:, np.newaxis]
        means = np.add.reduceat(values * share, self.wear_start, axis=0)
        in_wear = self._squares((values - means[self.wear_of]) * share)
        factor = self.visits / (self.visits - 1.0)
        within_wear = factor[:, np.newaxis] * np.add.reduceat(in_wear, self.wear_visit, axis=0)
        within_days = within_wear if self.plain else self._within_days(values)
        weight = self.weight[:, np.newaxis]
        square = weight * weight
        within = (square * within_days).sum(axis=0)
        between = (square * np.maximum(within_wear - within_days, 0.0)).sum(axis=0)
        value = shift + (weight * means).sum(axis=0)
        psi = np.ones(value.size)
        if self.spread is not None:
            psi = np.maximum(self.spread.psi(values), min(self.phi, 1.0))
        return tuple(
            self._one(float(value[i]), (float(psi[i]), float(within[i]), float(between[i])),
                      (means[:, i] + shift[i], within_wear[:, i], within_days[:, i]))
            for i in range(y.shape[1])
        )  # fmt: skip

    def _squares(self, residual: Floats) -> Floats:
        """Squared sums of the residuals of each visit."""
        total: Floats = np.add.reduceat(residual, self.visit_start, axis=0)
        return total * total

    def _within_days(self, values: Floats) -> Floats:
        """Vd of each wear: scatter of visits about the mean of their own (joined) day."""
        counts = sizes(self.joined_start, values.shape[0])[:, np.newaxis]
        means = np.add.reduceat(values, self.joined_start, axis=0) / counts
        residual = (values - means[self.joined_of]) * self.share[:, np.newaxis]
        by_day = np.add.reduceat(self._squares(residual), self.joined_visit, axis=0)
        held = sizes(self.joined_visit, self.visit_start.size)[:, np.newaxis]
        found: Floats = np.add.reduceat(by_day * held / (held - 1.0), self.wear_joined, axis=0)
        return found

    def _one(
        self, value: float, known: tuple[float, float, float], parts: tuple[Floats, Floats, Floats]
    ) -> VisitMean:
        psi, within, between = known
        visits, days, k = int(self.visits.sum()), int(self.days.sum()), int(self.wear.size)
        joined = int(self.joined_start.size)
        parts_of = psi * within, self.phi * between
        if self.plain:
            df = float(visits - k)
        else:
            trust = 0.0 if self.spread is None else self.spread.trust * max(0.0, 1.0 - self.phi)
            sure = (visits - joined) / (1.0 + LOST * trust)
            df = _degrees(parts_of, (sure, days - k), visits - k)
        few = visits < LEAST_IN_ALL
        means, within_wear, within_days = parts
        return VisitMean(
            value=value, variance=None if few else sum(parts_of), df=None if few else df,
            n=int(self.order.size), k=k, days=days, visits=visits, joined=joined,
            phi=self.phi, psi=psi, within=within, between=between,
            by_wear=ByWear(self.wear, self.weight, means, self.pairs, self.visits, self.days, within_wear, within_days),
            left_out=self.left_out,
            few_days=tuple(int(wear) for wear in self.wear[self.days < FEW_DAYS]),
            why=FEW_VISITS if few else None,
        )  # fmt: skip

    def _nothing(self, why: str) -> VisitMean:
        none, whole = np.empty(0), np.empty(0, np.int64)
        return VisitMean(
            None, None, None, 0, 0, 0, 0, 0, 1.0, 1.0, 0.0, 0.0,
            ByWear(whole, none, none, whole, whole, whole, none, none), self.left_out, (), why,
        )  # fmt: skip


def _degrees(parts: tuple[float, float], sure: tuple[float, float], most: int) -> float:
    """Degrees of freedom of psi D + phi B (Satterthwaite's), what each rests on in `sure`; kept between G - k and S - k."""
    spread = parts[0] ** 2 / sure[0] + parts[1] ** 2 / sure[1]
    if spread <= 0.0:
        return float(sure[1])
    return min(max(sum(parts) ** 2 / spread, float(sure[1])), float(most))
