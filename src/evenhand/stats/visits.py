"""The mean over a worn stretch of time, from sticks that cluster in visits and days, and its variance.

Every worn day is in the trial: days differ by sampling only as far as they are pricked unequally. How
unequally is measured (`phi`). The derivation stands in docs/method.md, section 'What is estimated'.

Labels: a *wear* is a stretch whose mean is estimated by itself; a *visit* is a stick together with those that
follow it on the same day within 45 min, each counted from the one before.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from evenhand.stats.cells import Cells, Floats, Mask, Whole, dispersion, minutes_of, sizes
from evenhand.stats.grouped import (
    FEW_VISITS,
    VisitMean,
    Visits,
)
from evenhand.stats.within import within

VISIT_GAP = 45 * 60
"""Seconds: a stick this long after the one before it, or longer, opens a new visit."""
LEAST_VISITS = 3
"""A wear with fewer is left out."""

ONE_DAY, NO_MINUTES = "one-pricked-day", "no-eligible-minutes"
"""Why a wear is left out, beside `FEW_VISITS`."""


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
    (`cells` is then None): phi is 1, the variance that of the visits about the weighted mean of their wear,
    df = S - k. `least_days` is the number of pricked days below which a wear is left out (1 for phases and days).

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
    minutes = None if cells is None else minutes_of(labels, cells)
    left_out = _left_out(labels, visits, days, minutes, least_days)
    named = {label for label, _ in left_out}
    if cells is not None:
        unseen = np.unique(cells.wear[cells.minutes > 0]).tolist()
        stickless = set(unseen) - set(labels.tolist())
        left_out = tuple(sorted((*left_out, *((int(label), FEW_VISITS) for label in stickless))))
    if named:
        kept = np.array([label not in named for label in labels.tolist()], np.bool_)
        held = sizes(wear_start, order.size)
        order = order[np.repeat(kept, held)]
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
        return _nothing(n, left_out)
    new_wear = wear[1:] != wear[:-1]
    new_day = new_wear | (day[1:] != day[:-1])
    visit_start = _starts(new_day | (at[1:] - at[:-1] >= VISIT_GAP))
    day_start, wear_start = _starts(new_day), _starts(new_wear)
    wear_visit = np.searchsorted(visit_start, wear_start)
    day_visit = np.searchsorted(visit_start, day_start)
    wear_day = np.searchsorted(day_start, wear_start)
    visits = sizes(wear_visit, visit_start.size)
    days = sizes(wear_day, day_start.size)
    pairs = sizes(wear_start, order.size)
    named, by_day = wear[wear_start], sizes(day_visit, visit_start.size)
    joins = _joined(by_day, wear_day)
    joined_start = day_start[joins]
    plain = weights is not None or bool(days.sum() == wear_start.size)
    phi = 1.0
    if cells is not None and not plain:
        place = np.repeat(np.arange(named.size), days)
        phi = dispersion(named, visits, (place, day[day_start], by_day), cells)
    wear_of = np.repeat(np.arange(named.size), pairs)
    by_wear = pairs.astype(np.float64) if cells is None else minutes_of(named, cells)
    fixed = None if weights is None else weights[order]
    weight, share = _weights(wear_start, wear_of, by_wear, fixed)
    pricked = None
    if cells is not None and not plain:
        in_wear = np.repeat(named, days)
        pricked = _pricked(day_start, order.size, cells.moments(in_wear, day[day_start]))
    visit_of = np.repeat(np.arange(visit_start.size), sizes(visit_start, order.size))
    return Visits(
        n, order, share, wear_of, visit_start, wear_start, wear_visit,
        joined_start, day_visit[joins], np.searchsorted(joined_start, wear_start),
        np.repeat(np.arange(joined_start.size), sizes(joined_start, order.size)),
        named, weight, pairs, visits, days, phi, plain, left_out,
        None if pricked is None else within(pricked, weight[wear_of] * share, at, visit_of),
    )  # fmt: skip


def _pricked(
    starts: Whole, total: int, moments: Iterator[Floats | None]
) -> Iterator[tuple[Whole, Floats | None]]:
    """The sticks (places) of each pricked day and its eligible moments."""
    ends = [*starts.tolist()[1:], total]
    for start, end, of_day in zip(starts.tolist(), ends, moments, strict=True):
        yield np.arange(start, end), of_day


def _nothing(n: int, left_out: tuple[tuple[int, str], ...]) -> Visits:
    """No stick counts."""
    none, whole = np.empty(0), np.empty(0, np.int64)
    return Visits(
        n, whole, none, whole, whole, whole, whole, whole, whole, whole, whole, whole,
        none, whole, whole, whole, 1.0, True, left_out, None,
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
