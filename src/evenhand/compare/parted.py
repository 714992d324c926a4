"""Where the sensors parted, and which of them was nearer to blood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.accuracy import SWITCH
from evenhand.compare.against import Held
from evenhand.compare.shapes import Floats, Mask
from evenhand.reconstruct.path import BloodPath

STEP = 5 * MINUTE
NEAR = 7.5 * MINUTE
"""A sensor has a value at an instant where a reading of it is at most this far away."""
LEAST = 20 * MINUTE
"""A parting lasts so long at least."""
SURE = 0.9
"""From this probability on a sensor is named as the one that was right."""


@dataclass(frozen=True, slots=True)
class Parting:
    """A stretch between two instants in which the sensors differed by more than the tolerance; `right` is the place
    of the sensor that was nearer to blood over it (None where none is sure enough), `chance` the probability that the
    likeliest was."""

    start: int
    end: int
    right: int | None
    chance: float


def partings(every: tuple[Held, ...], path: BloodPath, tolerance: float) -> tuple[Parting, ...]:
    """The partings of two or more sensors (`every` in the trial's order), in time order.

    The sensors part where the largest and the smallest value lie further apart than the tolerance about their
    mean. Over such a stretch the sensor with the smallest mean distance to blood was right, draw by draw.
    """
    if sum(len(one) > 0 for one in every) < 2:
        return ()
    at = path.at
    values = np.stack([_beside(one, at) for one in every])
    both = np.isfinite(values).sum(axis=0) >= 2
    high = np.where(np.isfinite(values), values, -np.inf).max(axis=0)
    low = np.where(np.isfinite(values), values, np.inf).min(axis=0)
    high, low = np.where(both, high, 0.0), np.where(both, low, 0.0)
    middle = (high + low) / 2
    apart = both & (high - low > tolerance * np.maximum(middle, SWITCH) / 100.0)
    return tuple(_judged(at, values, path, first, last) for first, last in _runs(apart))


def _beside(own: Held, at: Floats) -> Floats:
    """The sensor's value at each instant, (M,); NaN where no reading is near."""
    if not len(own):
        return np.full(at.size, np.nan)
    after = np.clip(np.searchsorted(own.at, at), 0, len(own) - 1)
    before = np.maximum(after - 1, 0)
    place = np.where(np.abs(own.at[before] - at) <= np.abs(own.at[after] - at), before, after)
    return np.where(np.abs(own.at[place] - at) <= NEAR, own.mg_dl[place], np.nan)


def _runs(apart: Mask) -> list[tuple[int, int]]:
    edge = np.diff(np.concatenate(([False], apart, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1) - 1
    return [
        (int(first), int(last))
        for first, last in zip(starts, ends, strict=True)
        if (last - first) * STEP >= LEAST
    ]


def _judged(at: Floats, values: Floats, path: BloodPath, first: int, last: int) -> Parting:
    part = slice(first, last + 1)
    blood = path.drawn(at[part])
    distance = np.stack([_mean(np.abs(row[part] - blood)) for row in values])
    best = np.argmin(distance, axis=0)
    share = np.bincount(best, minlength=values.shape[0]) / best.size
    place = int(np.argmax(share))
    chance = float(share[place])
    return Parting(int(at[first]), int(at[last]), place if chance >= SURE else None, chance)


def _mean(size: Floats) -> Floats:
    """Mean over instants, draw by draw, of what is there; infinite where nothing is."""
    there = np.isfinite(size)
    total = np.where(there, size, 0.0).sum(axis=1)
    return np.where(there.any(axis=1), total / np.maximum(there.sum(axis=1), 1), np.inf)
