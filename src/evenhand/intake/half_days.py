"""Clocks of twelve hours whose a.m. and p.m. were left out: the same times twice a day, and half of them wrong."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from evenhand.intake.ask import Asked
from evenhand.intake.moments import Order
from evenhand.intake.times import Times

_LEAST = 6


def ask(columns: Sequence[Times], lines: Sequence[Sequence[int]]) -> list[Asked]:
    """At most one question: every time of day has an hour from 1 to 12, and in the file's order it goes from 12 to 1 within a
    date, which no clock of 24 hours does forwards in time."""
    for times, own in zip(columns, lines, strict=True):
        good = np.flatnonzero(times.day >= 0)
        hour = times.second[good] // 3600
        if good.size < _LEAST or not ((hour >= 1) & (hour <= 12)).all():
            continue
        turn = np.empty(0, np.int64)
        for order in Order:
            if not turn.size and all(order in day.under for day in times.days):
                ordinals = np.array([day.under[order] for day in times.days], np.int64)
                turn = _turns(ordinals[times.day[good]], hour)
        if turn.size:
            line = own[int(good[turn[0] + 1])]
            return [
                Asked(
                    "half-days",
                    f"All times lie from 1:00 to 12:59, and in line {line} they go on from 12 to 1 on the same date: a clock of 12 hours whose a.m. and p.m. were left out. Export the file with 24 hours; or are the times right as written?",
                    ("24",),
                    "hours=24",
                )
            ]
    return []


def _turns(day: NDArray[np.int64], hour: NDArray[np.int32]) -> NDArray[np.int64]:
    """Rows after which 12 turns to 1 (or, in a file with the newest first, 1 to 12) on one date."""
    same = np.diff(day) == 0
    steps = np.diff(day * 24 + hour)
    newest_first = day.size > 1 and (
        day[-1] < day[0] or (day[-1] == day[0] and (steps < 0).sum() > steps.size // 2)
    )
    if newest_first:
        day, hour, same = day[::-1], hour[::-1], same[::-1]
    falls = same & (np.diff(hour) < 0)
    if (np.diff(day) < 0).any() or np.bincount(np.unique(day, return_inverse=True)[1][1:][falls]).max(
        initial=0
    ) > 2:
        return np.empty(0, np.int64)  # the rows are in no order
    found: NDArray[np.int64] = np.flatnonzero(same & (hour[:-1] == 12) & (hour[1:] == 1))
    return day.size - 2 - found[::-1] if newest_first else found
