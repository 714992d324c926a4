"""A sensor's clock held against the other sensors and the meter: proposals with their evidence, never applied here.

Two sensors on one body go up and down together within minutes, so the shift at which they go together best tells how far apart
their clocks are. The least distance at which something is said is far above any lag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE, offset_at
from evenhand.intake.ask import Suggested
from evenhand.records.readings import Batch, Readings
from evenhand.records.trial import Trial
from evenhand.stats.shift import best_shift

STEP = 5 * MINUTE
MOST = 13 * HOUR // STEP
LEAST = DAY // STEP
"""At least a day of readings side by side."""
SAID_FROM = 20 * MINUTE
"""Nearer clocks are not spoken of: lag and spacing can look like it."""
CLOSE, GAIN = 0.7, 0.5
"""The correlation there must be at the shift, and the share of what lacks to 1 that must be left of what lacks as written."""
LEAST_STICKS, STICK_GAIN = 20, 0.55
USUAL_LAG = 10 * MINUTE
"""By which a sensor is taken to trail the finger anyway (common practice, no source)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Found:
    """A shift in seconds (positive: this clock is ahead), with the correlation there and as written, and the days."""

    ahead: int
    there: float
    written: float
    days: float

    @property
    def evidence(self) -> str:
        """The numbers, in a sentence."""
        return f"over {self.days:.1f} days the two go together with correlation {self.there:.2f} so shifted, {self.written:.2f} as written"


def suggest(batches: Sequence[Batch], trial: Trial) -> Iterator[Suggested]:
    """What the readings of a file say of their device's clock; at most one proposal a sensor."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for sensor in dict.fromkeys(batch.sensor for batch in batches):
        own = [batch.readings for batch in batches if batch.sensor == sensor]
        others = {
            other: [*([trial.readings[other]] if other in trial.readings else []),
                    *(batch.readings for batch in batches if batch.sensor == other)]
            for other in names if other != sensor
        }  # fmt: skip
        beside = next(
            iter([(names[other], held) for other, held in others.items() if sum(map(len, held)) >= LEAST]),
            None,
        )
        made = (
            _against_sensor(names[sensor], own, *beside, trial)
            if beside
            else _against_sticks(names[sensor], own, trial)
        )
        if made is not None:
            yield made


def _against_sensor(
    name: str, own: list[Readings], other: str, held: list[Readings], trial: Trial
) -> Suggested | None:
    start = max(min(int(one.instant.min()) for one in part if len(one)) for part in (own, held))
    end = min(max(int(one.instant.max()) for one in part if len(one)) for part in (own, held))
    change = _changes(start, end, trial)
    if change is not None:
        before, after = (_shift(own, held, *span) for span in ((start, change), (change, end)))
        if before is not None and after is not None:
            return _around_change(name, other, (before, after), change, trial)
    found = _shift(own, held, start, end)
    return None if found is None or abs(found.ahead) < SAID_FROM else _said(name, other, found)


def _round(seconds: int) -> int:
    """Whole minutes; the quarter of an hour where one is at most three minutes away.

    >>> _round(58 * 60), _round(-52 * 60), _round(719 * 60)
    (60, -52, 720)
    """
    minutes = round(seconds / MINUTE)
    quarter = 15 * round(minutes / 15)
    return quarter if abs(minutes - quarter) <= 3 else minutes


def _said(name: str, other: str, found: _Found) -> Suggested:
    minutes = _round(found.ahead)
    way = "ahead of" if minutes > 0 else "behind"
    return Suggested(
        "clock-off",
        f"The clock of {name} looks about {abs(minutes)} min {way} {other}'s.",
        found.evidence,
        f"shift={-minutes:+d}min",
    )


def _around_change(
    name: str, other: str, parts: tuple[_Found, _Found], change: int, trial: Trial
) -> Suggested | None:
    """A clock that was not put forward or back with the others goes right on one side and an hour off on the other."""
    before, after = parts
    right = [abs(one.ahead) < SAID_FROM for one in parts]
    off = [abs(abs(one.ahead) - HOUR) < SAID_FROM for one in parts]
    if right[0] and off[1]:
        offset, found = offset_at(change - DAY, trial.header.zone), after
    elif right[1] and off[0]:
        offset, found = offset_at(change + DAY, trial.header.zone), before
    elif not any(right) and abs(before.ahead - after.ahead) < SAID_FROM:
        return _said(name, other, before)
    else:
        return None
    sign, minutes = ("-" if offset < 0 else "+"), abs(offset) // MINUTE
    return Suggested(
        "clock-not-changed",
        f"The clock of {name} looks as if it was not changed when {other}'s was: an hour off on one side of the change.",
        found.evidence,
        f"zone={sign}{minutes // 60:02d}:{minutes % 60:02d}",
    )


def _changes(start: int, end: int, trial: Trial) -> int | None:
    """The instant (to the hour) within a span at which clocks at home changed; None where they did not, or twice."""
    days = range(start + DAY, end - DAY, DAY)
    found = [
        day for day in days if offset_at(day, trial.header.zone) != offset_at(day + DAY, trial.header.zone)
    ]
    if len(found) != 1:
        return None
    hours = range(found[0], found[0] + DAY, HOUR)
    return (
        next(
            hour
            for hour in hours
            if offset_at(hour, trial.header.zone) != offset_at(hour + HOUR, trial.header.zone)
        )
        + HOUR
    )


def _shift(own: list[Readings], held: list[Readings], start: int, end: int) -> _Found | None:
    """The best shift between two clocks in a span; None where it cannot be told well."""
    if end - start < DAY:
        return None
    grid = np.arange(start, end, STEP)
    found = best_shift(_on(grid, held), _on(grid, own), MOST, least=LEAST // 2)
    if found.best is None:
        return None
    there, written = float(np.nanmax(found.profile)), float(found.profile[MOST])
    if (
        not np.isfinite(written)
        or there < CLOSE
        or (abs(found.best * STEP) >= SAID_FROM and 1 - there > GAIN * (1 - written))
    ):
        return None
    return _Found(round(found.best * STEP), there, written, (end - start) / DAY)


def _on(grid: NDArray[np.int64], parts: list[Readings]) -> Floats:
    """The readings nearest to each point of a grid, mg/dL; NaN where none is within half a step of 15 minutes."""
    instant = np.concatenate([part.instant for part in parts])
    value = np.concatenate([part.mg_dl for part in parts])
    order = np.argsort(instant, kind="stable")
    instant, value = instant[order], value[order]
    right = np.clip(np.searchsorted(instant, grid), 1, instant.size - 1)
    near = np.where(grid - instant[right - 1] <= instant[right] - grid, right - 1, right)
    return np.where(np.abs(instant[near] - grid) <= 450, value[near], np.nan)


def _against_sticks(name: str, own: list[Readings], trial: Trial) -> Suggested | None:
    """The shift at which a sensor comes nearest to the meter, where it is far nearer than as written."""
    at = np.array([stick.at.instant for stick in trial.sticks], np.int64)
    value = np.array([stick.glucose.mg_dl for stick in trial.sticks])
    shifts = np.arange(-MOST, MOST + 1)
    off = np.array([_apart(own, at + int(k) * STEP, value) for k in shifts])
    if not np.isfinite(off).any() or not np.isfinite(off[MOST]):
        return None
    best = int(np.nanargmin(off))
    ahead = int(shifts[best]) * STEP
    if abs(ahead) < SAID_FROM or off[best] > STICK_GAIN * off[MOST]:
        return None
    minutes = _round(ahead - USUAL_LAG)
    way = "ahead of" if minutes > 0 else "behind"
    return Suggested(
        "clock-off",
        f"The clock of {name} looks about {abs(minutes)} min {way} your fingersticks'.",
        f"its average error against them would be {off[best]:.0f} mg/dL so shifted, and is {off[MOST]:.0f} as written",
        f"shift={-minutes:+d}min",
    )


def _apart(own: list[Readings], at: NDArray[np.int64], value: Floats) -> float:
    """The average distance of sticks from the readings beside them; NaN with fewer than 20."""
    error = np.abs(_on(at, own) - value)
    error = error[np.isfinite(error)]
    return float(error.mean()) if error.size >= LEAST_STICKS else float("nan")
