"""When sticks are taken: planned, by habit, prompted by what sensors show, repeated, typed into a sensor."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from evenhand.records.diary import Reason
from evenhand.rehearse.grid import Floats, Grid, Ints
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.wears import Faults
from evenhand.rehearse.world import Calibrating, Schedule, World
from evenhand.units import FACTOR, Unit


@dataclass(frozen=True, slots=True)
class Pricked:
    """A stick: grid minute, why, its value in the meter's unit as printed; which sensor (index) it was typed
    into, whether it repeats the one before; the sensor (index) whose low alarm it answers, if any."""

    minute: int
    reason: Reason
    value: float = 0.0
    into: int | None = None
    repeat: bool = False
    alarm: int | None = None


def planned_minutes(world: World, grid: Grid, rng: np.random.Generator) -> Ints:
    """The grid minutes of planned sticks, in order, by the world's schedule; (n,)."""
    first, last = world.waking
    days = np.arange(int(grid.day[-1]) + 1)
    wanted = np.full(days.size, float(world.sticks))
    if world.schedule is Schedule.UNEVEN:
        wanted *= rng.choice((0.25, 0.7, 1.0, 2.05), days.size)
    elif world.schedule is Schedule.HALF_DAYS:
        wanted *= rng.permutation(days % 2)
    each = np.floor(wanted + rng.random(days.size)).astype(np.int64)
    day = np.repeat(days, each)
    if world.schedule is Schedule.CLUMPED:
        at = _clumps(each, (first, last), rng)
    elif world.schedule is Schedule.PLANNED:
        place = np.concatenate([np.arange(many) for many in each] or [np.empty(0)])
        at = first + (place + rng.random(day.size)) * (last - first) / np.repeat(np.maximum(each, 1), each)
    else:
        at = rng.uniform(first, last, day.size)
    minutes = grid.minute(day * 1440 + np.floor(at))
    inside = (minutes > 0) & (minutes < len(grid)) & (day * 1440 + at > grid.wall[0])
    return np.unique(minutes[inside])


def _clumps(each: Ints, hours: tuple[int, int], rng: np.random.Generator) -> Floats:
    """Minutes of the day in clumps of up to three, 17 to 40 min apart."""
    parts = []
    for many in each:
        heads = rng.uniform(hours[0], hours[1] - 85, -(-int(many) // 3))
        steps = np.concatenate(
            (np.zeros((heads.size, 1)), np.cumsum(rng.uniform(17, 40, (heads.size, 2)), axis=1)), axis=1
        )
        parts.append((heads[:, None] + steps).ravel()[: int(many)])
    return np.concatenate(parts)


def habit_minutes(world: World, grid: Grid, rng: np.random.Generator) -> Ints:
    """Sticks at waking and at bedtime, `world.habit` a day on average; (n,)."""
    days = np.arange(int(grid.day[-1]) + 1)
    at = np.stack(
        (rng.normal(world.waking[0] + 25, 12, days.size), rng.normal(world.waking[1] - 25, 15, days.size))
    )
    taken = rng.random(at.shape) < world.habit / 2
    minutes = grid.minute((days * 1440 + np.floor(at))[taken])
    return np.unique(minutes[(minutes > 0) & (minutes < len(grid))])


def prompted_minutes(
    many: int, showing: tuple[Floats, ...], grid: Grid, waking: tuple[int, int], rng: np.random.Generator
) -> Ints:
    """`many` minutes at which something looked odd: the sensors part, or one is low. `showing` holds what
    each shows at every minute (NaN: nothing). By night a third as likely."""
    filled = np.stack(showing)
    seen = np.isfinite(filled)
    lowest = np.where(seen, filled, 999.0).min(axis=0)
    apart = np.where(seen.sum(axis=0) > 1, np.where(seen, filled, -999.0).max(axis=0) - lowest, 0.0)
    weight = np.clip(apart - 10.0, 0.0, 60.0) / 20.0 + 1.5 * (lowest < 75.0) + 1e-6
    weight *= np.where(grid.within(waking), 1.0, 0.33) * seen.any(axis=0)
    total = np.cumsum(weight)
    if many == 0 or total[-1] <= 0:
        return np.empty(0, dtype=np.int64)
    return np.unique(np.searchsorted(total, rng.random(many) * total[-1]).astype(np.int64))


@dataclass(frozen=True, slots=True)
class Finger:
    """What sticks are taken from: blood as the meter shows it (mg/dL, shape (M,)), the meter's noise and unit."""

    grid: Grid
    blood: Floats
    noise: MeterNoise
    unit: Unit

    def prick(self, minutes: Ints, reason: Reason, rng: np.random.Generator) -> list[Pricked]:
        """Sticks at these minutes."""
        values = printed(self.noise.draw(self.blood[minutes], rng), self.unit)
        return [
            Pricked(minute, reason, value)
            for minute, value in zip(minutes.tolist(), values.tolist(), strict=True)
        ]

    def again(self, sticks: list[Pricked], many: int, rng: np.random.Generator) -> list[Pricked]:
        """A second stick 2 min after each of `many` of these (fewer where there are fewer)."""
        usable = [stick for stick in sticks if stick.minute + 2 < self.blood.size]
        chosen = [usable[place] for place in sorted(rng.permutation(len(usable))[:many].tolist())]
        minutes = np.array([stick.minute + 2 for stick in chosen], dtype=np.int64)
        second = self.prick(minutes, Reason.PLAN, rng)
        return [replace(new, reason=old.reason, repeat=True) for new, old in zip(second, chosen, strict=True)]


def printed(mg_dl: Floats, unit: Unit) -> Floats:
    """Values as the meter prints them: whole mg/dL, or mmol/L to one place."""
    if unit is Unit.MG_DL:
        return np.asarray(np.floor(mg_dl + 0.5), dtype=np.float64)
    return np.asarray(np.floor(mg_dl / FACTOR * 10 + 0.5) / 10, dtype=np.float64)


def calibrate(
    series: Floats, found: Faults, sensor: tuple[int, Calibrating], finger: Finger, rng: np.random.Generator
) -> tuple[Floats, list[Pricked]]:
    """The series of one sensor after the wearer has typed sticks into it, and those sticks.

    `sensor` is its index, and when it is calibrated. From 5 min after the stick to the wear's end the sensor
    is moved by what separated them.
    """
    place, when = sensor
    if when is Calibrating.NEVER:
        return series, []
    moved, taken = series.copy(), []
    for wear in found.wears:
        last = -(10**9)
        for minute in _chances(wear.usable + 600, wear.end - 600, when, finger.grid).tolist():
            if minute - last < (2640 if when is Calibrating.EVERY_SECOND_DAY else 1440):
                continue
            (stick,) = finger.prick(np.array([minute]), Reason.CALIBRATION, rng)
            value = stick.value if finger.unit is Unit.MG_DL else stick.value * FACTOR
            shift = value - float(moved[minute])
            if when is Calibrating.WHEN_OFF and abs(shift) < 25.0:
                continue
            moved[minute + 5 : wear.end] = np.maximum(moved[minute + 5 : wear.end] + shift, 5.0)
            taken.append(replace(stick, into=place))
            last = minute
    return moved, taken


def _chances(start: int, end: int, when: Calibrating, grid: Grid) -> Ints:
    """Grid minutes at which the wearer thinks of calibrating: 08:20, or 12:20 and 19:40."""
    hours = (500,) if when is Calibrating.EVERY_SECOND_DAY else (740, 1180)
    minutes = np.flatnonzero(np.isin(grid.of_day, hours))
    return minutes[(minutes >= start) & (minutes < end)]


def alarmed(stick: Pricked, showing: tuple[Floats, ...], level: float = 70.0) -> Pricked:
    """The stick with the sensor whose low alarm it answers: the lowest one that shows less than `level`."""
    shown = [float(one[stick.minute]) for one in showing]
    below = [place for place, value in enumerate(shown) if value < level]
    return replace(stick, alarm=min(below, key=lambda place: shown[place])) if below else stick
