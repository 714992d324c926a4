"""Wears as worn, and which reading belongs to which."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from evenhand.clock import HOUR
from evenhand.compare.shapes import Indices, Instants, Mask, Used, Worn
from evenhand.records.diary import Reason, Stick
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, Readings
from evenhand.records.sensors import Ending, Sensor, Wear
from evenhand.records.trial import Trial
from evenhand.units import HIGH, LOW, Unit

RUN_GAP = 12 * HOUR
"""A gap longer than this parts two wears where none was logged."""
COARSE = 600
"""Seconds: a sensor with a longer interval stores every 15 minutes for all that matters here."""


@dataclass(frozen=True, slots=True)
class Running:
    """The wears of one sensor as arrays, for asking which runs at an instant; by start, never-started ones left out.

    `index` into `Layout.worn`.
    """

    index: Indices
    start: Instants
    usable: Instants
    end: Instants

    def at(self, instants: Instants) -> tuple[Indices, Mask]:
        """The wear that covers each instant (-1 where none), and whether it is past its warm-up."""
        if self.index.size == 0:
            return np.full(instants.size, -1, np.int64), np.zeros(instants.size, np.bool_)
        place = np.searchsorted(self.start, instants, side="right") - 1
        held = np.maximum(place, 0)
        covered = (place >= 0) & (instants <= self.end[held])
        return np.where(covered, self.index[held], -1), covered & (instants >= self.usable[held])


def running(worn: tuple[Worn, ...], sensor: int) -> Running:
    """The running wears of the sensor with that index."""
    own = [(place, one) for place, one in enumerate(worn) if one.sensor == sensor and not never_started(one)]
    columns = np.array([(place, one.start, one.usable, one.end) for place, one in own], np.int64).reshape(
        -1, 4
    )
    return Running(columns[:, 0], columns[:, 1], columns[:, 2], columns[:, 3])


def never_started(worn: Worn) -> bool:
    """Whether it was opened and never ran; no reading belongs to it."""
    return worn.wear is not None and worn.wear.ending is Ending.NEVER_STARTED


def worn_of(trial: Trial) -> tuple[tuple[Worn, ...], tuple[int, ...]]:
    """Every wear of the trial as worn, by sensor and start, and the sensors whose wears were inferred."""
    last = last_known(trial) or 0
    worn: list[Worn] = []
    inferred: list[int] = []
    for place, sensor in enumerate(trial.sensors):
        readings = trial.readings.get(sensor.id, Readings.none())
        wears = trial.wears_of(sensor.id)
        calibrated = [stick.at.instant for stick in trial.sticks if _into(stick, sensor)]
        if wears:
            found = _logged(place, sensor, wears, readings.instant, last)
        else:
            found = _runs(place, readings.instant, last)
            inferred.extend([place] if found else [])
        worn.extend(_calibrated(found, calibrated))
    return tuple(worn), tuple(inferred)


def last_known(trial: Trial) -> int | None:
    """The instant of the last reading or stick; None without either."""
    ends = [int(readings.instant[-1]) for readings in trial.readings.values() if len(readings)]
    return max([*ends, *(stick.at.instant for stick in trial.sticks)], default=None)


def _into(stick: Stick, sensor: Sensor) -> bool:
    return stick.reason is Reason.CALIBRATION and stick.into == sensor.id


def _calibrated(found: list[Worn], calibrated: list[int]) -> list[Worn]:
    """The wears of a sensor with its calibrations, each in the wear started last before it."""
    held: dict[int, list[int]] = {}
    for at in sorted(calibrated):
        started = [one for one in found if one.start <= at and not never_started(one)]
        if started and at <= started[-1].end:
            held.setdefault(started[-1].number, []).append(at)
    return [replace(one, calibrated=tuple(held.get(one.number, ()))) for one in found]


def _logged(place: int, sensor: Sensor, wears: tuple[Wear, ...], instants: Instants, last: int) -> list[Worn]:
    """Wears from the log; the end is worked out where no removal is recorded."""
    running_on = [wear for wear in wears if wear.ending is not Ending.NEVER_STARTED]
    after = {wear.id: later.start.instant for wear, later in pairwise(running_on)}
    found = []
    for number, wear in enumerate(wears, 1):
        start = wear.start.instant
        usable = start + (sensor.warm_up or 0)
        end, ended = _end(wear, after.get(wear.id), instants, last)
        if wear.ending is Ending.NEVER_STARTED:
            usable = end + 1
        found.append(Worn(place, number, start, usable, end, ended, wear))
    return found


def _end(wear: Wear, following: int | None, instants: Instants, last: int) -> tuple[int, bool]:
    """When a wear ended, and whether it has: its removal; else its last reading where a later wear or an ending
    says that it is over; else it is still worn, up to the last thing known."""
    start = wear.start.instant
    if wear.removed is not None:
        return wear.removed.instant, True
    if wear.ending is Ending.NEVER_STARTED:
        return start, True
    if following is None and wear.ending is None:
        return max(start, last), False
    stop = instants.size if following is None else int(np.searchsorted(instants, following))
    latest = int(instants[stop - 1]) if stop else start
    return max(start, latest), True


def _runs(place: int, instants: Instants, last: int) -> list[Worn]:
    """Wears inferred from runs of readings without a gap over 12 h; their warm-up lies before their first reading."""
    if instants.size == 0:
        return []
    cuts = np.flatnonzero(np.diff(instants) > RUN_GAP) + 1
    edges = [0, *cuts.tolist(), instants.size]
    found = []
    for number, (first, after) in enumerate(pairwise(edges), 1):
        start, end = int(instants[first]), int(instants[after - 1])
        found.append(Worn(place, number, start, start, end, last - end > RUN_GAP, None))
    return found


def interval_of(sensor: Sensor, instants: Instants) -> int | None:
    """Seconds between readings: as given, else the median spacing; None with fewer than two readings."""
    if sensor.interval is not None:
        return sensor.interval
    if instants.size < 2:
        return None
    return max(1, round(float(np.median(np.diff(instants)))))


def used_readings(readings: Readings, wears: Running) -> Used:
    """A sensor's readings with their wear and level."""
    wear, counts = wears.at(readings.instant)
    flag = readings.flag.astype(np.int64)
    low = np.where(readings.mmol, LOW[Unit.MMOL_L], LOW[Unit.MG_DL])
    high = np.where(readings.mmol, HIGH[Unit.MMOL_L], HIGH[Unit.MG_DL])
    level = np.where((flag == BEYOND_LOW) | (readings.value < low), 0, 1)
    level = np.where((flag == BEYOND_HIGH) | ((readings.value > high) & (level > 0)), 2, level)
    return Used(readings.instant, readings.mg_dl, flag, level, wear, counts)
