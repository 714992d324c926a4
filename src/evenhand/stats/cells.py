"""Eligible minutes by day in wear, and how unequally days were pricked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


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
