"""Which minutes of an invented trial could have been judged: this room's own reading of the rule.

A minute is eligible where each sensor has a reading at most 5 min away (7.5 min where any keeps one only every
15 min), within the hours asked for, and (for steady ones) the mean of the sensors' slopes is known and below
1 mg/dL per minute. A slope is the least-squares slope of the readings in the 15 min before, from at least three
(2 in 30 min for a 15-minute sensor). Readings are whole numbers, so slopes of exactly 1 are common: they are
moving, whatever the last bit says. The few minutes next to a wear's ends are not looked at. Written apart from what judges, so that the two can be held together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.rehearse.grid import Floats, Ints


@dataclass(frozen=True, slots=True)
class Beside:
    """At every minute, shape (M,): the nearest reading within the limit in mg/dL (NaN: none), the slope of the
    readings before in mg/dL per minute (NaN: unknown)."""

    reading: Floats
    slope: Floats


def beside(at: Ints, instant: Ints, mg_dl: Floats, interval: int, limit: float) -> Beside:
    """Lay one sensor's readings beside the minutes `at`; `interval` in minutes, `limit` in seconds."""
    if instant.size == 0:
        nothing = np.full(at.size, np.nan)
        return Beside(nothing, nothing)
    after = np.searchsorted(instant, at)
    right = np.minimum(after, instant.size - 1)
    left = np.maximum(after - 1, 0)
    nearer_left = np.abs(at - instant[left]) <= np.abs(instant[right] - at)
    chosen = np.where(nearer_left, left, right)
    reading = np.where(np.abs(instant[chosen] - at) <= limit, mg_dl[chosen], np.nan)
    window, least = (1800, 2) if interval >= 15 else (900, 3)
    first = np.searchsorted(instant, at - window)
    last = np.searchsorted(instant, at, side="right")
    return Beside(reading, _slopes(instant, mg_dl, first, last, least))


def _slopes(instant: Ints, mg_dl: Floats, first: Ints, last: Ints, least: int) -> Floats:
    """Least-squares slopes of the readings first .. last-1 of each minute, from their own means (running sums
    over weeks would lose the digits that tell a slope of exactly 1)."""
    many = last - first
    safe = np.maximum(many, 1)
    steps = [(np.minimum(first + k, instant.size - 1), many > k) for k in range(int(many.max(initial=0)))]
    begin = instant[np.minimum(first, instant.size - 1)]
    minutes = [np.where(inside, (instant[place] - begin) / 60.0, 0.0) for place, inside in steps]
    middle = sum(minutes, np.zeros(first.size)) / safe
    top, bottom = np.zeros(first.size), np.zeros(first.size)
    for (place, inside), minute in zip(steps, minutes, strict=True):
        away = np.where(inside, minute - middle, 0.0)
        top += away * mg_dl[place]
        bottom += away * away
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = top / bottom
    return np.where((many >= least) & (bottom > 1e-6), slope, np.nan)


def eligible(sides: tuple[Beside, ...], hours: NDArray[np.bool_], *, steady: bool) -> NDArray[np.bool_]:
    """Which minutes are eligible for all these sensors together, shape (M,)."""
    have: NDArray[np.bool_] = np.isfinite(np.stack([side.reading for side in sides])).all(axis=0) & hours
    if not steady:
        return have
    slopes = np.stack([side.slope for side in sides])
    known = np.isfinite(slopes)
    mean = np.where(known, slopes, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    still: NDArray[np.bool_] = have & known.any(axis=0) & (np.abs(mean) < 1.0 - 1e-9)
    return still
