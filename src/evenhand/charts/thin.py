"""Fewer points for drawing only: in each px column the first, lowest, highest and last of a line stay."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def thin(x: Floats, y: Floats, column: float, gap: float) -> tuple[Floats, Floats]:
    """A line thinned to what a column of width `column` (in x) can show, broken with NaN at gaps above `gap`.

    `x` ascending and `y`, shape (n,); the result has the same extremes in every column and no new points.

    >>> thin(np.array([0.0, 1.0, 2.0, 9.0]), np.array([5.0, 6.0, 7.0, 8.0]), 1.0, 3.0)
    (array([0., 1., 2., 2., 9.]), array([ 5.,  6.,  7., nan,  8.]))
    """
    if x.size == 0:
        return x, y
    piece = np.concatenate(([0], np.cumsum(np.diff(x) > gap)))
    cell = np.floor((x - x[0]) / column).astype(np.int64)
    starts = np.flatnonzero(np.concatenate(([True], (np.diff(cell) != 0) | (np.diff(piece) != 0))))
    cells = np.repeat(np.arange(starts.size), np.diff(np.append(starts, x.size)))
    order = np.lexsort((y, cells))
    ends = np.append(starts[1:], x.size) - 1
    kept = np.unique(np.concatenate((starts, ends, order[starts], order[ends])))
    breaks = np.flatnonzero(np.diff(piece[kept]) != 0) + 1
    at = x[kept]
    return np.insert(at, breaks, at[breaks - 1]), np.insert(y[kept], breaks, np.nan)
