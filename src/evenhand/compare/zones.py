"""The consensus error grid, type 1: five zones for a reading against its stick.

The vertices are from memory (source of record: Pfützner, Klonoff, Pardo and Parkes, J Diabetes Sci Technol
2013;7:1275-1281, whose tables were not at hand), and whoever shows the zones says so.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenhand.compare.shapes import Floats, Indices

NAMES = ("A", "B", "C", "D", "E")

Line = tuple[tuple[float, float], ...]

UPPER: tuple[Line, ...] = (
    ((0, 50), (30, 50), (140, 170), (280, 380), (430, 550)),
    ((0, 60), (30, 60), (50, 80), (70, 110), (260, 550)),
    ((0, 100), (25, 100), (50, 125), (80, 215), (125, 550)),
    ((0, 150), (35, 155), (50, 550)),
)
"""Borders above the diagonal, A/B, B/C, C/D, D/E, as (stick, reading) in mg/dL. From memory."""

LOWER: tuple[Line, ...] = (
    ((50, 30), (170, 145), (385, 300), (550, 450)),
    ((120, 30), (260, 130), (550, 250)),
    ((250, 40), (550, 150)),
)
"""Borders below the diagonal, A/B, B/C, C/D; each begins with an upright from reading 0. There is no zone E
below. From memory."""

_EDGE = 1e-9


def zone(stick: ArrayLike, reading: ArrayLike) -> Indices:
    """The zone, 0 (A) to 4 (E), of readings against their sticks, both in mg/dL and of shape (n,); -1 for a NaN.

    A point exactly on a border belongs to the zone nearer A (this project's choice: no source read says). Beyond
    550 mg/dL the last segment of each border runs on.

    >>> zone([100, 100, 100, 100, 30], [100, 170, 210, 400, 300]).tolist()
    [0, 1, 2, 3, 4]
    """
    x, y = np.asarray(stick, np.float64), np.asarray(reading, np.float64)
    found = np.zeros(x.shape, np.int64)
    for border in UPPER:
        found += y > _height(border, x) + _EDGE
    below = np.zeros(x.shape, np.int64)
    for border in LOWER:
        below += (x > border[0][0] + _EDGE) & (y < _height(border, x) - _EDGE)
    found = np.maximum(found, below)
    found[~(np.isfinite(x) & np.isfinite(y))] = -1
    return found


def count_zones(stick: ArrayLike, reading: ArrayLike) -> dict[str, int]:
    """How many pairs lie in each zone, all five named; pairs with a NaN are not counted.

    >>> count_zones([100, 100], [110, 240])
    {'A': 1, 'B': 0, 'C': 1, 'D': 0, 'E': 0}
    """
    found = zone(stick, reading)
    counts = np.bincount(found[found >= 0], minlength=len(NAMES))
    return {name: int(count) for name, count in zip(NAMES, counts, strict=True)}


def _height(border: Line, x: Floats) -> Floats:
    """The border's reading at each stick; its last segment is continued."""
    xs, ys = (np.array(part, np.float64) for part in zip(*border, strict=True))
    slope = (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
    past = np.maximum(x - xs[-1], 0.0)
    return np.asarray(np.interp(x, xs, ys) + slope * past, np.float64)
