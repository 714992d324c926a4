"""Pressure lows: stretches of the night in which one sensor alone falls away; masked in the fit, never in judging."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from evenhand.clock import HOUR, MINUTE
from evenhand.reconstruct.data import Mask, Series, Whole
from evenhand.reconstruct.scale import Floats

NEAR = 7.5 * MINUTE
"""How far the other sensor's reading may be in time."""
AROUND = 4 * HOUR
"""The running median of the difference reaches this far to both sides."""
DEEP, BACK_TO, ON_TO, FALL = -0.15, -0.05, -0.075, 0.15
"""Even scale: the difference less its median falls below `DEEP`; the stretch reaches back to where it is above
`BACK_TO` and on to where it is above `ON_TO`; the sensor's own fall to its minimum exceeds `FALL`."""
BACK_AT_MOST, FALL_WITHIN, LONGEST, ADDED = 60 * MINUTE, 30 * MINUTE, 180 * MINUTE, 10 * MINUTE


@dataclass(frozen=True, slots=True)
class PressureLow:
    """A stretch proposed as a pressure low: the sensor's id, its instants (what was added on both sides in it), and
    how far it fell below the other sensor, on the even scale (below zero)."""

    sensor: str
    start: float
    end: float
    depth: float


def pressure_lows(series: Sequence[Series]) -> tuple[PressureLow, ...]:
    """The pressure lows of all sensors, by sensor and time; none is sought with a single sensor.

    With three sensors 'the other' is the median of the others that have a reading near.
    """
    found: list[PressureLow] = []
    for place, own in enumerate(series):
        others = [one for other, one in enumerate(series) if other != place and len(one)]
        if len(own) and others:
            found.extend(_lows(own, others))
    return tuple(found)


def masked(series: Series, lows: Sequence[PressureLow]) -> Mask:
    """Which readings lie within one of the lows of their sensor, shape (n,)."""
    inside = np.zeros(len(series), np.bool_)
    for low in lows:
        if low.sensor == series.sensor:
            inside |= (series.at >= low.start) & (series.at <= low.end)
    return inside


def _lows(own: Series, others: list[Series]) -> Iterator[PressureLow]:
    apart = own.value - _other(own, others)
    deep = np.full(len(own), np.nan)
    asked = np.flatnonzero(own.night & np.isfinite(apart))
    deep[asked] = apart[asked] - _running_median(own.at, apart, asked)
    low = np.flatnonzero(deep < DEEP)
    if not low.size:
        return
    below = np.isfinite(apart)
    middle = np.full(len(own), np.nan)
    near = np.flatnonzero(below & _within(own.at, own.at[low], LONGEST))
    middle[near] = apart[near] - _running_median(own.at, apart, near)
    done = -1
    for first in low.tolist():
        if first <= done:
            continue
        start, end = _stretch(own.at, middle, first)
        done = end
        if own.at[end] - own.at[start] < LONGEST and _falls(own, start, end):
            depth = float(np.nanmin(middle[start : end + 1]))
            yield PressureLow(own.sensor, float(own.at[start]) - ADDED, float(own.at[end]) + ADDED, depth)


def _other(own: Series, others: list[Series]) -> Floats:
    """The other sensor's value at each reading, the median of several; NaN where none is near."""
    found = np.full((len(others), len(own)), np.nan)
    for row, other in enumerate(others):
        after = np.clip(np.searchsorted(other.at, own.at), 1, max(len(other) - 1, 1))
        before = after - 1
        after = np.minimum(after, len(other) - 1)
        place = np.where(own.at - other.at[before] <= other.at[after] - own.at, before, after)
        near = np.abs(other.at[place] - own.at) <= NEAR
        found[row, near] = other.value[place[near]]
    some = np.isfinite(found).any(axis=0)
    result = np.full(len(own), np.nan)
    result[some] = np.nanmedian(found[:, some], axis=0)
    return result


def _running_median(at: Floats, values: Floats, asked: Whole) -> Floats:
    """The median of the values (NaN left aside) within 4 h of each reading asked for."""
    first = np.searchsorted(at, at[asked] - AROUND)
    many = np.searchsorted(at, at[asked] + AROUND, side="right") - first
    columns = np.arange(int(many.max(initial=1)))
    place = np.minimum(first[:, None] + columns, at.size - 1)
    window = np.where(columns < many[:, None], values[place], np.nan)
    window.sort(axis=1)
    seen = np.isfinite(window).sum(axis=1)
    rows = np.arange(asked.size)
    return np.asarray((window[rows, (seen - 1) // 2] + window[rows, seen // 2]) / 2, np.float64)


def _within(at: Floats, places: Floats, reach: float) -> Mask:
    """Which times lie within `reach` of one of `places`, both in order."""
    after = np.clip(np.searchsorted(places, at), 0, places.size - 1)
    before = np.maximum(after - 1, 0)
    return np.asarray(np.minimum(np.abs(places[after] - at), np.abs(places[before] - at)) <= reach)


def _stretch(at: Floats, deep: Floats, first: int) -> tuple[int, int]:
    """First and last reading of the stretch around a reading below `DEEP`; a reading without a neighbour ends it."""
    start = first
    while start > 0 and deep[start - 1] <= BACK_TO and at[first] - at[start - 1] <= BACK_AT_MOST:
        start -= 1
    end = first
    while end + 1 < at.size and deep[end + 1] <= ON_TO:
        end += 1
    return start, end


def _falls(own: Series, start: int, end: int) -> bool:
    """Whether the sensor itself fell far enough in the half hour before its minimum."""
    least = start + int(np.argmin(own.value[start : end + 1]))
    since = int(np.searchsorted(own.at, own.at[least] - FALL_WITHIN))
    return bool(own.value[since : least + 1].max() - own.value[least] > FALL)
