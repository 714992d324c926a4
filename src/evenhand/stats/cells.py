"""Eligible minutes by day in wear, and how unequally days were pricked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Cells:
    """Eligible minutes by day in wear; three arrays of one shape. Rows of the same wear and day add up, rows
    with no minutes are no cells.

    Where the moments themselves are known, `at` holds them (seconds, sorted within each row) and `first` where those
    of each row begin; there are then as many as `minutes` says.
    """

    wear: Whole
    day: Whole
    minutes: Floats
    at: Floats | None = None
    first: Whole | None = None

    def pick(self, chosen: Mask) -> Cells:
        """Some of the rows."""
        first = None if self.first is None else self.first[chosen]
        return Cells(self.wear[chosen], self.day[chosen], self.minutes[chosen], self.at, first)

    def moments(self, wear: Whole, day: Whole) -> Iterator[Floats | None]:
        """The moments of each of these days in wears (shape (n,) both), in turn; None where none are known."""
        if self.at is None or self.first is None:
            yield from (None for _ in range(wear.size))
            return
        known = zip(self.wear.tolist(), self.day.tolist(), strict=True)
        row = {cell: place for place, cell in enumerate(known)}
        for cell in zip(wear.tolist(), day.tolist(), strict=True):
            place = row.get(cell)
            if place is None:
                yield None
            else:
                start = int(self.first[place])
                yield self.at[start : start + int(self.minutes[place])]

    @classmethod
    def count(cls, wear: Whole, day: Whole, at: Whole | None = None) -> Cells:
        """Cells from the labels of single minutes, and their times in seconds where known, shape (M,) each.

        >>> Cells.count(np.array([0, 0, 1]), np.array([7, 7, 7])).minutes
        array([2., 1.])
        """
        if wear.size == 0:
            return cls(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0))
        first_wear, first_day = int(wear.min()), int(day.min())
        span = int(day.max()) - first_day + 1
        counts = np.bincount((wear - first_wear) * span + (day - first_day))
        (held,) = np.nonzero(counts)
        found = cls(first_wear + held // span, first_day + held % span, counts[held].astype(np.float64))
        if at is None:
            return found
        order = np.lexsort((at, day, wear))
        first = np.cumsum(counts[held]) - counts[held]
        return replace(found, at=at[order].astype(np.float64), first=first)


def sizes(starts: Whole, total: int) -> Whole:
    """How long groups are that start there, the last one ending at `total`; at least one group. Several times as fast
    as `numpy.diff` with something appended, which matters for the many small arrays here.

    >>> sizes(np.array([0, 2, 5]), 6).tolist()
    [2, 3, 1]
    """
    found = np.empty_like(starts)
    np.subtract(starts[1:], starts[:-1], out=found[:-1])
    found[-1] = total - starts[-1]
    return found


def minutes_of(labels: Whole, cells: Cells) -> Floats:
    """Eligible minutes of each label."""
    place, known = places(labels, cells)
    minutes: Floats = np.bincount(place[known], cells.minutes[known], labels.size).astype(np.float64)
    return minutes


def places(labels: Whole, cells: Cells) -> tuple[Whole, Mask]:
    """Where each cell's wear stands in `labels` (sorted), and whether it is there and has minutes."""
    if labels.size == 0:
        return np.zeros(cells.wear.size, np.int64), np.zeros(cells.wear.size, np.bool_)
    place = np.minimum(np.searchsorted(labels, cells.wear), labels.size - 1)
    return place, (labels[place] == cells.wear) & (cells.minutes > 0)


def dispersion(labels: Whole, visits: Whole, pricked: tuple[Whole, Whole, Whole], cells: Cells) -> float:
    """How unequally the days were pricked: near 0 alike, 1 at random, above 1 lumpy.

    `pricked` holds, for every pricked day, the place of its wear, the day, and its visits.
    """
    place, known = places(labels, cells)
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
