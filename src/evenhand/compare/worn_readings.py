"""A sensor's readings as judged: worn, past warm-up, in their consensus range, and how much time they cover."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenhand.clock import DAY
from evenhand.compare.local import EPOCH_ORDINAL
from evenhand.compare.shapes import Floats, Indices, Instants, Layout, Mask
from evenhand.compare.wears import never_started
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, Readings
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.units import HIGH, LOW, VERY_HIGH, VERY_LOW, Unit

RANGES = 5
"""Consensus ranges: 0 below 54, 1 from 54 to 69, 2 from 70 to 180, 3 from 181 to 250, 4 above 250 mg/dL."""


def consensus_range(value: ArrayLike, mmol: ArrayLike, flag: ArrayLike) -> Indices:
    """The consensus range, 0 to 4, of values as recorded; all of shape (n,).

    `mmol` is True where the value is in mmol/L: then the limits are 3.0, 3.9, 10.0, 13.9, not conversions. `flag` as
    in `Readings`: 'at most the low limit' is in range 0, 'at least the high limit' in range 4, whatever the limit.
    Source: Battelino et al., Diabetes Care 2019;42:1593-1603, Table 1.

    >>> consensus_range([70, 180, 3.9, 10.0, 40], [False, False, True, True, False], [0, 0, 0, 0, 1]).tolist()
    [2, 2, 2, 2, 0]
    """
    v, molar, beyond = np.asarray(value, np.float64), np.asarray(mmol, np.bool_), np.asarray(flag)
    found = np.zeros(v.shape, np.int64)
    for limit in (VERY_LOW, LOW):
        found += v >= np.where(molar, limit[Unit.MMOL_L], limit[Unit.MG_DL])
    for limit in (HIGH, VERY_HIGH):
        found += v > np.where(molar, limit[Unit.MMOL_L], limit[Unit.MG_DL])
    found[beyond == BEYOND_LOW] = 0
    found[beyond == BEYOND_HIGH] = RANGES - 1
    return found


@dataclass(frozen=True, slots=True)
class WornReadings:
    """The readings of one sensor that count, n of them in time order. Shapes (n,): `at` instants; `mg_dl`, at the
    limit where beyond; `consensus` range 0 to 4; `flag` as in `Readings`; `day` ordinal of the local date; `wear`
    index into `Layout.worn`. `step` is the seconds from one reading to the next, None where not known."""

    at: Instants
    mg_dl: Floats
    consensus: Indices
    flag: Indices
    day: Indices
    wear: Indices
    step: int | None


def worn_readings(trial: Trial, layout: Layout, sensor: int) -> WornReadings:
    """The readings of the sensor with that place in the trial: those past warm-up within a wear of it.

    A reading belongs to the wear started last before it, one that never started aside. Readings that no wear covers
    are not among them.
    """
    record = trial.sensors[sensor]
    readings = trial.readings.get(record.id, Readings.none())
    at = readings.instant.astype(np.int64)
    wears = sorted(
        (
            index
            for index, worn in enumerate(layout.worn)
            if worn.sensor == sensor and not never_started(worn)
        ),
        key=lambda index: layout.worn[index].start,
    )
    starts = np.array([layout.worn[index].start for index in wears], np.int64)
    place = np.searchsorted(starts, at, side="right") - 1
    wear = np.full(at.shape, -1, np.int64)
    kept = np.zeros(at.shape, np.bool_)
    for number, index in enumerate(wears):
        mine = place == number
        wear[mine] = index
        kept |= mine & (at >= layout.worn[index].usable) & (at <= layout.worn[index].end)
    consensus = consensus_range(readings.value, readings.mmol, readings.flag)
    day = (at + readings.offset) // DAY + EPOCH_ORDINAL
    return WornReadings(
        at[kept],
        readings.mg_dl[kept],
        consensus[kept],
        readings.flag[kept].astype(np.int64),
        day[kept],
        wear[kept],
        usual_step(record, at),
    )


def usual_step(sensor: Sensor, at: Instants) -> int | None:
    """Seconds from one reading to the next: as stated for the sensor, else the median of those seen.

    None where neither is known (fewer than two readings).
    """
    if sensor.interval is not None:
        return sensor.interval
    steps = np.diff(at)
    steps = steps[steps > 0]
    return int(np.median(steps)) if steps.size else None


@dataclass(frozen=True, slots=True)
class Cover:
    """How much of a stretch readings cover: `seconds` with readings, and the gaps between, as (start, end)
    instants in time order; together exactly the stretch."""

    seconds: int
    gaps: tuple[tuple[int, int], ...]


def cover(at: Instants, start: int, end: int, step: int) -> Cover:
    """What readings at the instants `at` (in time order, within start to end) cover of that stretch.

    A reading covers `step` seconds from its own time, and all the time up to the next where that is at most one and
    a half steps away; what is left over is a gap. The stretch before the first reading is a gap where it is longer
    than one and a half steps, else covered.

    >>> import numpy as np
    >>> cover(np.array([0, 300, 900, 1200]), 0, 1500, 300)
    Cover(seconds=1200, gaps=((600, 900),))
    """
    if end <= start:
        return Cover(0, ())
    edges = np.concatenate([[start - step], at, [end]]).astype(np.int64)
    long = np.diff(edges) > 1.5 * step
    if at.size:
        long[0] = at[0] - start > 1.5 * step
    gaps = tuple(
        (int(edges[i]) + step, int(edges[i + 1]))
        for i in np.flatnonzero(long)
        if edges[i] + step < edges[i + 1]
    )
    return Cover(end - start - sum(stop - begin for begin, stop in gaps), gaps)


def nearest(at: Instants, wanted: Instants) -> Indices:
    """For each of `wanted`, the index of the nearest of `at` (in order, not empty); of two as near, the earlier.

    >>> import numpy as np
    >>> nearest(np.array([0, 10, 20]), np.array([-5, 5, 16, 99])).tolist()
    [0, 0, 2, 2]
    """
    after = np.clip(np.searchsorted(at, wanted), 1, max(at.size - 1, 1))
    if at.size == 1:
        return np.zeros(wanted.shape, np.int64)
    before = after - 1
    return np.where(wanted - at[before] <= at[after] - wanted, before, after).astype(np.int64)


def common_minutes(layout: Layout) -> Mask:
    """Minutes (M,) at which every sensor is worn past warm-up and has a reading within the pairing limit."""
    minutes = layout.minutes
    return np.asarray((minutes.have & (minutes.wear >= 0)).all(axis=1), np.bool_)
