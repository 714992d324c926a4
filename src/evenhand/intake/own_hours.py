"""What a file's own spacing says of the clock change: rows in the hour that was left out, or no hour that comes twice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE, Zones, offset_at
from evenhand.intake.ask import Suggested
from evenhand.intake.sensor_clocks import offset_word
from evenhand.intake.shifts import Piece

LEAST = 6
"""Rows that must lie in the hour in question."""
CLOSEST = 20 * MINUTE
"""The usual spacing must be no wider, or an hour cannot be seen in it."""

Walls = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Spaced:
    """Wall times of one device as written, ascending and without doubles, of rows that state no offset."""

    walls: Walls

    @property
    def usual(self) -> float:
        """The usual spacing in seconds."""
        return float(np.median(np.diff(self.walls))) if self.walls.size > 1 else float("inf")


def suggest(wall: Walls, zones: Zones) -> Iterator[Suggested]:
    """At most one proposal for the rows of one device, in the order of the file; none with trips, or no change inside."""
    if wall.size < 4 * LEAST or zones.trips:
        return
    falls = np.diff(wall)
    if (falls < 0).sum() > falls.size // 2:
        wall = wall[::-1]
    repeated = _repeated(wall)
    one = Spaced(np.unique(wall))
    if one.usual > CLOSEST:
        return
    for change, before, after in _changes(int(one.walls[0]), int(one.walls[-1]), zones.home):
        made = (
            _left_out(one, change, before, after)
            if after > before
            else _not_twice(one, change, before, after, repeated=repeated)
        )
        if made is not None:
            yield made
            return


def _changes(start: int, end: int, zone: str) -> Iterator[tuple[int, int, int]]:
    """Instant, offset before and after of every change of the clocks within wall times."""
    for day in range(start - DAY, end + DAY, DAY):
        before, after = offset_at(day, zone), offset_at(day + DAY, zone)
        if before == after:
            continue
        low, high = day, day + DAY
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if offset_at(middle, zone) == before else (low, middle)
        yield high, before, after


def _repeated(wall: Walls) -> Walls:
    """Places (wall times) at which the file's times fall back by about an hour or half an hour."""
    steps = np.diff(wall)
    return wall[1:][(steps < 0) & (steps > -90 * MINUTE)]


def _left_out(one: Spaced, change: int, before: int, after: int) -> Suggested | None:
    """Rows at wall times that no changed clock showed: the clock went on as before, to the end or until it was set."""
    low, high = change + before, change + after
    walls = one.walls
    inside = int(((walls >= low) & (walls < high)).sum())
    if inside < LEAST or not _goes_on(one, low, high):
        return None
    told = f"{inside} rows lie between {_clock(low)} and {_clock(high)} of the night the clocks were put forward, evenly spaced with those around them"
    until = _set_later(one, high, after - before)
    if until is None:
        return Suggested(
            "clock-not-changed",
            "The clock looks as if it was not put forward with the others: the file holds the hour that was left out.",
            f"{told}; to its end no hour is missing",
            f"zone={offset_word(before)}",
        )
    piece = Piece(after - before, low, until)
    return Suggested(
        "clock-not-changed",
        f"The clock looks as if it was put forward late, after {_moment(until)}.",
        f"{told}; after {_moment(until)} an hour is missing instead",
        f"shift={piece.said}",
    )


def _not_twice(one: Spaced, change: int, before: int, after: int, *, repeated: Walls) -> Suggested | None:
    """No wall time comes twice though the file goes on evenly through the night: the clock was not put back."""
    low, high = change + after, change + before
    walls = one.walls
    inside = int(((walls >= low) & (walls < high)).sum())
    if inside < LEAST or not _goes_on(one, low, high):
        return None
    size = before - after
    if repeated.size and bool(((repeated >= low - size) & (repeated <= high + 2 * DAY)).any()):
        return None
    return Suggested(
        "clock-not-changed",
        "The clock looks as if it was not put back with the others: the hour that came twice is there once.",
        f"{inside} rows lie between {_clock(low)} and {_clock(high)} of the night the clocks were put back, evenly spaced with those around them, and none of these times comes twice",
        f"zone={offset_word(before)}",
    )


def _goes_on(one: Spaced, low: int, high: int) -> bool:
    """Whether rows go on evenly from before `low` to after `high`."""
    near = one.walls[(one.walls >= low - HOUR) & (one.walls <= high + HOUR)]
    if near.size < 2 or near[0] > low - one.usual or near[-1] < high + one.usual:
        return False
    return float(np.diff(near).max()) <= 2.5 * one.usual


def _set_later(one: Spaced, after: int, size: int) -> int | None:
    """The last wall time before a gap of just the change's size within two days, where there is one."""
    steps = np.diff(one.walls)
    near = (one.walls[:-1] >= after) & (one.walls[:-1] <= after + 2 * DAY)
    just = near & (np.abs(steps - one.usual - size) <= one.usual)
    found = np.flatnonzero(just)
    return int(one.walls[found[0]]) if found.size == 1 else None


def _clock(wall: int) -> str:
    return datetime.fromtimestamp(wall, UTC).strftime("%H:%M")


def _moment(wall: int) -> str:
    return datetime.fromtimestamp(wall, UTC).strftime("%Y-%m-%d %H:%M")
