"""New readings against those a sensor has: the same one again, another value at the same time, or new."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.records.readings import Readings
from evenhand.units import FACTOR

NEW, DOUBLED, OTHER_VALUE = 0, 1, 2
"""Outcomes of one reading."""


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
        _against(new, old, order, outcome, meets, 1)
        if _whole_minutes(new.instant) != _whole_minutes(old.instant):
            _against(new, old, order, outcome, meets, 60)
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


def _against(
    new: Entries,
    old: Entries,
    order: NDArray[np.int64],
    outcome: NDArray[np.int8],
    meets: NDArray[np.int64],
    grain: int,
) -> None:
    """New readings at an instant (or minute) that is held already."""
    keys = old.instant // grain
    open_rows = np.flatnonzero(outcome == NEW) if grain > 1 else np.arange(new.instant.size)
    at = np.searchsorted(keys, new.instant[open_rows] // grain)
    hit = at < keys.size
    hit[hit] = keys[at[hit]] == (new.instant[open_rows] // grain)[hit]
    rows, olds = open_rows[hit], at[hit]
    same = agree(_take(new, rows), _take(old, olds))
    if grain > 1:
        rows, olds, same = rows[same], olds[same], same[same]
    outcome[rows] = np.where(same, DOUBLED, OTHER_VALUE)
    meets[rows] = -1 - order[olds]
