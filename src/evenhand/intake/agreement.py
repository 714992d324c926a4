"""How two series of readings go together as the clock of one is moved: profiles, coarse over days, fine around the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.intake.ask import Profile
from evenhand.records.readings import Readings
from evenhand.stats.shift import best_shift

STEP = 5 * MINUTE
COARSE = 30 * MINUTE
MOST = 13 * HOUR // STEP
FURTHEST = 8 * DAY + 12 * HOUR
"""How far a clock is looked for: a week and the half day that goes with it."""
LEAST = DAY // STEP
"""At least a day of readings side by side."""
SAID_FROM = 20 * MINUTE
"""Nearer clocks are not spoken of: lag and spacing can look like it."""
CLOSE, GAIN = 0.7, 0.5
"""The correlation there must be at the shift, and the share of what lacks to 1 that must be left of what lacks as written."""
MOST_PARTS = 6

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Found:
    """A shift in seconds (positive: this clock is ahead), the correlation there and as written, the days side by side,
    what parts of the file say each alone (lowest, highest, how many; seconds), and the profile around the shift."""

    ahead: int
    there: float
    written: float
    days: float
    parts: tuple[int, int, int] | None
    shifts: tuple[int, ...]
    heights: tuple[float, ...]

    @property
    def evidence(self) -> str:
        """The numbers, in a sentence."""
        told = f"over {self.days:.1f} days the two go together with correlation {self.there:.2f} so shifted, {self.written:.2f} as written"
        if self.parts is None:
            return told
        low, high, many = self.parts
        return f"{told}; each of {many} parts alone says {round(low / MINUTE)} to {round(high / MINUTE)} min"

    def profile(self, against: str, best: int) -> Profile:
        """The profile for tables and pictures; `best` is the shift that is proposed."""
        return Profile(against, "correlation", self.shifts, self.heights, best)


def on_grid(grid: NDArray[np.int64], parts: Sequence[Readings], reach: int = 450) -> Floats:
    """The readings nearest to each point of a grid, mg/dL; NaN where none is within `reach` seconds (half a step of 15 min)."""
    return nearest(grid, in_time_order(parts), reach)


Ordered: TypeAlias = tuple[NDArray[np.int64], Floats]
"""Instants, ascending, and values in mg/dL."""


def in_time_order(parts: Sequence[Readings]) -> Ordered:
    """All readings of some batches together."""
    instant = np.concatenate([part.instant for part in parts])
    value = np.concatenate([part.mg_dl for part in parts])
    order = np.argsort(instant, kind="stable")
    return instant[order], value[order]


def nearest(grid: NDArray[np.int64], held: Ordered, reach: int = 450) -> Floats:
    """The values nearest to each point of a grid; NaN where none is within `reach` seconds."""
    instant, value = held
    if not instant.size:
        return np.full(grid.size, np.nan)
    right = np.minimum(np.searchsorted(instant, grid), instant.size - 1)
    left = np.maximum(right - 1, 0)
    near = np.where(grid - instant[left] <= instant[right] - grid, left, right)
    return np.where(np.abs(instant[near] - grid) <= reach, value[near], np.nan)


def shift(own: Sequence[Readings], held: Sequence[Readings], start: int, end: int) -> Found | None:
    """The best shift between two clocks in a span; None where it cannot be told well."""
    if end - start < DAY:
        return None
    grid = np.arange(start, end, STEP)
    first, second = on_grid(grid, held), on_grid(grid, own)
    near = best_shift(first, second, MOST, least=LEAST // 2)
    if near.best is None and near.why == "too-few":
        return None
    written = float(near.profile[MOST])
    best, there = (near.best, float(np.nanmax(near.profile))) if near.best is not None else (0.0, -1.0)
    around = (near.shifts * STEP, near.profile)
    far = _far(first, second)
    if far is not None and far[1] > there + 0.05 and far[1] >= CLOSE:
        fine = _fine(first, second, far[0])
        if fine is None:
            return None
        best, there, around = fine
    if not np.isfinite(written) or there < CLOSE:
        return None
    if abs(best * STEP) >= SAID_FROM and 1 - there > GAIN * (1 - written):
        return None
    shifts, heights = around
    return Found(
        round(best * STEP), there, written, (end - start) / DAY, _parts(first, second, best),
        tuple(shifts.tolist()), tuple(heights.tolist()),
    )  # fmt: skip


def _means(values: Floats, width: int) -> Floats:
    """Means of `width` points after each other, NaN where fewer than half are there."""
    cut = values[: values.size // width * width].reshape(-1, width)
    there = np.isfinite(cut)
    enough = there.sum(axis=1) * 2 >= width
    sums = np.where(there, cut, 0.0).sum(axis=1)
    return np.where(enough, sums / np.maximum(there.sum(axis=1), 1), np.nan)


def _far(first: Floats, second: Floats) -> tuple[int, float] | None:
    """The best whole number of steps over days, with its correlation, on half hours; only where enough overlaps."""
    width = COARSE // STEP
    a, b = _means(first, width), _means(second, width)
    most = min(FURTHEST // COARSE, a.size - 1)
    if most <= MOST // width:
        return None
    found = best_shift(a, b, most, least=DAY // COARSE)
    enough = found.points >= 0.6 * found.points.max()
    profile = np.where(enough, found.profile, np.nan)
    if not np.isfinite(profile).any():
        return None
    top = int(np.nanargmax(profile))
    return int(found.shifts[top]) * width, float(profile[top])


def _fine(
    first: Floats, second: Floats, about: int
) -> tuple[float, float, tuple[NDArray[np.int64], Floats]] | None:
    """The best shift near `about` (steps), its correlation, and the profile there; None where it cannot be told."""
    n = first.size
    a, b = (first[: n - about], second[about:]) if about >= 0 else (first[-about:], second[: n + about])
    found = best_shift(a, b, 2 * HOUR // STEP, least=LEAST // 2)
    if found.best is None:
        return None
    return found.best + about, float(np.nanmax(found.profile)), ((found.shifts + about) * STEP, found.profile)


def _parts(first: Floats, second: Floats, best: float) -> tuple[int, int, int] | None:
    """What parts of at least a day say each alone, within an hour of the best; None with fewer than two that can say."""
    about = round(best)
    n = first.size
    a, b = (first[: n - about], second[about:]) if about >= 0 else (first[-about:], second[: n + about])
    many = min(MOST_PARTS, a.size // LEAST)
    said = []
    for part in np.array_split(np.arange(a.size), many) if many >= 2 else ():
        found = best_shift(a[part], b[part], HOUR // STEP, least=LEAST // 2)
        if found.best is not None:
            said.append(round((found.best + about) * STEP))
    return (min(said), max(said), len(said)) if len(said) >= 2 else None
