"""When to prick: one random minute in each of equal slots of a day's usable minutes.

A minute is usable where the wearer is awake, the hours are not quiet, and every sensor reads. All usable minutes are
equally likely, on every day: more sticks on a first or last day would pull the average of a wear towards it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from evenhand.compare.events import RECHECK_WITHIN
from evenhand.compare.shapes import Instants, Mask
from evenhand.plan.arms import stream
from evenhand.plan.hours import Hours, Stretch

DRAWN_AGAIN = 12
"""So often at most a minute is drawn again that lies too close to the one before it."""


def usable(
    hours: Hours, reading: Sequence[Sequence[Stretch]], start: int, end: int
) -> tuple[Instants, Instants]:
    """The usable minutes of [start, end) and the ordinals of their local dates; `reading` holds, sensor by sensor, the
    stretches in which it reads."""
    at, when = hours.minutes(start, end)
    kept = np.ones(at.size, np.bool_)
    for stretches in reading:
        kept &= _inside(at, stretches)
    return at[kept], when.day[kept]


def _inside(at: Instants, stretches: Iterable[Stretch]) -> Mask:
    found = np.zeros(at.size, np.bool_)
    for start, end in stretches:
        found |= (at >= start) & (at < end)
    return found


def drawn(at: Instants, day: Instants, a_day: float, full: int, seed: int) -> tuple[int, ...]:
    """The drawn minutes among usable ones (`at`, of the dates `day`), `a_day` on a day with `full` usable minutes and fewer
    in proportion on a shorter one. Every date has its own stream, so that a change elsewhere leaves a day as it was.

    >>> found = drawn(np.arange(0, 86400, 60), np.zeros(1440, int), 4.0, 1440, 1)
    >>> [minute // 21600 for minute in found]
    [0, 1, 2, 3]
    """
    found: list[int] = []
    if full == 0 or a_day <= 0:
        return ()
    days, first, sizes = np.unique(day, return_index=True, return_counts=True)
    for ordinal, begin, size in zip(days.tolist(), first.tolist(), sizes.tolist(), strict=True):
        rng = stream(seed, "sticks", ordinal)
        many = min(int(np.floor(a_day * size / full + rng.random())), size)
        found.extend(at[begin + _places(many, size, at[begin : begin + size], rng)].tolist())
    return tuple(sorted(set(found)))


def _places(many: int, size: int, at: Instants, rng: np.random.Generator) -> Instants:
    """One place in each of `many` equal parts of `size`; one that falls so close after the one before it that it would
    count as a recheck is drawn again in its own part, where that can help."""
    places = np.floor((np.arange(many) + rng.random(many)) * size / max(many, 1)).astype(np.int64)
    for slot in range(1, many):
        for _ in range(DRAWN_AGAIN):
            if at[places[slot]] - at[places[slot - 1]] > RECHECK_WITHIN:
                break
            places[slot] = int((slot + rng.random()) * size / many)
    return places


def rate(wanted: int, strips: int | None, repeats: int, minutes: int, full: int) -> float:
    """Sticks a day that a budget of strips allows, at most the wanted ones; `minutes` usable in all, `full` on a day.

    >>> rate(7, None, 10, 20 * 960, 960), rate(7, 110, 10, 20 * 960, 960)
    (7.0, 5.0)
    """
    if strips is None or minutes == 0 or full == 0:
        return float(wanted)
    return min(float(wanted), max(0, strips - repeats) * full / minutes)


def cut(minutes: tuple[int, ...], most: int, seed: int) -> tuple[int, ...]:
    """At most `most` of the minutes, those left out drawn one in each of equal parts (the rounding of single days may
    have come out over the budget)."""
    over = len(minutes) - max(most, 0)
    if over <= 0:
        return minutes
    rng = stream(seed, "cut")
    out = set(np.floor((np.arange(over) + rng.random(over)) * len(minutes) / over).astype(int).tolist())
    return tuple(minute for place, minute in enumerate(minutes) if place not in out)


def repeated(minutes: tuple[int, ...], many: int, seed: int) -> tuple[int, ...]:
    """Which minutes are pricked twice: one in each of `many` equal parts of them, all where there are fewer."""
    many = min(many, len(minutes))
    rng = stream(seed, "repeats")
    places = np.floor((np.arange(many) + rng.random(many)) * len(minutes) / max(many, 1)).astype(int)
    return tuple(minutes[place] for place in places.tolist())
