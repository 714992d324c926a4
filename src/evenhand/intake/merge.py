"""New readings against those a sensor has: the same one again, another value at the same time, or new."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.records.readings import Readings
from evenhand.units import FACTOR

NEW, DOUBLED, OTHER_VALUE = 0, 1, 2
"""Outcomes of one reading."""

SELDOM = 150.0
"""Seconds: sensors that read no more often never have two readings within a minute."""


@dataclass(frozen=True, slots=True)
class Entries:
    """Readings as they stand in a file, shape (n,): instant, value in its unit, mmol, flag, decimals written."""

    instant: NDArray[np.int64]
    value: NDArray[np.float64]
    mmol: NDArray[np.bool_]
    flag: NDArray[np.int8]

    @property
    def mg_dl(self) -> NDArray[np.float64]:
        """Values in mg/dL."""
        return np.where(self.mmol, self.value * FACTOR, self.value)


def agree(one: Entries, other: Entries) -> NDArray[np.bool_]:
    """Whether readings agree after rounding, pair by pair: within half a step of each (whole mg/dL, tenths of
    mmol/L); beyond a limit, both must be, on the same side.

    >>> import numpy as np
    >>> a = Entries(np.array([0]), np.array([110.0]), np.array([False]), np.array([0], np.int8))
    >>> b = Entries(np.array([0]), np.array([6.1]), np.array([True]), np.array([0], np.int8))
    >>> bool(agree(a, b)[0])
    True
    """
    step = np.where(one.mmol, 0.05 * FACTOR, 0.5) + np.where(other.mmol, 0.05 * FACTOR, 0.5)
    same_unit = one.mmol == other.mmol
    step = np.where(same_unit, np.where(one.mmol, 0.05 * FACTOR, 0.5), step)
    near = np.abs(one.mg_dl - other.mg_dl) <= step + 1e-6
    same: NDArray[np.bool_] = (one.flag == other.flag) & (near | (one.flag > 0))
    return same


def sort_out(new: Entries, held: Readings | None) -> tuple[NDArray[np.int8], NDArray[np.int64]]:
    """The outcome of each new reading, against what is held and against earlier rows of the same file.

    Returns outcomes, and for each reading that is not new the index of the one it meets: >= 0 among the new
    ones, -1 - i for the held one i. Of two values at one time the one held (or earlier in the file) stays.
    """
    n = new.instant.size
    outcome = np.zeros(n, np.int8)
    meets = np.zeros(n, np.int64)
    _within(new, outcome, meets)
    if held is not None and len(held):
        old = Entries(held.instant, held.value, held.mmol, held.flag)
        order = np.argsort(old.instant, kind="stable")
        old = _take(old, order)
        _at_once(new, old, order, outcome, meets)
        _beside(new, old, order, outcome, meets)
    return outcome, meets


def _take(entries: Entries, at: NDArray[np.int64]) -> Entries:
    return Entries(entries.instant[at], entries.value[at], entries.mmol[at], entries.flag[at])


def _whole_minutes(instant: NDArray[np.int64]) -> bool:
    return bool((instant % 60 == 0).all())


def _within(new: Entries, outcome: NDArray[np.int8], meets: NDArray[np.int64]) -> None:
    """Rows of one file at the same instant: the first stays."""
    order = np.argsort(new.instant, kind="stable")
    sorted_instant = new.instant[order]
    first = (
        np.concatenate(([True], sorted_instant[1:] != sorted_instant[:-1]))
        if order.size
        else np.empty(0, np.bool_)
    )
    if first.all():
        return
    lead = order[np.maximum.accumulate(np.where(first, np.arange(order.size), 0))]
    later = order[~first]
    leads = lead[~first]
    same = agree(_take(new, later), _take(new, leads))
    outcome[later] = np.where(same, DOUBLED, OTHER_VALUE)
    meets[later] = leads


def _at_once(
    new: Entries, old: Entries, order: NDArray[np.int64], outcome: NDArray[np.int8], meets: NDArray[np.int64]
) -> None:
    """New readings at an instant that is held already."""
    at = np.searchsorted(old.instant, new.instant)
    hit = at < old.instant.size
    hit[hit] = old.instant[at[hit]] == new.instant[hit]
    rows, olds = np.flatnonzero(hit), at[hit]
    outcome[rows] = np.where(agree(_take(new, rows), _take(old, olds)), DOUBLED, OTHER_VALUE)
    meets[rows] = -1 - order[olds]


def _beside(
    new: Entries, old: Entries, order: NDArray[np.int64], outcome: NDArray[np.int8], meets: NDArray[np.int64]
) -> None:
    """New readings less than a minute from one held, of a sensor that reads more seldom: the same one where the values agree
    (one export cuts seconds off, rounds them, or comes some seconds later). Where one side writes whole minutes and the other
    does not, another value in the same minute is another value for the same time."""
    rows = np.flatnonzero(outcome == NEW)
    if not rows.size or min(_step(new.instant), _step(old.instant)) < SELDOM:
        return
    right = np.clip(np.searchsorted(old.instant, new.instant[rows]), 0, old.instant.size - 1)
    left = np.maximum(right - 1, 0)
    apart = [np.abs(old.instant[side] - new.instant[rows]) for side in (left, right)]
    olds = np.where(apart[0] <= apart[1], left, right)
    near = np.abs(old.instant[olds] - new.instant[rows]) < 60
    rows, olds = rows[near], olds[near]
    same = agree(_take(new, rows), _take(old, olds))
    cut = np.zeros(rows.size, np.bool_)
    if _whole_minutes(new.instant) != _whole_minutes(old.instant):
        cut = new.instant[rows] // 60 == old.instant[olds] // 60
    outcome[rows] = np.where(same, DOUBLED, np.where(cut, OTHER_VALUE, NEW))
    meets[rows] = -1 - order[olds]


def _step(instant: NDArray[np.int64]) -> float:
    """The usual distance of readings in seconds; without two, no distance at all stands in the way."""
    return float(np.median(np.diff(np.unique(instant)))) if np.unique(instant).size > 1 else float("inf")
