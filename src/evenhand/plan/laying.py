"""Lays wears one after another so that no change leaves the wearer without a reading."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.errors import CannotPlan
from evenhand.plan.hours import Hours
from evenhand.plan.life import Life
from evenhand.records.sensors import Sensor

STEP = 15 * MINUTE
"""Changes are tried every quarter of an hour."""
APART = HOUR
"""So long at least should lie between one sensor's warm-up and another's: a change an hour late still fits."""
LEAST = DAY
"""No wear is given up before it has read this long."""
MOST_TRIED = 400
"""So many moments are weighed where none is guarded."""
FURTHEST = 7 * DAY
"""A first insertion is put off at most this long."""


@dataclass(frozen=True, slots=True)
class Span:
    """One wear being laid (instants): `rated` is when its rated life ends, `most` its grace; `happened`: recorded already.

    `sensor` is its place in the trial, `number` counts its wears from 1. `removed` None: not settled.
    """

    sensor: int
    number: int
    inserted: int
    started: int
    reads: int
    rated: int
    most: int
    removed: int | None = None
    happened: bool = False

    @property
    def ends(self) -> int:
        """The removal, or the last moment it could be."""
        return self.most if self.removed is None else self.removed


@dataclass(frozen=True, slots=True)
class Past:
    """What was worn of one sensor: its wears, the last with `removed` None while it is worn; from when on the next one
    may be inserted (`free`). `begun`: the trial is under way, so a change that no other sensor can guard is laid where it
    is dark for the shortest time instead of being refused."""

    spans: tuple[Span, ...] = ()
    free: int = 0
    begun: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be laid: `order` says which sensor goes in first; `until` the end, None: when the first sensor has had
    its `wears` (None: as many as it takes). `overlap`: confirmed that hours may stay without a reading."""

    sensors: tuple[Sensor, ...]
    early: tuple[int, ...]
    wears: tuple[int | None, ...]
    order: tuple[int, ...]
    past: tuple[Past, ...]
    hours: Hours
    until: int | None = None
    overlap: bool = False


class Laying:
    """The wears laid so far."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.spans: list[Span] = [span for past in task.past for span in past.spans]

    def run(self) -> tuple[Span, ...]:
        """Every wear to the end, by start; `CannotPlan` where a change fits nowhere."""
        task = self.task
        end = task.until
        todo = set(range(len(task.sensors)))
        while todo:
            place = min(todo, key=self._due)
            current = self._last(place)
            if end is not None and (
                self._due(place)[0] >= end or (current and current.ends >= end > current.rated)
            ):
                self._close(place, end)
                todo.discard(place)
            elif (
                current
                and current.removed is None
                and current.number == task.wears[place]
                and task.until is None
            ):
                self._close(place, current.rated)
                end = current.rated if end is None else min(end, current.rated)
                todo.discard(place)
            else:
                self._next(place)
        assert end is not None
        return tuple(sorted(self._within(end), key=lambda span: (span.started, span.sensor)))

    def _within(self, end: int) -> Iterator[Span]:
        over = {id(span) for past in self.task.past for span in past.spans if span.removed is not None}
        for span in self.spans:
            if id(span) in over:
                yield span
            elif span.happened:
                yield replace(span, removed=max(span.reads, min(span.ends, end)))
            elif span.reads < end:  # One that would only warm up until the end is not opened.
                yield replace(span, removed=min(span.ends, end))

    def _last(self, place: int) -> Span | None:
        own = [span for span in self.spans if span.sensor == place]
        return max(own, key=lambda span: span.started, default=None)

    def _due(self, place: int) -> tuple[int, int]:
        """When a sensor is next to be seen to, and its turn among those due at once."""
        last = self._last(place)
        free = self.task.past[place].free
        due = free if last is None or last.removed is not None else last.rated
        return due, self.task.order.index(place)

    def _close(self, place: int, end: int) -> None:
        last = self._last(place)
        if last is not None and last.removed is None:
            self.spans[self.spans.index(last)] = replace(last, removed=end)

    def _next(self, place: int) -> None:
        """Takes the sensor's wear off and puts the next one on, at the best moment there is."""
        last = self._last(place)
        for apart in (APART, 0):
            for at in self._moments(place, last):
                new = self._begin(place, at, last)
                if new is not None and self._guarded(new, apart):
                    self._put(last, new)
                    return
        if not (self.task.overlap or self.task.past[place].begun):
            raise self._refused(place)
        begun = (self._begin(place, at, last) for at in islice(self._moments(place, last), MOST_TRIED))
        best = min((new for new in begun if new is not None), key=self._unguarded, default=None)
        if best is None:
            raise self._refused(place)
        self._put(last, best)

    def _unguarded(self, new: Span) -> int:
        """Seconds of its darkness in which no other sensor reads."""
        dark = new.reads - new.started
        lit = [
            min(new.reads, span.ends) - max(new.started, span.reads)
            for span in self.spans
            if span.sensor != new.sensor
        ]
        return max(0, dark - max([0, *lit]))

    def _put(self, last: Span | None, new: Span) -> None:
        if last is not None and last.removed is None:
            self.spans[self.spans.index(last)] = replace(last, removed=new.started)
        self.spans.append(new)

    def _moments(self, place: int, last: Span | None) -> Iterator[int]:
        """When the next wear might start, best first: at the end of the rated life, then into the grace, then before; or,
        where nothing is worn, as soon as may be."""
        free = self.task.past[place].free
        if last is None or last.removed is not None:
            # What replaces a wear that ended goes in at once, not early: its place is empty.
            early = self.task.early[place] if last is None else 0
            first = -(-free // STEP) * STEP + -(-early // STEP) * STEP
            yield from range(first, first + FURTHEST, STEP)
            return
        earliest = max(last.reads + LEAST, free)
        best = max(last.rated, free)
        yield from range(best, max(last.most, best + (DAY if best == free else 0)) + 1, STEP)
        yield from range(best - STEP, earliest - 1, -STEP)

    def _begin(self, place: int, at: int, last: Span | None) -> Span | None:
        """The wear that starts at `at`; None where the wearer would be asked outside the hours."""
        task = self.task
        if not task.hours.allows(at):
            return None
        inserted = at - task.early[place]
        earliest = (
            task.past[place].free
            if last is None or last.removed is not None
            else max(last.reads, task.past[place].free)
        )
        while not task.hours.allows(inserted):
            inserted -= STEP
            if at - inserted > task.early[place] + DAY:
                return None
        if inserted < min(earliest, at):
            # Too late to insert it that early: as early as still may be.
            later = range(-(-earliest // STEP) * STEP, at + 1, STEP)
            found = next((moment for moment in later if task.hours.allows(moment)), at)
            inserted = min(found, at)
        life = Life.of(task.sensors[place], at - inserted)
        number = 1 if last is None else last.number + 1
        return Span(place, number, inserted, at, at + life.dark, at + life.worn, at + life.most)

    def _guarded(self, new: Span, apart: int) -> bool:
        """Whether another sensor reads while the new one does not, and none warms up within `apart` of it."""
        if new.reads == new.started:
            return True
        others = [span for span in self.spans if span.sensor != new.sensor and span.ends > new.started]
        if any(_meet(new, span, apart) for span in others):
            return False
        return not others or any(span.reads <= new.started and new.reads <= span.ends for span in others)

    def _refused(self, place: int) -> CannotPlan:
        sensor = self.task.sensors[place]
        hours = self.task.hours
        waking = "-".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in hours.waking)
        return CannotPlan(
            f"{sensor.name} cannot be changed within the waking hours ({waking}"
            f"{', less the quiet hours' if hours.quiet else ''}) so that another sensor reads through its warm-up "
            "and no two warm up at once: nothing would guard you for that time.",
            "Widen the hours, give the grace of each sensor, or insert early; or confirm it with --set overlap=yes, and set "
            "an alarm clock for fingersticks through that time.",
        )


def _meet(one: Span, other: Span, apart: int) -> bool:
    """Whether two warm-ups come closer than `apart`."""
    if other.reads == other.started:
        return False
    return one.started < other.reads + apart and other.started < one.reads + apart
