"""Columns of times: every row read once per distinct text, the order of day and month proven by all rows."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY
from evenhand.intake import moments
from evenhand.intake.moments import Day, Order

NO_OFFSET = np.int32(-1_000_000)
"""Stands in `Times.offset` where the text states no offset."""

_DENSE = 15 * 60
_YEARS_BACK = 6 * 366 * DAY


@dataclass(frozen=True, slots=True)
class Times:
    """A column of times as read, shape (n,) each.

    `day` is an index into `days` (-1: none), `second` seconds since midnight, `offset` seconds east of UTC
    or NO_OFFSET; `fixed` is the wall time in seconds (or the instant, where `absolute`) of counts and serial
    numbers, else -1.
    """

    day: NDArray[np.int32]
    second: NDArray[np.int32]
    offset: NDArray[np.int32]
    fixed: NDArray[np.int64]
    absolute: NDArray[np.bool_]
    days: tuple[Day, ...] = field(repr=False)
    texts: tuple[str, ...] = field(repr=False)

    @property
    def read(self) -> NDArray[np.bool_]:
        """Which rows hold a time."""
        return (self.day >= 0) | (self.fixed >= 0)

    def wall(self, order: Order) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
        """Wall time in seconds since 1970 under an order, and which rows have one."""
        ordinals = np.array([day.under.get(order, -1) for day in self.days] or [-1], np.int64)
        picked = ordinals[np.maximum(self.day, 0)] if self.days else np.full(self.day.size, -1, np.int64)
        good = (self.day >= 0) & (picked >= 0)
        wall = np.where(good, picked * DAY + self.second, self.fixed)
        return wall, good | (self.fixed >= 0)


def read_times(cells: Sequence[str], serial_base: str | None, counts: bool = True) -> Times:  # noqa: FBT001
    """A column whose cells hold date and time together (or a count); `counts`: whether plain numbers may be one."""
    return _Reader(serial_base, counts).column(cells)


def read_pairs(dates: Sequence[str], clocks: Sequence[str], serial_base: str | None) -> Times:
    """A column of dates and one of times of day."""
    reader = _Reader(serial_base, counts=True)
    return reader.pairs(dates, clocks)


def stated_offsets(times: Times, offsets: Sequence[int | None]) -> Times:
    """The same times with the offset another column (or the header) states, where a cell has none of its own."""
    told = np.array([int(NO_OFFSET) if offset is None else offset for offset in offsets], np.int32)
    return replace(times, offset=np.where(times.offset == NO_OFFSET, told, times.offset).astype(np.int32))


class _Reader:
    """Reads times; dates and clock texts are each understood once."""

    def __init__(self, serial_base: str | None, counts: bool) -> None:  # noqa: FBT001
        self._base = serial_base
        self._counts = counts
        self._days: list[Day] = []
        self._texts: list[str] = []
        self._day_at: dict[str, int] = {}
        self._clocks: dict[str, tuple[int, int]] = {}

    def _day(self, text: str) -> int:
        known = self._day_at.get(text)
        if known is None:
            day = moments.read_day(text)
            known = -1
            if day is not None:
                known = len(self._days)
                self._days.append(day)
                self._texts.append(text)
            self._day_at[text] = known
        return known

    def _clock(self, text: str) -> tuple[int, int]:
        known = self._clocks.get(text)
        if known is None:
            clock = moments.read_clock(text)
            known = (-1, 0) if clock is None else (clock[0], int(NO_OFFSET) if clock[1] is None else clock[1])
            self._clocks[text] = known
        return known

    def column(self, cells: Sequence[str]) -> Times:
        n = len(cells)
        day, second = np.full(n, -1, np.int32), np.zeros(n, np.int32)
        offset, fixed = np.full(n, NO_OFFSET, np.int32), np.full(n, -1, np.int64)
        absolute = np.zeros(n, np.bool_)
        mark = (
            "T"
            if sum(cell[10:11] == "T" for cell in cells[:50]) > 25 or (n and cells[0][10:11] == "T")
            else " "
        )
        found = array(
            "i"
        )  # day, second, offset of each row in turn; a list of tuples takes ten times as much
        slow: list[int] = []
        day_at, clocks = self._day_at, self._clocks
        for at, cell in enumerate(cells):
            head, _, tail = cell.partition(mark)
            known, clock = day_at.get(head, -1), clocks.get(tail)
            if known >= 0 and clock is not None and clock[0] >= 0:
                found.extend((known, clock[0], clock[1]))
                continue
            parted = moments.split(cell)
            if parted is not None:
                seconds, shift = self._clock(parted[1])
                found.extend((self._day(parted[0]), seconds, shift))
            else:
                found.extend((-1, 0, int(NO_OFFSET)))
                slow.append(at)
        if found:
            table = np.frombuffer(found, np.int32).reshape(-1, 3)
            day, second, offset = table[:, 0].copy(), table[:, 1].copy(), table[:, 2].copy()
        for at in slow:
            self._count(cells[at], at, fixed, absolute)
        return Times(day, second, offset, fixed, absolute, tuple(self._days), tuple(self._texts))

    def _count(self, cell: str, at: int, fixed: NDArray[np.int64], absolute: NDArray[np.bool_]) -> None:
        """A count since 1970 or a serial number, where numbers may be one."""
        if not self._counts:
            return
        instant = moments.read_epoch(cell)
        if instant is not None:
            fixed[at], absolute[at] = instant, True
            return
        wall = moments.read_serial(cell, self._base)
        if wall is not None:
            fixed[at] = wall

    def pairs(self, dates: Sequence[str], clocks: Sequence[str]) -> Times:
        n = len(dates)
        day, second = np.full(n, -1, np.int32), np.zeros(n, np.int32)
        offset, fixed = np.full(n, NO_OFFSET, np.int32), np.full(n, -1, np.int64)
        for at, (date_cell, clock_cell) in enumerate(zip(dates, clocks, strict=True)):
            known = self._day(date_cell)
            if known < 0 and date_cell.strip():
                parted = moments.split(date_cell)
                known = self._day(parted[0]) if parted and self._clock(parted[1])[0] == 0 else -1
            clock = self._clock(clock_cell)
            if clock[0] < 0 and clock_cell.strip():
                clock = self._odd_clock(clock_cell)
            if known >= 0 and clock[0] >= 0:
                day[at], second[at], offset[at] = known, clock[0], clock[1]
            elif (
                known < 0
                and clock[0] >= 0
                and self._base
                and (wall := moments.read_serial(date_cell, self._base))
            ):
                fixed[at] = wall // DAY * DAY + clock[0]
        return Times(day, second, offset, fixed, np.zeros(n, np.bool_), tuple(self._days), tuple(self._texts))

    def _odd_clock(self, cell: str) -> tuple[int, int]:
        """A time of day as a spreadsheet may keep it: a date of its own before it, or a fraction of a day."""
        parted = moments.split(cell)
        if parted:
            return self._clock(parted[1])
        bare = cell.strip()
        if self._base and bare[:2] == "0." and bare[2:].isascii() and bare[2:].isdigit():
            return round(float(bare) * DAY) % DAY, int(NO_OFFSET)
        return -1, 0


@dataclass(frozen=True, slots=True)
class OrderFound:
    """The order of day and month: `order` None where the rows cannot prove it, `left` the orders that remain."""

    order: Order | None
    evidence: str
    left: tuple[Order, ...] = ()


def find_order(columns: Iterable[Times], lines: Sequence[Sequence[int]], now: int) -> OrderFound:
    """The order of day, month and year that all rows together allow.

    Proof is a day above 12, a date that would lie after `now` (or six years before), or readings close enough
    to cross midnights: under the wrong order they would leap by a month there.
    """
    sets = list(columns)
    open_days = [
        (day, text)
        for times in sets
        for day, text in zip(times.days, times.texts, strict=True)
        if not day.proof
    ]
    if not open_days:
        return OrderFound(
            Order.YEAR_MONTH, "every date is written year first, with the month's name, or as a count"
        )
    possible = [order for order in Order if all(order in day.under for day, _ in open_days)]
    if not possible:
        return _contradicting(open_days, sets, lines)
    if len(possible) == 1:
        others = [order for order in Order if order is not possible[0]]
        text = next(
            text
            for day, text in open_days
            if not any(order in day.under for order in others if order is not Order.YEAR_MONTH)
        )
        return OrderFound(possible[0], f"'{text}'{_at_line(text, sets, lines)} can only be read so")
    if all(len({day.under[order] for order in possible}) == 1 for day, _ in open_days):
        return OrderFound(possible[0], "day and month are the same number on every date")
    return _by_rows(sets, possible, now)


def _by_rows(sets: list[Times], possible: list[Order], now: int) -> OrderFound:
    span = {order: _span(sets, order) for order in possible}
    timely = [
        order for order in possible if now - _YEARS_BACK <= span[order][0] and span[order][1] <= now + 2 * DAY
    ]
    if len(timely) == 1:
        late = next(order for order in possible if order is not timely[0])
        what = "after today" if span[late][1] > now + 2 * DAY else "many years ago"
        return OrderFound(timely[0], f"read as {late}, some rows would lie {what}")
    left = timely or possible
    crossing = {order: _crossings(sets, order) for order in left}
    smooth = [order for order in left if crossing[order][0] >= 2 and crossing[order][1] == 0]
    torn = [order for order in left if order not in smooth and crossing[order][0] == 0]
    if len(smooth) == 1 and len(torn) == len(left) - 1:
        return OrderFound(
            smooth[0],
            f"readings run on over {crossing[smooth[0]][0]} midnights; read otherwise, each would leap by weeks",
        )
    return OrderFound(None, "every date fits more than one order", tuple(left))


def _span(sets: list[Times], order: Order) -> tuple[int, int]:
    walls = [wall[good] for wall, good in (times.wall(order) for times in sets)]
    joined = np.concatenate(walls) if walls else np.empty(0, np.int64)
    return (int(joined.min()), int(joined.max())) if joined.size else (0, 0)


def _crossings(sets: list[Times], order: Order) -> tuple[int, int]:
    """How often the date changes between neighbouring rows at most 15 min apart, and how often it leaps by more
    than ten days, where the time of day runs on over midnight."""
    smooth = leaps = 0
    for times in sets:
        wall, good = times.wall(order)
        walls = wall[good]
        if walls.size < 3:
            continue
        step = np.abs(np.diff(walls))
        changed = np.diff(times.day[good]) != 0
        second = times.second[good].astype(np.int64)
        around = np.abs(np.diff(second))
        runs_on = changed & (np.minimum(around, DAY - around) <= _DENSE)
        smooth += int((runs_on & (step <= _DENSE)).sum())
        leaps += int((runs_on & (step > 10 * DAY)).sum())
    return smooth, leaps


def _at_line(text: str, sets: list[Times], lines: Sequence[Sequence[int]]) -> str:
    for times, own in zip(sets, lines, strict=True):
        if text in times.texts:
            hits = np.flatnonzero(times.day == times.texts.index(text))
            if hits.size:
                return f" in line {own[int(hits[0])]}"
    return ""


def _contradicting(
    open_days: list[tuple[Day, str]], sets: list[Times], lines: Sequence[Sequence[int]]
) -> OrderFound:
    """No order fits every date: dates were written in two orders, and only the person knows."""
    shown = []
    for order in (Order.DAY_MONTH, Order.MONTH_DAY):
        only = next((text for day, text in open_days if set(day.under) == {order}), None)
        if only is not None:
            shown.append(f"'{only}'{_at_line(only, sets, lines)} can only be {order}")
    left = tuple(order for order in Order if any(order in day.under for day, _ in open_days))
    return OrderFound(None, ", but ".join(shown) or "the dates contradict each other", left)
