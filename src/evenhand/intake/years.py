"""Dates of the wrong year: a whole file, or a part of it, that falls into place when moved by whole years."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, MINUTE, Zones
from evenhand.intake.ask import Suggested
from evenhand.intake.shifts import Piece
from evenhand.intake.sticks import Draft
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial

Instants = NDArray[np.int64]
YEARS = tuple(year for year in range(-10, 11) if year)
LONGEST_GAP = 3 * DAY
"""Two parts of a file belong together where, moved by whole years, one follows the other within this."""
LEAST, INSIDE, OUTSIDE = 3, 0.9, 0.1
AROUND = 2 * DAY
JUMP = 300 * DAY


def suggest(
    drafts: Sequence[Draft], batches: Sequence[Batch], trial: Trial, now: int, *, counted: bool = False
) -> Iterator[Suggested]:
    """At most one proposal a file. `now` is an instant; `counted` as in `sensor_clocks.suggest`."""
    if _plainly_right(drafts, batches, trial, now):
        return
    instants, offsets = _rows(drafts, batches)
    if instants.size < LEAST:
        if (instants > now + DAY).any():
            yield _ahead(instants, now)
        return
    found = (
        _part(instants, offsets, trial, now, counted=counted)
        or _set_back(instants, offsets, counted=counted)
        or _whole(instants, trial, now)
    )
    if found is not None:
        yield found


def _plainly_right(drafts: Sequence[Draft], batches: Sequence[Batch], trial: Trial, now: int) -> bool:
    """Whether no row lies in the future, all lie within 300 days, and near what the trial holds (most files; a long one is
    not sorted for nothing)."""
    ends = [draft.at.instant for draft in drafts]
    ends += [int(batch.readings.instant[at]) for batch in batches if len(batch.readings) for at in (0, -1)]
    if not ends or max(ends) > now + DAY or max(ends) - min(ends) > JUMP:
        return False
    span = held_span(trial)
    return span is None or (min(ends) <= span[1] + AROUND and max(ends) >= span[0] - AROUND)


def _rows(drafts: Sequence[Draft], batches: Sequence[Batch]) -> tuple[Instants, NDArray[np.int64]]:
    """Instants and offsets of every row, in the order of the file's lines."""
    line = [np.array([draft.line for draft in drafts], np.int64)]
    instant = [np.array([draft.at.instant for draft in drafts], np.int64)]
    offset = [np.array([draft.at.offset for draft in drafts], np.int64)]
    for batch in batches:
        line.append(batch.readings.line.astype(np.int64))
        instant.append(batch.readings.instant)
        offset.append(batch.readings.offset.astype(np.int64))
    order = np.argsort(np.concatenate(line), kind="stable")
    return np.concatenate(instant)[order], np.concatenate(offset)[order]


def held_span(trial: Trial) -> tuple[int, int] | None:
    """From the first to the last of what the trial holds: readings, wears, sticks; None where it holds nothing."""
    ends = [int(part.instant[at]) for part in trial.readings.values() if len(part) for at in (0, -1)]
    ends += [wear.start.instant for wear in trial.wears]
    ends += [stick.at.instant for stick in trial.sticks]
    return (min(ends), max(ends)) if ends else None


def by_years(instant: int, years: int) -> int:
    """Seconds from an instant to the same date and time so many years on; 29 February goes to the 28th.

    >>> by_years(1772323200, -1) // 86400, by_years(1709164800, 1) // 86400     # 2026-03-01, 2024-02-29
    (-365, 365)
    """
    when = np.datetime64(instant, "s")
    month = when.astype("datetime64[M]")
    moved = month + 12 * years
    day = (when.astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int)
    last = ((moved + 1).astype("datetime64[D]") - moved.astype("datetime64[D]")).astype(int) - 1
    to = moved.astype("datetime64[D]") + min(day, last)
    return int((to - when.astype("datetime64[D]")).astype(int)) * DAY


def _whole(instants: Instants, trial: Trial, now: int) -> Suggested | None:
    """A file that lies outside all the trial holds (or in the future) and inside it when moved by whole years."""
    span = held_span(trial)
    future = float((instants > now + DAY).mean())
    if span is None and not future:
        return None
    low, high = (span[0] - AROUND, span[1] + AROUND) if span else (now - 366 * DAY, now + DAY)
    written = _share(instants, low, high)
    if written > OUTSIDE and not future:
        return None
    candidates = []
    for years in YEARS:
        seconds = by_years(int(np.median(instants)), years)
        share = _share(instants + seconds, low, high)
        if share >= INSIDE and int(instants.max()) + seconds <= now + DAY:
            candidates.append((abs(years), years, seconds, share))
    if not candidates:
        return _ahead(instants, now) if future else None
    _, years, seconds, share = min(candidates)
    what = "the span of what the trial holds" if span else "the year before today"
    return Suggested(
        "clock-year",
        f"The dates look {abs(years)} year{'s' if abs(years) > 1 else ''} {'early' if years > 0 else 'late'}: the device's clock may have been set to a wrong year.",
        f"{written:.0%} of {instants.size} rows lie in {what} as written, {share:.0%} with the year corrected",
        f"shift={Piece(seconds).said}",
    )


def _ahead(instants: Instants, now: int) -> Suggested:
    """Rows in the future that no whole number of years explains: at least as far ahead as the last of them."""
    late = int((instants > now + DAY).sum())
    days = -(-(int(instants.max()) - now) // DAY)
    return Suggested(
        "clock-ahead",
        f"{late} rows lie in the future: the device's clock is ahead, or today's date on this computer is wrong.",
        f"the last row lies {days} days ahead of today; by how much the clock is off cannot be told from the file",
        f"shift=-{days}d",
    )


def _part(
    instants: Instants, offsets: NDArray[np.int64], trial: Trial, now: int, *, counted: bool
) -> Suggested | None:
    """Two parts of a file, in its own order, about whole years apart, that follow each other when one is moved."""
    steps = np.diff(instants)
    if (steps < 0).sum() > steps.size // 2:
        instants, offsets = instants[::-1], offsets[::-1]
        steps = np.diff(instants)
    jumps = np.flatnonzero(np.abs(steps) > JUMP)
    if not 1 <= jumps.size <= 2:
        return None
    cuts = [0, *(jumps + 1).tolist(), instants.size]
    parts = [slice(a, b) for a, b in pairwise(cuts)]
    wrong = _wrong(instants, parts, trial, now)
    beside = parts[wrong - 1] if wrong else parts[1]
    edge = int(instants[parts[wrong]][0 if wrong else -1])
    other = int(instants[beside][-1 if wrong else 0])
    for years in sorted(YEARS, key=abs):
        seconds = by_years(edge, years)
        after = edge + seconds - other if wrong else other - (edge + seconds)
        if 0 <= after <= LONGEST_GAP:
            return _part_said(instants, offsets, (parts, wrong), years, (seconds, after), counted=counted)
    return None


def _set_back(instants: Instants, offsets: NDArray[np.int64], *, counted: bool) -> Suggested | None:
    """A clock that fell back by years in the middle of a file (a battery, a reset) and went on from a date of its own: in the
    order of the file the rows after it would follow the ones before."""
    steps = np.diff(instants)
    if (steps < 0).sum() > steps.size // 2:
        instants, offsets = instants[::-1], offsets[::-1]
        steps = np.diff(instants)
    falls = np.flatnonzero(steps < -JUMP)
    if falls.size != 1 or (np.abs(steps) > JUMP).sum() != 1:
        return None
    at = int(falls[0]) + 1
    usual = int(np.median(steps[steps > 0])) if (steps > 0).any() else 0
    if not 0 < usual <= LONGEST_GAP or min(at, instants.size - at) < LEAST:
        return None
    seconds = round((int(instants[at - 1]) + usual - int(instants[at])) / MINUTE) * MINUTE
    end = int(instants[at:].max()) + (0 if counted else int(offsets[at:][np.argmax(instants[at:])]))
    return Suggested(
        "clock-year",
        f"In the middle of the file the dates fall back by {-int(steps[at - 1]) // DAY} days and go on from there: the clock may have been reset.",
        f"moved by {seconds // DAY} days and some, the {instants.size - at} rows after it follow the others after {usual // MINUTE} min, as usual in this file; by how much exactly cannot be told",
        f"shift={Piece(seconds, None, end).said}",
    )


def _wrong(instants: Instants, parts: Sequence[slice], trial: Trial, now: int) -> int:
    """Which part's dates are wrong: the one outside what the trial holds, in the future, or else the shorter."""
    if len(parts) == 3:
        return 1
    span = held_span(trial)
    inside = [_share(instants[one], span[0] - AROUND, span[1] + AROUND) if span else 0.0 for one in parts]
    if inside[0] != inside[1]:
        return int(np.argmin(inside))
    future = [float((instants[one] > now + DAY).mean()) for one in parts]
    if future[0] != future[1]:
        return int(np.argmax(future))
    return int(np.argmin([one.stop - one.start for one in parts]))


def _part_said(
    instants: Instants,
    offsets: NDArray[np.int64],
    which: tuple[Sequence[slice], int],
    years: int,
    how: tuple[int, int],
    *,
    counted: bool,
) -> Suggested:
    parts, wrong = which
    seconds, after = how
    wall = instants[parts[wrong]] + (0 if counted else offsets[parts[wrong]])
    rest = np.concatenate([instants[one] for at, one in enumerate(parts) if at != wrong])
    early = int(instants[parts[wrong]].max()) < int(rest.min())
    start, end = int(wall.min()), int(wall.max())
    piece = Piece(seconds, None if early else start, end if early else None)
    zones = Zones("UTC")
    shown = [zones.stamp(at).iso[:16].replace("T", " ") for at in (start, end)]
    return Suggested(
        "clock-year",
        f"The {wall.size} rows from {shown[0]} to {shown[1]} look {abs(years)} year{'s' if abs(years) > 1 else ''} {'early' if years > 0 else 'late'}: the clock may have been set to a wrong year.",
        f"with the year corrected they join the other {rest.size} rows within {after / 3600:.1f} h, in the order of the file",
        f"shift={piece.said}",
    )


def _share(instants: Instants, low: int, high: int) -> float:
    return float(((instants >= low) & (instants <= high)).mean()) if instants.size else 0.0
