"""The shapes every measurement works on: wears as worn, readings used, stick events, paired points, eligible minutes.

Instants are int64 seconds since the epoch. S is the number of sensors of the trial, in its order; a wear is
meant by its index in `Layout.worn`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.records.diary import Reason, Stick
from evenhand.records.sensors import Wear

Floats = NDArray[np.float64]
Instants = NDArray[np.int64]
Indices = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Worn:
    """One wear as judged. `sensor` is an index into the trial's sensors, `number` counts that sensor's wears
    from 1. Age zero is `start`; readings count from `usable` (past warm-up) up to `end`. `wear` is None where
    the wear was inferred from a run of readings. `calibrated` are instants at which it was calibrated.
    `ended` is False while it is still worn."""

    sensor: int
    number: int
    start: int
    usable: int
    end: int
    ended: bool
    wear: Wear | None
    calibrated: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Used:
    """A sensor's readings as judged, in time order; arrays of shape (n,).

    `instant` seconds; `mg_dl` at the limit where beyond; `flag` 0 plain, 1 below, 2 above the limit; `level` 0
    below 70 (3.9), 1 in range, 2 above 180 (10.0) in the unit recorded; `wear` the wear it belongs to, -1 where none
    covers it; `counts` False in warm-up and where no wear covers it.
    """

    instant: Instants
    mg_dl: Floats
    flag: Indices
    level: Indices
    wear: Indices
    counts: Mask


@dataclass(frozen=True, slots=True)
class StickEvent:
    """One moment of pricking: a stick, with its planned repeats. `at` seconds and `mg_dl` are their means;
    `flag` and `level` as in `Pairs`; `reason` that of the first; `recheck` within 15 min of a stick before it;
    `marked` carries a mark that was set later."""

    at: int
    mg_dl: float
    flag: int
    level: int
    reason: Reason
    recheck: bool
    marked: bool
    sticks: tuple[Stick, ...]


@dataclass(frozen=True, slots=True)
class Pairs:
    """Sticks with each sensor's reading beside them. E stick events (a planned repeat and its stick are one,
    their mean), in time order.

    Shapes (E,): `at`; `stick` mg/dL; `level` 0 below 70 (3.9), 1 in range, 2 above 180 (10.0), in the unit
    recorded; `stick_flag` 0 plain, 1 below the meter's limit, 2 above it; `judging` (its reason lets it judge);
    `prompted` (left out of judging only because it was prompted, or a recheck); `marked` (carries a mark that was
    set later, so judged with and without); `day` ordinal of the local date; `in_hours` within the target hours;
    `night` outside the waking hours; `slope` mg/dL per minute, NaN unknown.
    Shapes (E, S): `reading` mg/dL at the limit where beyond, NaN where there is none past warm-up and worn;
    `flag` 0 plain, 1 below, 2 above the limit; `apart` seconds, reading minus stick; `wear` index or -1;
    `reading_level` as `level`, by the sensor, -1 where none; `age` and `left` seconds since start and until end
    (NaN without a wear; `left` infinite while it is still worn); `scored` there is a reading and the stick does not
    lie beyond the same limit; `part` calibrations of that wear so far, -1 without a wear.
    """

    at: Instants
    stick: Floats
    level: Indices
    stick_flag: Indices
    judging: Mask
    prompted: Mask
    marked: Mask
    day: Indices
    in_hours: Mask
    night: Mask
    slope: Floats
    reading: Floats
    flag: Indices
    apart: Floats
    wear: Indices
    reading_level: Indices
    age: Floats
    left: Floats
    scored: Mask
    part: Indices


@dataclass(frozen=True, slots=True)
class Minutes:
    """Every minute at which any sensor was worn past warm-up, M of them: could a stick have made a pair here,
    and of which kind?

    Shapes (M,): `at`, `day`, `in_hours`, `night`, `slope` as in `Pairs`. Shapes (M, S): `wear` index of the wear
    that runs past warm-up, or -1; `have` a reading lies within the pairing limit; `reading` mg/dL, NaN where none;
    `reading_level` of that reading, -1 where none; `age`, `left`, `part` as in `Pairs`.
    """

    at: Instants
    day: Indices
    in_hours: Mask
    night: Mask
    slope: Floats
    wear: Indices
    have: Mask
    reading: Floats
    reading_level: Indices
    age: Floats
    left: Floats
    part: Indices


@dataclass(frozen=True, slots=True)
class Layout:
    """A trial laid out for measuring: computed once, read by everything in `compare`.

    `limit` is the pairing limit in seconds. Per sensor: `used` readings, `intervals` in seconds (given, else the
    median spacing, None where unknown), `uncovered` readings no wear covers; `inferred` are the sensors whose wears
    were taken from runs of readings. `events` belong to the rows of `pairs`. `left_out` counts the sticks that
    judge nothing, by code. `unplaced` counts calibrations not said to be typed into a sensor.
    """

    worn: tuple[Worn, ...]
    pairs: Pairs
    minutes: Minutes
    limit: float
    inferred: tuple[int, ...] = ()
    uncovered: tuple[int, ...] = ()
    used: tuple[Used, ...] = ()
    intervals: tuple[int | None, ...] = ()
    events: tuple[StickEvent, ...] = ()
    left_out: tuple[tuple[str, int], ...] = ()
    unplaced: int = 0
