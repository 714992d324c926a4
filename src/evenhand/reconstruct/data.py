"""What the model is given: every sensor's readings past warm-up on the even scale, and the sticks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.reconstruct.scale import Floats, even
from evenhand.records.diary import MarkKind, Reason, Stick
from evenhand.records.readings import IN_RANGE, Readings
from evenhand.records.sensors import Ending, Sensor
from evenhand.records.trial import Trial

Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]

RUN_GAP = 12 * HOUR
"""Where no wear is logged, a longer gap between readings parts two."""
BIN = 5 * MINUTE
"""Readings closer together are averaged over this long."""
SAME_STICK = 5 * MINUTE
"""Sticks closer together than this are one, their mean."""


@dataclass(frozen=True, slots=True)
class Series:
    """One sensor's readings, n of them in time order; arrays of shape (n,).

    `at` instants (seconds; fractions where averaged), `value` even scale, `wear` the place among this sensor's wears
    that have readings, `age` minutes since the wear's start, `fresh` counts wears and calibrations (0, 1, ...),
    `plain` False where the reading said LOW or HIGH, `night` True outside the waking hours, local time.
    """

    sensor: str
    at: Floats
    value: Floats
    wear: Whole
    age: Floats
    fresh: Whole
    plain: Mask
    night: Mask

    def __len__(self) -> int:
        return int(self.at.size)

    def where(self, kept: Mask) -> Series:
        """The readings for which `kept`, shape (n,), is True."""
        return Series(
            self.sensor, self.at[kept], self.value[kept], self.wear[kept], self.age[kept], self.fresh[kept],
            self.plain[kept], self.night[kept],
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pricks:
    """The sticks the model may use, m of them in time order, those within 5 min of one another as one. Arrays of
    shape (m,): `at` instants, `value` even scale, `many` how many went into each, `day` ordinal of the local date;
    `ids` the ids of the sticks in each."""

    at: Floats
    value: Floats
    many: Floats
    day: Whole
    ids: tuple[tuple[str, ...], ...]

    def __len__(self) -> int:
        return int(self.at.size)

    def where(self, kept: Mask) -> Pricks:
        """The sticks for which `kept`, shape (m,), is True."""
        ids = tuple(one for one, in_it in zip(self.ids, kept, strict=True) if in_it)
        return Pricks(self.at[kept], self.value[kept], self.many[kept], self.day[kept], ids)


def series_of(trial: Trial) -> tuple[Series, ...]:
    """Every sensor's readings that a wear covers, past its warm-up; a sensor without any has none."""
    return tuple(_series(trial, sensor) for sensor in trial.sensors)


def _series(trial: Trial, sensor: Sensor) -> Series:
    readings = trial.readings.get(sensor.id, Readings.none())
    at = readings.instant.astype(np.float64)
    wear, start, kept = _worn(trial, sensor, readings)
    calibrated = [
        s.at.instant for s in trial.sticks if s.reason is Reason.CALIBRATION and s.into == sensor.id
    ]
    epoch = np.searchsorted(np.array(sorted(calibrated), np.float64), at, side="right")
    waking = trial.question.waking or (7 * 60, 23 * 60)
    minute = (readings.instant + readings.offset) % DAY // MINUTE
    night = ~((minute >= waking[0]) & (minute < waking[1]))
    plain = readings.flag == IN_RANGE
    found = Series(
        sensor.id, at, even(readings.mg_dl), wear, (at - start) / MINUTE, epoch + 0 * wear, plain, night
    ).where(kept)
    if not len(found):
        return found
    turns = np.diff(found.wear, prepend=found.wear[0]) != 0
    turns |= np.diff(found.fresh, prepend=found.fresh[0]) != 0
    place = np.unique(found.wear, return_inverse=True)[1].astype(np.int64)
    return _averaged(replace(found, wear=place, fresh=np.cumsum(turns).astype(np.int64)))


def _worn(trial: Trial, sensor: Sensor, readings: Readings) -> tuple[Whole, Floats, Mask]:
    """For each reading: its wear, that wear's start, and whether it counts.

    A reading belongs to the wear started last before it; one that never started is passed over. Without any wear
    logged, each run of readings without a gap over 12 h is one.
    """
    at = readings.instant.astype(np.int64)
    wears = trial.wears_of(sensor.id)
    if not wears:
        run = np.asarray(np.cumsum(np.diff(at, prepend=at[:1]) > RUN_GAP), np.int64)
        first = at[np.searchsorted(run, np.arange(run[-1] + 1))] if at.size else at
        return run, first[run].astype(np.float64), np.ones(at.size, np.bool_)
    going = [wear for wear in wears if wear.ending is not Ending.NEVER_STARTED]
    if not going:
        return np.zeros(at.size, np.int64), np.zeros(at.size), np.zeros(at.size, np.bool_)
    start = np.array([wear.start.instant for wear in going], np.int64)
    last = np.iinfo(np.int64).max
    end = np.array([wear.removed.instant if wear.removed else last for wear in going], np.int64)
    place = np.searchsorted(start, at, side="right") - 1
    held = np.maximum(place, 0)
    kept = (place >= 0) & (at >= start[held] + (sensor.warm_up or 0)) & (at <= end[held])
    return held.astype(np.int64), start[held].astype(np.float64), kept


def _averaged(found: Series) -> Series:
    """Readings closer together than 4 min as means over 5 min, never over two wears, calibrations or kinds."""
    if len(found) < 3 or float(np.median(np.diff(found.at))) >= 240.0:
        return found
    first = found.at[np.searchsorted(found.fresh, found.fresh)]
    bins = np.floor((found.at - first) / BIN).astype(np.int64)
    key = np.stack((found.fresh, bins, found.plain.astype(np.int64)))
    order = np.flatnonzero((np.diff(key, axis=1, prepend=-1) != 0).any(axis=0))
    many = np.diff(np.append(order, len(found)))

    def mean(values: Floats) -> Floats:
        return np.asarray(np.add.reduceat(values, order) / many, np.float64)

    base = found.at[0]
    return Series(
        found.sensor, base + mean(found.at - base), mean(found.value), found.wear[order], mean(found.age),
        found.fresh[order], found.plain[order], found.night[order],
    )  # fmt: skip


def pricks_of(sticks: Iterable[Stick], first: float, last: float) -> Pricks:
    """The sticks between two instants that the model may use: whatever their reason, but none that was control
    solution, LOW or HIGH, or marked in time as a strip error or as taken with hands unwashed."""
    groups: list[list[Stick]] = []
    for stick in sorted(sticks, key=lambda one: one.at.instant):
        if _usable(stick) and first <= stick.at.instant <= last:
            near = groups and stick.at.instant - groups[-1][0].at.instant <= SAME_STICK
            if near:
                groups[-1].append(stick)
            else:
                groups.append([stick])
    return Pricks(
        np.array([np.mean([s.at.instant for s in group]) for group in groups], np.float64),
        np.array([even([s.glucose.mg_dl for s in group]).mean() for group in groups], np.float64),
        np.array([len(group) for group in groups], np.float64),
        np.array([group[0].at.day.toordinal() for group in groups], np.int64),
        tuple(tuple(s.id for s in group) for group in groups),
    )


def _usable(stick: Stick) -> bool:
    if stick.glucose.beyond is not None or stick.marked(MarkKind.CONTROL):
        return False
    marks = (stick.marked(MarkKind.STRIP_ERROR), stick.marked(MarkKind.UNWASHED))
    return not any(mark is not None and mark.early for mark in marks)
