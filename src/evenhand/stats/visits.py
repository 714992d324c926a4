"""The mean over a worn stretch of time, from sticks that cluster in visits and days, and its variance.

Every worn day is in the trial: days differ by sampling only as far as they are pricked unequally. How
unequally is measured (`phi`). The derivation stands in docs/method.md, section 'What is estimated'.

Labels: a *wear* is a stretch whose mean is estimated by itself; a *visit* is a stick together with those that
follow it on the same day within 45 min, each counted from the one before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]

VISIT_GAP = 45 * 60
"""Seconds: a stick this long after the one before it, or longer, opens a new visit."""
LEAST_VISITS = 3
"""A wear with fewer is left out."""
LEAST_IN_ALL = 6
"""With fewer visits in all there is no interval."""
FEW_DAYS = 3
"""A counted wear with fewer pricked days is named: no answer may rest on it."""

NO_PAIRS = "no-pairs"
FEW_VISITS = "few-visits"
ONE_DAY = "one-pricked-day"
NO_MINUTES = "no-eligible-minutes"
NOTHING_COUNTED = "no-wear-counted"


@dataclass(frozen=True, slots=True)
class Cells:
    """Eligible minutes by day in wear; three arrays of one shape. Rows of the same wear and day add up, rows
    with no minutes are no cells."""

    wear: Whole
    day: Whole
    minutes: Floats

    @classmethod
    def count(cls, wear: Whole, day: Whole) -> Cells:
        """Cells from the labels of single minutes, shape (M,) both.

        >>> Cells.count(np.array([0, 0, 1]), np.array([7, 7, 7])).minutes
        array([2., 1.])
        """
        if wear.size == 0:
            return cls(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0))
        first_wear, first_day = int(wear.min()), int(day.min())
        span = int(day.max()) - first_day + 1
        counts = np.bincount((wear - first_wear) * span + (day - first_day))
        (held,) = np.nonzero(counts)
        return cls(first_wear + held // span, first_day + held % span, counts[held].astype(np.float64))


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
    days after joining (C). `within` is D (the part of the variance within days), `between` B before `phi`
    multiplies it: variance = within + phi * between. `left_out` names wears that do not count, with a code;
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
        return tuple(
            self._one(float(value[i]), float(within[i]), float(between[i]),
                      (means[:, i] + shift[i], within_wear[:, i], within_days[:, i]))
            for i in range(y.shape[1])
        )  # fmt: skip

    def _squares(self, residual: Floats) -> Floats:
        """Squared sums of the residuals of each visit."""
        total: Floats = np.add.reduceat(residual, self.visit_start, axis=0)
        return total * total

    def _within_days(self, values: Floats) -> Floats:
        """Vd of each wear: scatter of visits about the mean of their own (joined) day."""
        counts = np.diff(self.joined_start, append=values.shape[0])[:, np.newaxis]
        means = np.add.reduceat(values, self.joined_start, axis=0) / counts
        residual = (values - means[self.joined_of]) * self.share[:, np.newaxis]
        by_day = np.add.reduceat(self._squares(residual), self.joined_visit, axis=0)
        held = np.diff(self.joined_visit, append=self.visit_start.size)[:, np.newaxis]
        found: Floats = np.add.reduceat(by_day * held / (held - 1.0), self.wear_joined, axis=0)
        return found

    def _one(
        self, value: float, within: float, between: float, parts: tuple[Floats, Floats, Floats]
    ) -> VisitMean:
        visits, days, k = int(self.visits.sum()), int(self.days.sum()), int(self.wear.size)
        joined = int(self.joined_start.size)
        variance = within + self.phi * between
        if self.plain:
            df = float(visits - k)
        else:
            df = _degrees(variance, within, self.phi * between, (visits, joined, days, k))
        few = visits < LEAST_IN_ALL
        means, within_wear, within_days = parts
        return VisitMean(
            value=value, variance=None if few else variance, df=None if few else df,
            n=int(self.order.size), k=k, days=days, visits=visits, joined=joined,
            phi=self.phi, within=within, between=between,
            by_wear=ByWear(self.wear, self.weight, means, self.pairs, self.visits, self.days, within_wear, within_days),
            left_out=self.left_out,
            few_days=tuple(int(wear) for wear in self.wear[self.days < FEW_DAYS]),
            why=FEW_VISITS if few else None,
        )  # fmt: skip

    def _nothing(self, why: str) -> VisitMean:
        none, whole = np.empty(0), np.empty(0, np.int64)
        return VisitMean(
            None, None, None, 0, 0, 0, 0, 0, 1.0, 0.0, 0.0,
            ByWear(whole, none, none, whole, whole, whole, none, none), self.left_out, (), why,
        )  # fmt: skip


def _degrees(variance: float, within: float, between: float, counts: tuple[int, int, int, int]) -> float:
    """Degrees of freedom of D + phi B (Satterthwaite's), kept between G - k and S - k."""
    visits, joined, days, k = counts
    spread = within**2 / (visits - joined) + between**2 / (days - k)
    if spread <= 0.0:
        return float(days - k)
    return min(max(variance**2 / spread, float(days - k)), float(visits - k))


def visit_mean(
    y: Floats,
    wear: Whole,
    day: Whole,
    at: Whole,
    cells: Cells | None,
    *,
    weights: Floats | None = None,
    least_days: int = 2,
) -> VisitMean:
    """The mean of `y` over the eligible time of the wears, with the variance of docs/method.md.

    `y`, `wear` (labels), `day` (ordinals) and `at` (seconds) have shape (n,), in any order. `cells` holds the
    eligible minutes by day in wear; None where they cannot be counted: wears then weigh by their pairs and
    phi is 1. `weights`, shape (n,), at least 0, fixes the weight of every stick from outside
    (`cells` is then None): phi is 1, the variance that of the visits about the weighted mean of their wear, df = S - k. `least_days` is the number of pricked days below
    which a wear is left out (1 for phases and days).

    >>> at = np.arange(12) * 7200
    >>> found = visit_mean(np.tile([1.0, 3.0], 6), np.zeros(12, int), at // 28800, at, None)
    >>> found.value, found.visits, found.days, found.joined, found.df
    (2.0, 12, 3, 3, 9.0)
    """
    return group_visits(wear, day, at, cells, weights=weights, least_days=least_days).mean(y)


def group_visits(
    wear: Whole,
    day: Whole,
    at: Whole,
    cells: Cells | None,
    *,
    weights: Floats | None = None,
    least_days: int = 2,
) -> Visits:
    """Group sticks for `visit_mean` once, for many values; arguments as there."""
    order = np.lexsort((at, day, wear))
    if weights is not None:
        order = order[weights[order] > 0]
    labels, wear_start, visits, days = _per_wear(wear[order], day[order], at[order])
    minutes = None if cells is None else _minutes_of(labels, cells)
    left_out = _left_out(labels, visits, days, minutes, least_days)
    named = {label for label, _ in left_out}
    if cells is not None:
        unseen = np.unique(cells.wear[cells.minutes > 0]).tolist()
        stickless = set(unseen) - set(labels.tolist())
        left_out = tuple(sorted((*left_out, *((int(label), FEW_VISITS) for label in stickless))))
    if named:
        kept = np.array([label not in named for label in labels.tolist()], np.bool_)
        sizes = np.diff(wear_start, append=order.size)
        order = order[np.repeat(kept, sizes)]
    return _grouped(order, (wear[order], day[order], at[order]), cells, weights, (wear.size, left_out))


def _starts(change: Mask) -> Whole:
    """Where groups start, from a mask that says at which element (the first excepted) one does."""
    return np.flatnonzero(np.concatenate((np.ones(1, np.bool_), change)))


def _per_wear(wear: Whole, day: Whole, at: Whole) -> tuple[Whole, Whole, Whole, Whole]:
    """Labels of the wears of sorted sticks, where they start, their visits and pricked days."""
    if wear.size == 0:
        none = np.empty(0, np.int64)
        return none, none, none, none
    new_wear = wear[1:] != wear[:-1]
    new_day = new_wear | (day[1:] != day[:-1])
    new_visit = new_day | (at[1:] - at[:-1] >= VISIT_GAP)
    start = _starts(new_wear)
    opens = np.concatenate((np.ones((1, 2), np.int64), np.stack((new_visit, new_day), axis=1)), axis=0)
    counts = np.add.reduceat(opens, start, axis=0)
    return wear[start], start, counts[:, 0], counts[:, 1]


def _minutes_of(labels: Whole, cells: Cells) -> Floats:
    """Eligible minutes of each label."""
    place, known = _places(labels, cells)
    minutes: Floats = np.bincount(place[known], cells.minutes[known], labels.size).astype(np.float64)
    return minutes


def _places(labels: Whole, cells: Cells) -> tuple[Whole, Mask]:
    """Where each cell's wear stands in `labels` (sorted), and whether it is there and has minutes."""
    if labels.size == 0:
        return np.zeros(cells.wear.size, np.int64), np.zeros(cells.wear.size, np.bool_)
    place = np.minimum(np.searchsorted(labels, cells.wear), labels.size - 1)
    return place, (labels[place] == cells.wear) & (cells.minutes > 0)


def _left_out(
    labels: Whole, visits: Whole, days: Whole, minutes: Floats | None, least_days: int
) -> tuple[tuple[int, str], ...]:
    reasons: list[tuple[int, str]] = []
    for place, label in enumerate(labels.tolist()):
        if visits[place] < LEAST_VISITS:
            reasons.append((label, FEW_VISITS))
        elif days[place] < least_days:
            reasons.append((label, ONE_DAY))
        elif minutes is not None and minutes[place] == 0:
            reasons.append((label, NO_MINUTES))
    return tuple(reasons)


def _grouped(
    order: Whole,
    labels: tuple[Whole, Whole, Whole],
    cells: Cells | None,
    weights: Floats | None,
    said: tuple[int, tuple[tuple[int, str], ...]],
) -> Visits:
    """The groups of the counted sticks (`order`, with their sorted wears, days and times);
    `said` is the number of sticks given and the wears left out."""
    wear, day, at = labels
    n, left_out = said
    if order.size == 0:
        none, whole = np.empty(0), np.empty(0, np.int64)
        return Visits(
            n, whole, none, whole, whole, whole, whole, whole, whole, whole, whole, whole,
            none, whole, whole, whole, 1.0, True, left_out,
        )  # fmt: skip
    new_wear = wear[1:] != wear[:-1]
    new_day = new_wear | (day[1:] != day[:-1])
    visit_start = _starts(new_day | (at[1:] - at[:-1] >= VISIT_GAP))
    day_start, wear_start = _starts(new_day), _starts(new_wear)
    wear_visit = np.searchsorted(visit_start, wear_start)
    day_visit = np.searchsorted(visit_start, day_start)
    wear_day = np.searchsorted(day_start, wear_start)
    visits = np.diff(wear_visit, append=visit_start.size)
    days = np.diff(wear_day, append=day_start.size)
    pairs = np.diff(wear_start, append=order.size)
    named = wear[wear_start]
    by_day = np.diff(day_visit, append=visit_start.size)
    joins = _joined(by_day, wear_day)
    joined_start = day_start[joins]
    plain = weights is not None or bool(days.sum() == wear_start.size)
    phi = 1.0
    if cells is not None and not plain:
        place = np.repeat(np.arange(named.size), days)
        phi = _phi(named, visits, (place, day[day_start], by_day), cells)
    wear_of = np.repeat(np.arange(named.size), pairs)
    fixed = None if weights is None else weights[order]
    by_wear = pairs.astype(np.float64) if cells is None else _minutes_of(named, cells)
    weight, share = _weights(wear_start, wear_of, by_wear, fixed)
    return Visits(
        n, order, share, wear_of, visit_start, wear_start, wear_visit,
        joined_start, day_visit[joins], np.searchsorted(joined_start, wear_start),
        np.repeat(np.arange(joined_start.size), np.diff(joined_start, append=order.size)),
        named, weight, pairs, visits, days, phi, plain, left_out,
    )  # fmt: skip


def _weights(start: Whole, wear_of: Whole, by_wear: Floats, fixed: Floats | None) -> tuple[Floats, Floats]:
    """The weight of each wear, adding up to 1, and of each stick within its wear, adding up to 1 there."""
    if fixed is not None:
        total = np.add.reduceat(fixed, start)
        return total / total.sum(), fixed / total[wear_of]
    return by_wear / by_wear.sum(), 1.0 / np.bincount(wear_of)[wear_of]


def _joined(visits: Whole, wear_day: Whole) -> Whole:
    """Which pricked days open a joined day: a day with one visit joins the next until two are held, a
    last day left alone joins the one before. `visits` per pricked day, `wear_day` where wears start in them."""
    single = visits == 1
    first = np.zeros(visits.size, np.bool_)
    first[wear_day] = True
    # place of a single-visit day in its run of such days within the wear: 0, 1, 2, ...
    index = np.arange(visits.size)
    run = np.flatnonzero(single & (first | np.concatenate((np.ones(1, np.bool_), ~single[:-1]))))
    place = index - run[np.maximum(np.searchsorted(run, index, side="right") - 1, 0)] if run.size else index
    waiting = single & (place % 2 == 0)
    opens = first | ~np.concatenate((np.zeros(1, np.bool_), waiting[:-1]))
    last = np.concatenate((wear_day[1:], [visits.size])) - 1
    alone = last[waiting[last] & ~first[last]]
    opens[alone] = False
    return np.flatnonzero(opens)


def _phi(labels: Whole, visits: Whole, pricked: tuple[Whole, Whole, Whole], cells: Cells) -> float:
    """How unequally the days were pricked: near 0 alike, 1 at random, above 1 lumpy.

    `pricked` holds, for every pricked day, the place of its wear, the day, and its visits.
    """
    place, known = _places(labels, cells)
    place, day, minutes = place[known], cells.day[known], cells.minutes[known]
    of, on, held = pricked
    first = min(int(day.min()), int(on.min()))
    span = max(int(day.max()), int(on.max())) - first + 1
    size = labels.size * span
    eligible = np.bincount(place * span + (day - first), minutes, size)
    found = np.bincount(of * span + (on - first), held, size)
    (cell,) = np.nonzero(eligible)
    wear = cell // span
    total = np.bincount(place, minutes, labels.size)
    expected = visits[wear] * eligible[cell] / total[wear]
    spare = cell.size - labels.size
    if spare <= 0:
        return 1.0
    return float(((found[cell] - expected) ** 2 / np.maximum(expected, 0.2)).sum() / spare)
