"""From a split to grouped sticks: the bridge between the trial's records and `stats.visits`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.compare.shapes import Floats, Indices, Layout
from evenhand.compare.splits import Split, labels
from evenhand.stats.cells import Cells
from evenhand.stats.grouped import VisitMean, Visits
from evenhand.stats.visits import group_visits


@dataclass(frozen=True, slots=True)
class Measured:
    """The events of a split (`rows` into `Pairs`, shape (n,)), grouped, and its eligible minutes by day in wear."""

    rows: Indices
    visits: Visits
    cells: Cells | None

    def mean(self, y: Floats) -> VisitMean:
        """The mean of `y`, shape (E,), over the split."""
        return self.visits.mean(y[self.rows])

    def means(self, y: Floats) -> tuple[VisitMean, ...]:
        """The means of the columns of `y`, shape (E, m)."""
        return self.visits.means(y[self.rows])


def measured(layout: Layout, split: Split, weights: Floats | None = None) -> Measured:
    """Group the sticks of a split by stretch, day and visit; `weights`, shape (E,), fixes each stick's weight."""
    return grouped(layout, split, cells_of(layout, split), weights)


def grouped(layout: Layout, split: Split, cells: Cells | None, weights: Floats | None = None) -> Measured:
    """As `measured`, with cells that are known already."""
    pairs = layout.pairs
    rows = np.flatnonzero(split.pairs)
    label = labels(layout, pairs.wear[rows], split.sensors)
    fixed = None if weights is None else weights[rows]
    visits = group_visits(
        label, pairs.day[rows], pairs.at[rows], cells, weights=fixed, least_days=split.least_days
    )
    return Measured(rows, visits, cells)


def cells_of(layout: Layout, split: Split) -> Cells | None:
    """Eligible minutes by day in stretch; None where they cannot be counted."""
    if split.minutes is None:
        return None
    rows = np.flatnonzero(split.minutes)
    minutes = layout.minutes
    return Cells.count(labels(layout, minutes.wear[rows], split.sensors), minutes.day[rows], minutes.at[rows])
