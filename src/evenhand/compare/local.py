"""Dates and hours where the wearer was, for whole arrays of instants. Never the machine's zone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from evenhand.clock import DAY, MINUTE, Zones, offset_at
from evenhand.compare.shapes import Indices, Instants, Mask

EPOCH_ORDINAL = 719_163
"""`date(1970, 1, 1).toordinal()`."""


@dataclass(frozen=True, slots=True)
class Local:
    """Local time of an array of instants: `day` ordinal of the date, `minute` of the day (0 to 1439)."""

    day: Indices
    minute: Indices


def local(zones: Zones, instants: Instants) -> Local:
    """Where and when: offsets change only at the few instants of clock changes and trips.

    >>> found = local(Zones("Europe/Lisbon"), np.array([1772327520]))      # 2026-03-01 01:12
    >>> int(found.day[0]), int(found.minute[0])
    (739676, 72)
    """
    if instants.size == 0:
        none = np.empty(0, np.int64)
        return Local(none, none)
    breaks, offsets = _offsets(zones, int(instants.min()), int(instants.max()))
    if len(offsets) == 1:
        wall = instants + offsets[0]
    else:
        place = np.searchsorted(np.array(breaks[1:], np.int64), instants, side="right")
        wall = instants + np.array(offsets, np.int64)[place]
    days = wall // DAY
    return Local(days + EPOCH_ORDINAL, (wall - days * DAY) // MINUTE)


@lru_cache(maxsize=256)
def _offsets(zones: Zones, start: int, end: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Instants from which an offset holds, the first being `start`, and the offsets, over [start, end]."""
    turns = {start, *(turn for trip in zones.trips for turn in (trip.start, trip.end) if turn is not None)}
    edges = [*sorted(turn for turn in turns if start <= turn <= end), end + 1]
    found: list[tuple[int, int]] = []
    for first, after in pairwise(edges):
        name = zones.at(first)
        at, offset = first, offset_at(first, name)
        found.append((first, offset))
        while at < after - 1:
            later = min(at + DAY, after - 1)
            changed = offset_at(later, name)
            if changed != offset:
                found.append((_turn(name, at, later, offset), changed))
            at, offset = later, changed
    return tuple(at for at, _ in found), tuple(offset for _, offset in found)


def _turn(name: str, before: int, after: int, offset: int) -> int:
    """The first instant in (before, after] at which the offset is no longer `offset`."""
    while after - before > 1:
        middle = (before + after) // 2
        if offset_at(middle, name) == offset:
            before = middle
        else:
            after = middle
    return after


def between(minute: Indices, hours: tuple[int, int]) -> Mask:
    """Whether minutes of the day lie in [from, to); a stretch over midnight has from > to.

    >>> between(np.array([0, 419, 420, 1379, 1380]), (420, 1380)).tolist()
    [False, False, True, True, False]
    >>> between(np.array([0, 420, 1380]), (1380, 420)).tolist()
    [True, False, True]
    """
    start, end = hours
    inside: Mask = (minute >= start) & (minute < end)
    if start > end:
        inside = (minute >= start) | (minute < end)
    return inside
