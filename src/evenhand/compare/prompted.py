"""The difference with the prompted sticks in, weighed so that they count by the time they stand for.

A prompted stick was taken because something looked odd, mostly because the sensors disagreed. Within a cell of like
disagreement it is as good as any other; so every cell counts by its share of eligible time, not of sticks.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from evenhand.compare.common import Terms, asked, common
from evenhand.compare.shapes import Floats, Indices, Layout
from evenhand.stats.estimate import Est
from evenhand.stats.grouped import NO_PAIRS
from evenhand.stats.intervals import mean_est
from evenhand.stats.visits import NO_MINUTES

METHOD = "visits-t-weighted"
NO_PROMPTED = "no-prompted"

EDGES, COARSE_EDGES = (10.0, 25.0, 40.0), (25.0,)
"""mg/dL of disagreement that part the cells; coarse with fewer than 60 pairs."""
LOW_BELOW = 75.0
"""mg/dL: cells whose lower reading is below stand by themselves."""
FEW_PAIRS = 60
LEAST_STICKS = 2


def with_prompted(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Est:
    """The difference of MADs, a minus b, from judging and prompted sticks, weighted to eligible time in cells of
    disagreement and lower reading. No pair: missing, why 'no-pairs'; no
    prompted stick among them: 'no-prompted'; no eligible time: 'no-eligible-minutes'."""
    split = asked(layout, sensors, terms, layout.pairs.judging | layout.pairs.prompted)
    chosen = split.pairs
    count = int(chosen.sum())
    if count == 0:
        return Est.missing(NO_PAIRS, method=METHOD)
    if not (chosen & layout.pairs.prompted).any():
        return Est.missing(NO_PROMPTED, n=count, method=METHOD)
    edges = COARSE_EDGES if count < FEW_PAIRS else EDGES
    sticks = cell_of(layout.pairs.reading[chosen][:, sensors], edges)
    minutes = cell_of(layout.minutes.reading[split.minutes][:, sensors], edges)
    weights = np.zeros(chosen.size)
    weights[chosen] = cell_weights(sticks, minutes, 2 * (len(edges) + 1))
    held = weights > 0
    if not held.any():
        return Est.missing(NO_MINUTES, n=count, method=METHOD)
    weighed = common(layout, replace(split, pairs=held, minutes=None), weights)
    return replace(mean_est(weighed.visits.mean(weighed.farther)), method=METHOD)


def cell_of(readings: Floats, edges: tuple[float, ...]) -> Indices:
    """The cell of each pair of readings, shape (n, 2), mg/dL: by disagreement, those with the lower below 75 last.

    >>> cell_of(np.array([[100.0, 105.0], [100.0, 130.0], [70.0, 72.0]]), EDGES).tolist()
    [0, 2, 4]
    """
    first, second = readings[:, 0], readings[:, 1]
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
