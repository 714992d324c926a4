"""The faults of each wear: gain, offset, steps, slopes, bursts, shocks, first and last day, pressure lows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.records.sensors import Ending
from evenhand.rehearse.grid import Floats, Grid
from evenhand.rehearse.shapes import trapezoids
from evenhand.rehearse.world import Kind, Model, Planned, Script, Trouble

Stretch = tuple[int, int]
"""Grid minutes from (included) to (excluded)."""


@dataclass(frozen=True, slots=True)
class WearTruth:
    """One wear as it truly was: grid minutes of start, first reading and end, and what was drawn for it.

    `gain` is a fraction, `offset` mg/dL; `slow`, `fast`, `first_day`, `last_day` mg/dL at 120; `wanders` says
    that the first day's trouble wandered instead of fading.
    """

    number: int
    start: int
    usable: int
    end: int
    ending: Ending
    replaces: bool
    gain: float
    offset: float
    slow: float
    fast: float
    first_day: float
    last_day: float
    wanders: bool
    pressure: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Faults:
    """The errors of one sensor over the whole trial, shapes (M,): `level` and `fast` in mg/dL at 120,
    `gain` a fraction, `offset` and `pressed` in mg/dL; 0 where no wear runs. `worn` is -1 there, else the
    wear's place in `wears`; `usable` is past warm-up."""

    wears: tuple[WearTruth, ...]
    worn: NDArray[np.int64]
    usable: NDArray[np.bool_]
    gain: Floats
    offset: Floats
    level: Floats
    fast: Floats
    pressed: Floats


def faults(model: Model, planned: tuple[Planned, ...], grid: Grid, rng: np.random.Generator) -> Faults:
    """Draw every wear of a sensor; grid minute 0 is the trial's start."""
    minutes = len(grid)
    gain, offset, level, fast, pressed = (np.zeros(minutes) for _ in range(5))
    worn = np.full(minutes, -1, dtype=np.int64)
    usable = np.zeros(minutes, dtype=np.bool_)
    wears = []
    for number, plan in enumerate(planned):
        start = round(plan.start * 1440)
        end = min(round((plan.start + plan.days) * 1440), minutes)
        span = slice(start, end)
        wear = _draw(model, plan, (number, start, end), grid, rng)
        wears.append(wear)
        worn[span] = number
        usable[wear.usable : end] = True
        gain[span], offset[span] = wear.gain, wear.offset
        level[span] = _slow(wear, rng) + _first_day(wear, rng) + _last_day(wear)
        fast[span] = _fast(wear, model.kind, rng)
        pressed[span] = _pressed(wear, rng)
    return Faults(tuple(wears), worn, usable, gain, offset, level, fast, pressed)


def _draw(
    model: Model, plan: Planned, span: tuple[int, int, int], grid: Grid, rng: np.random.Generator
) -> WearTruth:
    kind, (number, start, end) = model.kind, span
    normal = rng.standard_normal(6)
    return WearTruth(
        number=number,
        start=start,
        usable=min(start + model.warm_up, end),
        end=end,
        ending=plan.ending,
        replaces=plan.replaces,
        gain=kind.gain[0] + kind.gain[1] * normal[0],
        offset=kind.offset[0] + kind.offset[1] * normal[1],
        slow=kind.slow * float(np.exp(kind.vary * normal[2])),
        fast=kind.fast * float(np.exp(kind.vary * normal[3])),
        first_day=kind.first_day * normal[4],
        last_day=kind.last_day * normal[5] if plan.ending is not Ending.FAILED else -45.0,
        wanders=bool(rng.random() < 0.3),
        pressure=_nights(kind, grid, (start, end), rng),
    )


def _nights(kind: Kind, grid: Grid, span: Stretch, rng: np.random.Generator) -> tuple[Stretch, ...]:
    """Stretches of pressure lows: at most one a night, 25 to 110 min long."""
    days = int(grid.day[-1]) + 1
    pressed = np.flatnonzero(rng.random(days) < kind.pressure)
    start = grid.minute(pressed * 1440 + 1440 + rng.uniform(-30, 310, pressed.size))
    end = start + np.round(rng.uniform(25, 110, pressed.size)).astype(np.int64)
    inside = (start >= span[0] + 120) & (end < span[1])
    return tuple((int(a), int(b)) for a, b in zip(start[inside], end[inside], strict=True))


def _slow(wear: WearTruth, rng: np.random.Generator) -> Floats:
    """Steps, slopes and bursts, scaled together to the wear's `slow` (root mean square, on average)."""
    length = wear.end - wear.start
    days = length / 1440
    knots = max(int(rng.poisson(days * 0.6)), 1) + 2
    at = np.concatenate(([0.0], np.sort(rng.uniform(0, length, knots - 2)), [float(length)]))
    slopes = np.interp(np.arange(length), at, rng.uniform(-1.7, 1.7, knots) * 0.65)
    steps = np.zeros(length)
    for place in rng.integers(0, length, rng.poisson(days * 0.4)):
        rise = int(rng.integers(15, 75))
        steps[place:] += rng.uniform(-1, 1) * 1.1 * np.clip(np.arange(length - place) / rise, 0.0, 1.0)
    steps -= steps.mean() * rng.uniform(0.3, 1.0)
    many = int(rng.poisson(days * 0.9))
    foot = rng.integers(-60, length, many)
    shape = np.cumsum(
        np.stack((rng.integers(15, 60, many), rng.integers(60, 420, many), rng.integers(20, 120, many))),
        axis=0,
    )
    corners = np.concatenate((foot[:, None], foot[:, None] + shape.T), axis=1)
    bursts = trapezoids(length, corners, rng.choice((-1.0, 1.0), many) * rng.gamma(3.0, 0.5, many))
    return wear.slow * (slopes + steps + bursts)


def _first_day(wear: WearTruth, rng: np.random.Generator) -> Floats:
    """Trouble after the start: fades hyperbolically, or wanders and is gone after 30 h."""
    age = np.arange(wear.end - wear.start) / 60.0
    if not wear.wanders:
        return np.asarray(wear.first_day * 1.5 / (1.0 + age / 6.0) ** 2, dtype=np.float64)
    period, phase = rng.uniform(4.0, 11.0), rng.uniform(0, 2 * np.pi)
    fading = np.clip(1.0 - age / 30.0, 0.0, 1.0)
    return np.asarray(
        wear.first_day * 1.3 * fading * np.sin(2 * np.pi * age / period + phase), dtype=np.float64
    )


def _last_day(wear: WearTruth) -> Floats:
    left = (wear.end - wear.start - np.arange(wear.end - wear.start)) / 1440.0
    return wear.last_day * np.clip(1.0 - left, 0.0, 1.0)


def _fast(wear: WearTruth, kind: Kind, rng: np.random.Generator) -> Floats:
    """A moving average of heavy-tailed shocks with humps among them; bigger on the first and last day.

    Shocks come every 5 min from Student's t with 4 degrees of freedom and are averaged under a raised cosine
    75 min wide; 2.5 humps a day of 30 to 130 min.
    """
    length = wear.end - wear.start
    count = length // 5 + 17
    window = 1.0 - np.cos(2 * np.pi * np.arange(1, 15) / 15)
    window /= np.sqrt(2.0 * (window**2).sum())
    shocks = np.convolve(rng.standard_t(4, count), window, mode="valid")
    series = 0.85 * np.interp(np.arange(length), np.arange(shocks.size) * 5.0, shocks)
    many = int(rng.poisson(2.5 * length / 1440))
    foot, wide = rng.integers(0, length, many), rng.integers(30, 130, many)
    corners = np.stack((foot, foot + wide // 2, foot + wide // 2 + 1, foot + wide + 1), axis=1)
    series += trapezoids(length, corners, rng.choice((-1.0, 1.0), many) * rng.gamma(4.0, 0.45, many))
    age = np.arange(length) / 1440.0
    louder = 1.0 + (kind.first_noise - 1.0) * np.clip(1.0 - age, 0.0, 1.0)
    louder += (kind.last_noise - 1.0) * np.clip(1.0 - age[::-1], 0.0, 1.0)
    return wear.fast * louder * series


def _pressed(wear: WearTruth, rng: np.random.Generator) -> Floats:
    spans = np.array(wear.pressure, dtype=np.int64).reshape(-1, 2) - wear.start
    corners = np.stack((spans[:, 0], spans[:, 0] + 8, spans[:, 1] - 12, spans[:, 1]), axis=1)
    return trapezoids(wear.end - wear.start, corners, -rng.uniform(22, 62, spans.shape[0]))


def scripted(found: Faults, sensor: int, script: tuple[Script, ...], grid: Grid) -> Faults:
    """The faults with the told stretches of one sensor added (pressure lows and strays)."""
    pressed, wears = found.pressed.copy(), list(found.wears)
    for line in script:
        if line.sensor != sensor or line.what not in (Trouble.PRESSURE, Trouble.STRAY):
            continue
        start = int(grid.minute(np.array([line.day * 1440 + line.minute]))[0])
        end = start + line.minutes
        edge = 10 if line.what is Trouble.PRESSURE else min(60, line.minutes // 3)
        corners = np.array([[start, start + edge, end - edge, end]])
        pressed += trapezoids(len(grid), corners, np.array([line.size])) * (found.worn >= 0)
        if line.what is Trouble.PRESSURE:
            wears = [_with_pressure(wear, (start, end)) for wear in wears]
    return Faults(
        tuple(wears), found.worn, found.usable, found.gain, found.offset, found.level, found.fast, pressed
    )


def _with_pressure(wear: WearTruth, stretch: Stretch) -> WearTruth:
    if not wear.start <= stretch[0] < wear.end:
        return wear
    return replace(wear, pressure=tuple(sorted((*wear.pressure, stretch))))


def shared_error(size: float, minutes: int, rng: np.random.Generator) -> Floats:
    """A slow error that all sensors share (where the fluid itself differs), root mean square `size` mg/dL at
    120, on average: slopes between knots some 30 h apart and bursts. Shape (M,)."""
    days = minutes / 1440
    knots = int(days * 0.8) + 3
    at = np.linspace(-rng.uniform(0, 1440), minutes + 1440.0, knots)
    slopes = np.interp(np.arange(minutes), at, rng.uniform(-1.9, 1.9, knots))
    many = int(rng.poisson(days * 0.9))
    foot, wide = rng.integers(-60, minutes, many), rng.integers(90, 480, many)
    corners = np.stack((foot, foot + 40, foot + 40 + wide, foot + 80 + wide), axis=1)
    return size * (
        slopes + trapezoids(minutes, corners, rng.choice((-1.0, 1.0), many) * rng.gamma(3.0, 0.4, many))
    )
