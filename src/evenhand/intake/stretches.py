"""A clock that was off for a part of a file: the stretch whose readings fit the other device's only when moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.intake.agreement import CLOSE, STEP, on_grid
from evenhand.records.readings import Readings

Floats = NDArray[np.float64]
CANDIDATES = tuple(quarter * 15 * MINUTE for quarter in range(-52, 53) if abs(quarter) >= 2)
"""Shifts that are tried, seconds: quarters of an hour from half an hour to thirteen hours, as zones and hands set clocks."""
SHORTEST = 12 * HOUR
LEAST_POINTS = 100
GAIN = 0.35
"""The mean square distance within the stretch, moved, over that as written, must be below this."""
EDGE = 0.25
"""The share of a good fit's usual distance that a point must gain to belong to the stretch."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Readings from instant `start` to `end` (as written) fit when moved by -`ahead` seconds; `moved` and `written` are the
    correlations within; `first`, `last` say that it reaches the beginning or the end of what overlaps."""

    ahead: int
    start: int
    end: int
    moved: float
    written: float
    first: bool
    last: bool


def find(own: Sequence[Readings], held: Sequence[Readings], start: int, end: int) -> Stretch | None:
    """The one stretch (not the whole) in which this file's clock was off against the other; None where there is none.

    For every candidate the square distance as written, less that when moved, is summed along the file; the stretch of the largest
    sum is taken (maximum subarray). Distances are of values brought to one mean and spread, and cut at 3 spreads.
    """
    grid = np.arange(start, end, STEP)
    ours = _even(on_grid(grid, own))
    spread = 14 * HOUR // STEP
    theirs = _even(on_grid(np.arange(start - spread * STEP, end + spread * STEP, STEP), held))
    n = grid.size
    written = _square(ours, theirs[spread : spread + n])
    usual = float(np.nanmedian(written)) if np.isfinite(written).any() else float("nan")
    if not np.isfinite(usual):
        return None
    best: tuple[float, int, int, int] | None = None
    for ahead in CANDIDATES:
        at = spread - ahead // STEP
        moved = _square(ours, theirs[at : at + n])
        gain = np.nan_to_num(written - moved - EDGE * max(usual, 0.05))
        total, low, high = _largest(gain)
        if best is None or total > best[0]:
            best = (total, ahead, low, high)
    assert best is not None
    _, ahead, low, high = best
    return _told(ahead, low, high, ours, theirs, spread, grid)


def _told(
    ahead: int, low: int, high: int, ours: Floats, theirs: Floats, spread: int, grid: NDArray[np.int64]
) -> Stretch | None:
    n, at = grid.size, spread - ahead // STEP
    inside = slice(low, high)
    x, y, z = ours[inside], theirs[at : at + n][inside], theirs[spread : spread + n][inside]
    both = np.isfinite(x) & np.isfinite(y) & np.isfinite(z)
    if (high - low) * STEP < SHORTEST or int(both.sum()) < LEAST_POINTS:
        return None
    x, y, z = x[both], y[both], z[both]
    if float(np.mean((x - y) ** 2)) > GAIN * float(np.mean((x - z) ** 2)):
        return None
    moved, written = _correlation(x, y), _correlation(x, z)
    rest = np.ones(n, np.bool_)
    rest[inside] = False
    outside = _correlation_of(ours[rest], theirs[spread : spread + n][rest])
    first, last = low * STEP < DAY // 4, (n - high) * STEP < DAY // 4
    if moved < CLOSE or (first and last) or (outside is not None and outside < 0.5):
        return None
    return Stretch(ahead, int(grid[low]), int(grid[high - 1]), moved, written, first, last)


def _even(values: Floats) -> Floats:
    there = values[np.isfinite(values)]
    spread = float(there.std()) if there.size else 0.0
    return (values - there.mean()) / spread if spread > 0 else np.full(values.size, np.nan)


def _square(one: Floats, other: Floats) -> Floats:
    return np.minimum((one - other) ** 2, 9.0)


def _largest(gain: Floats) -> tuple[float, int, int]:
    """The largest sum over a stretch [low, high), and the stretch."""
    sums = np.concatenate(([0.0], np.cumsum(gain)))
    lowest = np.minimum.accumulate(sums)
    high = int(np.argmax(sums - lowest))
    low = int(np.argmin(sums[: high + 1]))
    return float(sums[high] - sums[low]), low, high


def _correlation_of(one: Floats, other: Floats) -> float | None:
    both = np.isfinite(one) & np.isfinite(other)
    return _correlation(one[both], other[both]) if int(both.sum()) >= LEAST_POINTS else None


def _correlation(one: Floats, other: Floats) -> float:
    if one.std() == 0 or other.std() == 0:
        return 0.0
    return float(np.corrcoef(one, other)[0, 1])
