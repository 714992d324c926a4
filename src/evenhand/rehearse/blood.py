"""Blood glucose of an invented life: meals, doses that miss, corrections, rescues, dawn, exercise, day levels.

Everything is a shaped pulse of random size and time, summed and bent softly into 40 to 400 mg/dL. The sizes
are chosen so that mean and CV look like those of insulin-treated diabetes; they are this project's invention.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenhand.rehearse.grid import Floats, Grid, Ints
from evenhand.rehearse.shapes import answer, response, soft_between, trapezoids
from evenhand.rehearse.world import Body

LEAD = 1440
"""Minutes lived before the trial begins, so that its first hour has a past."""

PER_GRAM = 3.9
"""mg/dL that a gram of carbohydrate would add without insulin."""

FLOOR, CEILING = 42.0, 372.0

_MEALS = ((465, 35, 45, 0.12), (780, 40, 60, 0.06), (1190, 45, 65, 0.03))
"""Breakfast, lunch, dinner: usual minute, its SD, median grams, chance of being skipped."""

_QUICK, _USUAL, _HEAVY = (response(mean, 2.3, 330.0) for mean in (42.0, 62.0, 95.0))
_INSULIN = response(112.0, 2.6, 330.0)
_RESCUE = response(20.0, 2.1, 210.0)
_KERNELS = (_QUICK, _USUAL, _HEAVY, _INSULIN)


@dataclass(frozen=True, slots=True)
class Life:
    """What happened: `blood` mg/dL, shape (M,); grid minutes of exercise (start, end), of meals and rescues."""

    blood: Floats
    exercise: tuple[tuple[int, int], ...]
    meals: tuple[int, ...]
    rescues: tuple[int, ...]


def live(body: Body, grid: Grid, rng: np.random.Generator, pull: Floats | None = None) -> Life:
    """Blood glucose on `grid`, whose first `LEAD` minutes are lived to have a past.

    `pull` (M,) is added to blood before it is bent into bounds: what doses that follow a wrong sensor do.
    """
    pulses = np.zeros((4, len(grid)))
    meals = _eat(body, grid, rng, pulses)
    moved, exercise = _exercise(grid, rng)
    glucose = _levels(body, grid, rng) + moved + answer(pulses, _KERNELS)
    if pull is not None:
        glucose += pull
    glucose += _corrections(glucose, grid, rng)
    rescued, rescues = _rescues(glucose, grid, rng)
    blood = soft_between(glucose + rescued, FLOOR, CEILING, (7.0, 38.0))
    return Life(blood, exercise, meals, rescues)


def _eat(body: Body, grid: Grid, rng: np.random.Generator, pulses: Floats) -> tuple[int, ...]:
    """Put meals, snacks and their doses into `pulses`; the minutes of the meals."""
    days = int(grid.day[-1]) + 1
    minute, spread, grams, skip = (np.array(column, dtype=float) for column in zip(*_MEALS, strict=True))
    when = minute + spread * rng.standard_normal((days, 3))
    late = rng.random((days, 3)) < 0.12
    when += late * rng.uniform(50, 150, (days, 3))
    size = grams * np.exp(0.32 * rng.standard_normal((days, 3))) * body.appetite
    eaten = rng.random((days, 3)) >= skip
    snacks = rng.poisson(0.9, days)
    snack_day = np.repeat(np.arange(days), snacks)
    snack_at = rng.uniform(570, 1380, snack_day.size)
    at = np.concatenate(((np.arange(days)[:, None] * 1440 + when)[eaten], snack_day * 1440 + snack_at))
    carbs = np.concatenate((size[eaten], rng.gamma(4.0, 4.5, snack_day.size)))
    start = grid.minute(at)
    rise = PER_GRAM * carbs
    _add(pulses, rng.choice(3, at.size, p=(0.25, 0.5, 0.25)), start, rise)
    counted = np.exp(1.15 * body.mismatch * rng.standard_normal(at.size) - 0.02)
    forgotten = rng.random(at.size) < np.where(carbs < 20, 0.45, 0.03)
    dosed = start + np.round(rng.uniform(-15, 22, at.size)).astype(np.int64)
    _add(pulses, np.full(at.size, 3), dosed, -rise * counted * ~forgotten)
    return tuple(sorted(int(place) for place in start[: int(eaten.sum())] if 0 < place < len(grid)))


def _add(pulses: Floats, row: Ints, at: Ints, size: Floats) -> None:
    inside = (at > 0) & (at < pulses.shape[1])
    np.add.at(pulses, (row[inside], at[inside]), size[inside])


def _levels(body: Body, grid: Grid, rng: np.random.Generator) -> Floats:
    """Resting level: another every day, dawn in the morning, and wobble."""
    days = int(grid.day[-1]) + 2
    drawn = rng.uniform(-1.0, 1.0, days + 2)
    knots = body.level + body.level_range * (0.5 * drawn[:-2] + drawn[1:-1] + 0.5 * drawn[2:])
    level = np.interp(grid.wall, np.arange(days) * 1440.0 + rng.uniform(0, 400), knots)
    dawn_at = np.arange(days) * 1440.0 + rng.normal(430, 35, days)
    dawn = np.clip(rng.normal(20, 14, days), 0.0, None)
    width = rng.uniform(110, 170, days)
    nearest = np.minimum(grid.day, days - 1)
    away = np.clip(np.abs(grid.wall - dawn_at[nearest]) / (1.6 * width[nearest]), 0.0, 1.0)
    level += dawn[nearest] * 0.5 * (1.0 + np.cos(np.pi * away))
    period = rng.uniform(55, 260, 7)
    phase = rng.uniform(0, 2 * np.pi, (2, 7))
    size = rng.uniform(2.0, 5.5, 7)
    for one, (first, second), height in zip(period, phase.T, size, strict=True):
        beat = np.sin(2 * np.pi * grid.wall[::5] / (13.7 * one) + second)
        wave = height * np.sin(2 * np.pi * grid.wall[::5] / one + first) * beat
        level += np.interp(grid.wall, grid.wall[::5], wave)
    return level


def _exercise(grid: Grid, rng: np.random.Generator) -> tuple[Floats, tuple[tuple[int, int], ...]]:
    """Dips from exercise, and when it was."""
    days = int(grid.day[-1]) + 1
    day = np.flatnonzero(rng.random(days) < 0.42)
    hour = np.where(rng.random(day.size) < 0.3, rng.normal(630, 60, day.size), rng.normal(1075, 50, day.size))
    start = grid.minute(day * 1440 + hour)
    length = np.round(rng.uniform(30, 80, day.size)).astype(np.int64)
    back = np.round(rng.uniform(120, 420, day.size)).astype(np.int64)
    corners = np.stack(
        (start + 8, start + 8 + length, start + 30 + length, start + 30 + length + back), axis=1
    )
    dips = trapezoids(len(grid), corners, -rng.uniform(18, 62, day.size))
    spans = tuple((int(a), int(a + b)) for a, b in zip(start, length, strict=True) if a + b < len(grid))
    return dips, spans


def _crossings(beyond: NDArray[np.bool_], rest: int) -> list[int]:
    """The minutes at which `beyond` becomes true, each at least `rest` minutes after the one before."""
    found: list[int] = []
    for place in np.flatnonzero(beyond[1:] & ~beyond[:-1]) + 1:
        if not found or place - found[-1] >= rest:
            found.append(int(place))
    return found


def _corrections(glucose: Floats, grid: Grid, rng: np.random.Generator) -> Floats:
    """What doses against highs take away: noticed by day, seldom by night."""
    pulses = np.zeros((1, len(grid)))
    awake = grid.within((420, 1410))
    for place in _crossings(glucose > 225.0, 150):
        late = int(rng.uniform(5, 55)) if awake[place] else int(rng.uniform(60, 300))
        at = min(place + late, len(grid) - 1)
        pulses[0, at] -= max(glucose[at] - 150.0, 0.0) * rng.uniform(0.45, 1.05)
    return answer(pulses, (_INSULIN,))


def _rescues(glucose: Floats, grid: Grid, rng: np.random.Generator) -> tuple[Floats, tuple[int, ...]]:
    """What the body and sugar add after lows: soon by day, later by night, and again where it was too little."""
    awake = grid.within((420, 1410))
    added = np.zeros(len(grid))
    found: list[int] = []
    for level in (68.0, 60.0, 54.0):
        pulses = np.zeros((1, len(grid)))
        for place in _crossings(glucose + added < level, 75):
            late = int(rng.uniform(4, 20)) if awake[place] else int(rng.uniform(8, 60))
            at = place + late
            if at < len(grid):
                found.append(at)
                depth = level - float((glucose + added)[at : at + 120].min())
                pulses[0, at] += rng.uniform(25, 60) + 0.55 * max(depth, 0.0)
        added += answer(pulses, (_RESCUE,))
    return added, tuple(sorted(found))
