"""The only place that knows phase, level, movement, day and night: named splits as masks over pairs and minutes.

A split of one sensor holds that sensor's pairs; of two or three, the common ones: sticks, and minutes, at which
all of them have a reading. Stretches in which the same wears run are told apart by `labels`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias, get_args

import numpy as np

from evenhand.clock import DAY
from evenhand.compare.shapes import Floats, Indices, Layout, Mask, Minutes, Pairs

MOVING = 1.0
"""mg/dL per minute: at least this in size is moving, less is steady, in every unit."""
_EDGE = MOVING - 1e-9

Whole: TypeAlias = Literal["all", "steady", "moving", "rising", "falling", "day", "night"]
Phase: TypeAlias = Literal["first_24h", "middle", "last_24h"]
Level: TypeAlias = Literal["below", "in_range", "above"]

WHOLE: tuple[Whole, ...] = get_args(Whole)
PHASES: tuple[Phase, ...] = get_args(Phase)
LEVELS: tuple[Level, ...] = get_args(Level)


@dataclass(frozen=True, slots=True)
class Split:
    """Which pairs count, shape (E,), and which minutes are eligible, shape (M,), for these sensors (indices).

    `minutes` is None where they cannot be counted. `least_days` is the number of pricked days below which a wear is
    left out.
    """

    name: str
    sensors: tuple[int, ...]
    pairs: Mask
    minutes: Mask | None
    least_days: int = 2

    def where(self, pairs: Mask, minutes: Mask | None) -> Split:
        """The split within another: both masks at once; minutes uncounted where they are in either."""
        both = None if self.minutes is None or minutes is None else self.minutes & minutes
        return replace(self, pairs=self.pairs & pairs, minutes=both)


def whole(layout: Layout, sensors: tuple[int, ...], name: Whole, sticks: Mask | None = None) -> Split:
    """All of the wear, or by movement, or by time of day.

    `sticks` says which events count, `Pairs.judging` where None. Events outside the target hours count in 'night'
    alone.
    """
    every = _together(layout, sensors, sticks)
    chosen = _WHOLE[name]
    return replace(every.where(chosen(layout.pairs), chosen(layout.minutes)), name=name)


def phase(layout: Layout, sensors: tuple[int, ...], name: Phase, sticks: Mask | None = None) -> Split:
    """By age: the first 24 h since start, the last 24 h before the end, and what is neither; where all these
    sensors are in it."""
    base = whole(layout, sensors, "all", sticks)
    columns = list(sensors)
    pairs, minutes = (
        _every(_PHASE[name](part.age[:, columns], part.left[:, columns]))
        for part in (layout.pairs, layout.minutes)
    )
    return replace(base.where(pairs, minutes), name=name, least_days=1)


def phase_of(name: Phase, age: Floats, left: Floats) -> Mask:
    """Which ages (seconds since start, seconds left until the end; infinite while worn) belong to a phase."""
    return _PHASE[name](age, left)


def level_by_stick(
    layout: Layout, sensors: tuple[int, ...], name: Level, sticks: Mask | None = None
) -> Split:
    """By the stick's level, the same for every sensor; its minutes cannot be counted."""
    base = whole(layout, sensors, "all", sticks)
    return replace(base.where(layout.pairs.level == LEVELS.index(name), None), name=name)


def level_by_sensor(layout: Layout, sensor: int, name: Level, sticks: Mask | None = None) -> Split:
    """By this sensor's own level."""
    base = whole(layout, (sensor,), "all", sticks)
    at = LEVELS.index(name)
    pairs, minutes = (part.reading_level[:, sensor] == at for part in (layout.pairs, layout.minutes))
    return replace(base.where(pairs, minutes), name=name)


def on_day(layout: Layout, split: Split, day: int) -> Split:
    """The split on one local date (an ordinal)."""
    return replace(
        split.where(layout.pairs.day == day, layout.minutes.day == day), name=f"day {day}", least_days=1
    )


def in_wear(layout: Layout, split: Split, wear: int) -> Split:
    """The split within one wear of its first sensor (an index into `Layout.worn`)."""
    sensor = split.sensors[0]
    pairs, minutes = (part.wear[:, sensor] == wear for part in (layout.pairs, layout.minutes))
    return replace(split.where(pairs, minutes), name=f"wear {wear}")


def in_part(layout: Layout, split: Split, part: int) -> Split:
    """The split within one part of the wears of its first sensor: after that many calibrations."""
    sensor = split.sensors[0]
    pairs, minutes = (rows.part[:, sensor] == part for rows in (layout.pairs, layout.minutes))
    return replace(split.where(pairs, minutes), name=f"part {part}")


def uncalibrated(layout: Layout, split: Split) -> Split:
    """The split before any calibration of any of its sensors."""
    pairs, minutes = (
        _every(rows.part[:, list(split.sensors)] <= 0) for rows in (layout.pairs, layout.minutes)
    )
    return split.where(pairs, minutes)


def labels(layout: Layout, wear: Indices, sensors: tuple[int, ...]) -> Indices:
    """A number for the wears that run together, from `wear`, shape (n, S): the wear itself for one sensor."""
    base = len(layout.worn)
    label: Indices = wear[:, sensors[0]]
    for sensor in sensors[1:]:
        label = label * base + wear[:, sensor]
    return label


def wears_in(layout: Layout, label: int, sensors: tuple[int, ...]) -> tuple[int, ...]:
    """The wears (indices) behind a label, in the order of the sensors."""
    found: list[int] = []
    for _ in sensors[1:]:
        label, wear = divmod(label, len(layout.worn))
        found.append(wear)
    return (label, *reversed(found))


def first_day(layout: Layout) -> int | None:
    """The local date (ordinal) that is day 1 of the trial: of its first eligible minute or stick; None without either."""
    days = [int(part.day.min()) for part in (layout.pairs, layout.minutes) if part.day.size]
    return min(days, default=None)


def _together(layout: Layout, sensors: tuple[int, ...], sticks: Mask | None) -> Split:
    """Events and minutes at which all these sensors have a reading."""
    chosen = list(sensors)
    judging = layout.pairs.judging if sticks is None else sticks
    pairs = judging & _every(layout.pairs.scored[:, chosen])
    return Split("", sensors, pairs, _every(layout.minutes.have[:, chosen]))


def _every(mask: Mask) -> Mask:
    """Whether it holds for every column, shape (n,); column by column, which is fast for few."""
    held = mask[:, 0]
    for column in range(1, mask.shape[1]):
        held = held & mask[:, column]
    return held


def _steady(slope: Floats) -> Mask:
    return np.abs(slope) < _EDGE  # NaN is neither steady nor moving


_WHOLE: dict[Whole, Callable[[Pairs | Minutes], Mask]] = {
    "all": lambda rows: rows.in_hours,
    "steady": lambda rows: rows.in_hours & _steady(rows.slope),
    "moving": lambda rows: rows.in_hours & (np.abs(rows.slope) >= _EDGE),
    "rising": lambda rows: rows.in_hours & (rows.slope >= _EDGE),
    "falling": lambda rows: rows.in_hours & (rows.slope <= -_EDGE),
    "day": lambda rows: rows.in_hours & ~rows.night,
    "night": lambda rows: rows.night,
}

_PHASE: dict[Phase, Callable[[Floats, Floats], Mask]] = {
    "first_24h": lambda age, _left: age < DAY,
    "middle": lambda age, left: (age >= DAY) & (left >= DAY),
    "last_24h": lambda _age, left: left < DAY,
}
