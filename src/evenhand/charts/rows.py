"""How a trial's time is cut into rows: weeks where there is room, one wear a row on a phone."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from evenhand.clock import DAY
from evenhand.records.trial import Trial


@dataclass(frozen=True, slots=True)
class Row:
    """One row: from and to (instants), and what stands at its left above it (may be empty)."""

    start: int
    end: int
    label: str


def midnight(trial: Trial, instant: int) -> int:
    """The last local midnight at or before an instant (its first moment where the clock was put forward then)."""
    wall = trial.zones.stamp(instant).wall
    for minutes in range(0, 181, 15):
        found = trial.zones.possible(datetime.combine(wall.date(), time()) + timedelta(minutes=minutes))
        if found and found[0] <= instant:
            return found[0]
    return instant - instant % DAY


def midnights(trial: Trial, start: int, end: int) -> list[int]:
    """Every local midnight in [start, end)."""
    found = []
    at = midnight(trial, start)
    while at < end:
        if at >= start:
            found.append(at)
        at = midnight(trial, at + DAY + DAY // 4)
    return found


def extent(trial: Trial) -> tuple[int, int] | None:
    """First and last instant of anything that is drawn; None where there is nothing."""
    firsts = [int(part.instant[0]) for part in trial.readings.values() if len(part)]
    lasts = [int(part.instant[-1]) for part in trial.readings.values() if len(part)]
    sticks = [stick.at.instant for stick in trial.sticks]
    if not firsts + sticks:
        return None
    return min(firsts + sticks), max(lasts + sticks)


def weeks(trial: Trial, most_days: int = 8) -> list[Row]:
    """Rows of equally many days, at most `most_days`, from the first local midnight on."""
    whole = extent(trial)
    if whole is None:
        return []
    days = midnights(trial, midnight(trial, whole[0]), whole[1] + 1)
    each = -(-len(days) // -(-len(days) // most_days))
    starts = days[::each]
    ends = [*starts[1:], midnight(trial, starts[-1] + each * DAY + DAY // 4)]
    return [Row(start, end, "") for start, end in zip(starts, ends, strict=True)]


def wear_rows(trial: Trial, most_days: int = 6) -> list[Row]:
    """One row for each wear of the first sensor, a long one in equal parts of at most `most_days` days.

    Without wears, or before the first, rows of `most_days` days.
    """
    whole = extent(trial)
    if whole is None:
        return []
    first = trial.sensors[0] if trial.sensors else None
    starts = (
        {wear.first.instant: number for number, wear in enumerate(trial.wears_of(first.id), 1)}
        if first
        else {}
    )
    cuts = sorted({whole[0], whole[1] + 1, *(at for at in starts if whole[0] < at <= whole[1])})
    rows = []
    for start, end in itertools.pairwise(cuts):
        number = sum(at <= start for at in starts)
        name = f"{first.name}, wear {number}" if first and number else ""
        pieces = -(-(end - start) // (most_days * DAY))
        length = -(-(end - start) // pieces)
        for piece in range(pieces):
            at = start + piece * length
            part = f", part {piece + 1}" if pieces > 1 and name else ""
            rows.append(Row(at, min(at + length, end), name + part))
    return rows
