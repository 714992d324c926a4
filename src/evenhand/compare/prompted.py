"""The difference with the prompted sticks in, weighed so that they count by the time they stand for.

A prompted stick was taken because something looked odd, mostly because the sensors disagreed. Within a cell of like
disagreement it is as good as any other; so every cell counts by its share of eligible time, not of sticks.
"""

from __future__ import annotations

import numpy as np

from evenhand.compare.common import Terms, asked
from evenhand.compare.layout import Floats, Indices, Layout
from evenhand.stats.estimate import Est
from evenhand.stats.intervals import mean_est
from evenhand.stats.visits import group_visits

EDGES, COARSE_EDGES = (10.0, 25.0, 40.0), (25.0,)
"""mg/dL of disagreement that part the cells; coarse with fewer than 60 pairs."""
LOW_BELOW = 75.0
"""mg/dL: cells whose lower reading is below stand by themselves."""
FEW_PAIRS = 60
LEAST_STICKS = 2


def with_prompted(layout: Layout, a: int, b: int, terms: Terms) -> Est:
    """The difference of MADs, a minus b, from judging and prompted sticks, weighted to eligible time in cells of
    disagreement and lower reading. No pair: missing, why 'no-pairs'; no eligible time: 'no-eligible-minutes'."""
    chosen, eligible = asked(layout, a, b, terms)
    pairs, minutes = layout.pairs, layout.minutes
    chosen = chosen & (pairs.judging | pairs.prompted)
    edges = COARSE_EDGES if int(chosen.sum()) < FEW_PAIRS else EDGES
    stick_cell = cell_of(pairs.reading[chosen, a], pairs.reading[chosen, b], edges)
    minute_cell = cell_of(minutes.reading[eligible, a], minutes.reading[eligible, b], edges)
    if stick_cell.size == 0:
        return Est.missing("no-pairs", method="visits-t-weighted")
    weights = cell_weights(stick_cell, minute_cell, 2 * (len(edges) + 1))
    held = weights > 0
    if not held.any():
        return Est.missing("no-eligible-minutes", n=stick_cell.size, method="visits-t-weighted")
    return _weighted(layout, (a, b), np.flatnonzero(chosen)[held], weights[held])


def _weighted(layout: Layout, sensors: tuple[int, int], event: Indices, weights: Floats) -> Est:
    pairs, (a, b) = layout.pairs, sensors
    stick = pairs.stick[event]
    farther = np.abs(pairs.reading[event, a] - stick) - np.abs(pairs.reading[event, b] - stick)
    stretch = pairs.wear[event, a] * len(layout.worn) + pairs.wear[event, b]
    grouped = group_visits(stretch, pairs.day[event], pairs.at[event], None, weights=weights)
    est = mean_est(grouped.mean(farther))
    return Est(est.value, est.low, est.high, est.level, est.n, "visits-t-weighted", why=est.why)


def cell_of(first: Floats, second: Floats, edges: tuple[float, ...]) -> Indices:
    """The cell of each pair of readings, mg/dL: by disagreement, those with the lower reading below 75 last.

    >>> cell_of(np.array([100.0, 100.0, 70.0]), np.array([105.0, 130.0, 72.0]), EDGES).tolist()
    [0, 2, 4]
    """
    apart = np.searchsorted(np.array(edges), np.abs(first - second), side="right")
    return np.asarray(apart + (len(edges) + 1) * (np.minimum(first, second) < LOW_BELOW), np.int64)


def cell_weights(sticks: Indices, minutes: Indices, cells: int) -> Floats:
    """What each stick weighs: the eligible minutes of its cell over the cell's sticks, shape of `sticks`.

    A cell with eligible minutes and fewer than two sticks joins its neighbour in disagreement, the one of less
    disagreement where there is one; where a whole half (by lower reading) has fewer than two, it joins the other half,
    cell by cell.

    >>> cell_weights(np.array([0, 0, 1]), np.array([0] * 60 + [1] * 30), 4).tolist()      # one stick in cell 1: joined
    [30.0, 30.0, 30.0]
    """
    held = np.bincount(sticks, minlength=cells)
    time = np.bincount(minutes, minlength=cells).astype(np.float64)
    joined = _joined(held, time)
    total_sticks = np.bincount(joined, held, cells)
    total_time = np.bincount(joined, time, cells)
    group = joined[sticks]
    return np.asarray(total_time[group] / total_sticks[group], np.float64)


def _joined(held: Indices, time: Floats) -> Indices:
    """For each cell the one it is counted in."""
    half = held.size // 2
    group = np.arange(held.size)
    sides = [slice(0, half), slice(half, held.size)]
    if any(time[side].sum() > 0 and held[side].sum() < LEAST_STICKS for side in sides):
        group = group % half
        sides = [slice(0, half)]
    for side in sides:
        _join_side(group, _sum(group, held), _sum(group, time), side)
    return group


def _sum(group: Indices, values: Indices | Floats) -> Floats:
    return np.bincount(group, values, group.size).astype(np.float64)


def _join_side(group: Indices, held: Floats, time: Floats, side: slice) -> None:
    """Join poor cells of one side to their neighbours, in place."""
    places = list(range(side.start, side.stop))
    while len(places) > 1:
        poor = next((cell for cell in places if time[cell] > 0 and held[cell] < LEAST_STICKS), None)
        if poor is None:
            return
        at = places.index(poor)
        into = places[at - 1] if at > 0 else places[1]
        group[group == poor] = into
        held[into] += held[poor]
        time[into] += time[poor]
        places.remove(poor)
