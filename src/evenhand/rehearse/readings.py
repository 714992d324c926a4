"""From fluid glucose and faults to what a sensor keeps: rounded values, limit words, gaps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import MINUTE
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, IN_RANGE
from evenhand.rehearse.grid import Floats, Grid, Ints
from evenhand.rehearse.shapes import delayed
from evenhand.rehearse.wears import Faults, Stretch
from evenhand.rehearse.world import GapStyle, Model, Script, Trouble
from evenhand.units import FACTOR, Unit

WHITE = 0.8
"""SD in mg/dL of what differs from one reading to the next without memory."""


class Cause(StrEnum):
    """Why readings are missing."""

    SENSOR = "sensor"
    PHONE = "phone"


@dataclass(frozen=True, slots=True)
class Gap:
    """Readings missing from grid minute `start` to `end`, and why."""

    start: int
    end: int
    cause: Cause


@dataclass(frozen=True, slots=True)
class Slots:
    """The moments one sensor would keep a reading, if nothing went missing. Shapes (n,): grid `minute`, the
    `instant` (a wear's readings fall on its own second), `noise` mg/dL without memory."""

    minute: Ints
    instant: Ints
    noise: Floats


def spread(glucose: Floats) -> Floats:
    """How errors grow with glucose: 1 at 120 mg/dL, 0.5 at 0, nearly in proportion far up.

    >>> spread(np.array([0.0, 120.0, 240.0])).round(2).tolist()
    [0.5, 1.0, 1.8]
    """
    return np.asarray(np.hypot(glucose, 70.0) / np.hypot(120.0, 70.0), dtype=np.float64)


def sensed(fluid: Floats, found: Faults, shared: Floats, delay: float) -> Floats:
    """What the sensor would read at every minute, in mg/dL, before rounding; NaN where none is worn."""
    local = delayed(fluid, delay)
    grown = spread(local)
    series = local * (1.0 + found.gain) + found.offset + found.pressed
    series += grown * (found.level + shared + found.fast)
    return np.where(found.worn >= 0, np.maximum(series, 5.0), np.nan)


def slots(found: Faults, model: Model, grid: Grid, rng: np.random.Generator) -> Slots:
    """The reading moments of every wear, from the end of its warm-up to its end."""
    parts, seconds = [], []
    for wear in found.wears:
        minutes = np.arange(wear.usable + int(rng.integers(0, model.interval)), wear.end, model.interval)
        parts.append(minutes)
        seconds.append(np.full(minutes.size, int(rng.integers(0, 60))))
    minute = np.concatenate(parts).astype(np.int64)
    instant = grid.start + MINUTE * minute + np.concatenate(seconds)
    return Slots(minute, instant, WHITE * rng.standard_normal(minute.size))


def recorded(series: Floats, when: Slots, model: Model) -> tuple[Floats, NDArray[np.int8]]:
    """Values in the model's unit as it prints them (the limit itself beyond the limits) and flags, (n,)."""
    kept = series[when.minute] + when.noise
    low, high = limits(model)
    value = np.floor(kept + 0.5) if model.unit is Unit.MG_DL else np.floor(kept / FACTOR * 10 + 0.5) / 10
    flag = np.full(value.size, IN_RANGE, dtype=np.int8)
    flag[value < low], flag[value > high] = BEYOND_LOW, BEYOND_HIGH
    return np.clip(value, low, high), flag


def limits(model: Model) -> tuple[float, float]:
    """The measuring limits in the unit the model records."""
    if model.unit is Unit.MG_DL:
        return model.low, model.high
    return round(model.low / FACTOR, 1), round(model.high / FACTOR, 1)


def gaps(style: GapStyle, off: Floats, found: Faults, rng: np.random.Generator) -> tuple[Gap, ...]:
    """Draw a sensor's gaps. `off` is how far it is off in mg/dL, shape (M,).

    Plain: 0.5 a day of 15 to 100 min by the sensor, 0.12 a day of 0.5 to 4 h with the phone elsewhere. Where
    wrong: the chance grows steeply with the error, so that the worst readings are the likeliest to be missing.
    """
    if style is GapStyle.NONE:
        return ()
    minutes = off.size
    if style is GapStyle.WHERE_WRONG:
        block = np.arange(15, minutes, 30)
        size = np.nan_to_num(np.abs(off[block]))
        start = block[rng.random(block.size) < np.clip(0.003 * np.exp(size / 7.5), 0.0, 0.8)] - 15
        end = start + rng.integers(20, 60, start.size)
    else:
        start = rng.integers(0, minutes, rng.poisson(0.5 * minutes / 1440))
        end = start + rng.integers(15, 100, start.size)
    away = rng.integers(0, minutes, rng.poisson(0.12 * minutes / 1440))
    drawn = [Gap(int(a), int(b), Cause.SENSOR) for a, b in zip(start, end, strict=True)]
    drawn += [Gap(int(a), int(a + rng.integers(30, 240)), Cause.PHONE) for a in away]
    usable = [gap for gap in drawn if gap.end < minutes and found.usable[gap.start] and found.usable[gap.end]]
    return tuple(sorted(usable, key=lambda gap: gap.start))


def scripted_gaps(sensor: int, script: tuple[Script, ...], grid: Grid) -> tuple[Gap, ...]:
    """The gaps of one sensor that are told."""
    causes = {Trouble.SILENT: Cause.SENSOR, Trouble.PHONE_AWAY: Cause.PHONE}
    told = []
    for line in script:
        if line.sensor == sensor and line.what in causes:
            start = int(grid.minute(np.array([line.day * 1440 + line.minute]))[0])
            told.append(Gap(start, start + line.minutes, causes[line.what]))
    return tuple(told)


def without(missing: tuple[Gap, ...], minutes: int) -> NDArray[np.bool_]:
    """Which grid minutes lie in no gap, shape (M,)."""
    present = np.ones(minutes, dtype=np.bool_)
    for gap in missing:
        present[gap.start : gap.end] = False
    return present


def strays(series: Floats, blood: Floats, tolerance: float = 20.0) -> tuple[Stretch, ...]:
    """Stretches of at least 20 min in which a sensor was out of tolerance; a return of under 15 min does
    not end one. Grid minutes from (included) to (excluded)."""
    limit = np.where(blood < 100.0, tolerance, tolerance / 100 * blood)
    out = np.abs(series - blood) > limit
    edges = np.flatnonzero(np.diff(np.concatenate(([False], out, [False])).astype(np.int8)))
    spans: list[list[int]] = []
    for start, end in edges.reshape(-1, 2).tolist():
        if spans and start - spans[-1][1] < 15:
            spans[-1][1] = end
        else:
            spans.append([start, end])
    return tuple((start, end) for start, end in spans if end - start >= 20)
