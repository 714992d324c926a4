"""What has to be minded about a drawn plan: hours without a reading, short wears, boxes, strips, money. Codes and
numbers; the sentences are said elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from evenhand.clock import DAY, HOUR
from evenhand.plan.cost import cost_of
from evenhand.plan.draw import reading, worn
from evenhand.plan.hours import Stretch
from evenhand.plan.life import Life
from evenhand.records.plan import Drawn, PlannedWear
from evenhand.records.question import Driving
from evenhand.records.trial import Trial

COUNTS_FROM = 3 * DAY
"""A wear shorter than this may not reach three pricked days; then nothing is settled."""
SHIFTED = 2 * HOUR
"""A wear that is this far from its plan no longer fits it."""


@dataclass(frozen=True, slots=True)
class Note:
    """One thing to mind: its code, the sensor it is about (by name; empty: the whole plan), instants and a number."""

    code: str
    sensor: str = ""
    span: Stretch | None = None
    number: float = 0.0


def notes(trial: Trial, drawn: Drawn) -> tuple[Note, ...]:
    """Everything to mind, what can hurt first."""
    gaps = [*_unguarded(trial, drawn)]
    return (
        *gaps, *_drivers(trial), *_short(trial, drawn), *_given_up(trial, drawn), *_unknown(trial), *_boxes(trial, drawn),
        *_budget(trial, drawn),
    )  # fmt: skip


def dark(wears: Sequence[PlannedWear], sensors: Sequence[str], start: int, end: int) -> list[Stretch]:
    """Stretches of [start, end) in which none of these sensors (ids) reads."""
    lit = sorted((wear.reads.instant, wear.removed.instant) for wear in wears if wear.sensor in sensors)
    found, at = [], start
    for begin, finish in lit:
        if begin > at:
            found.append((at, min(begin, end)))
        at = max(at, finish)
    if at < end:
        found.append((at, end))
    return [(one, two) for one, two in found if one < min(two, end)]


def _unguarded(trial: Trial, drawn: Drawn) -> Iterator[Note]:
    """The hours in which nothing reads: from the first insertion to the first reading, and any later ones."""
    ids = [sensor.id for sensor in trial.sensors]
    start = min(wear.inserted.instant for wear in drawn.wears)
    first = min(wear.reads.instant for wear in drawn.wears)
    if first > start:
        yield Note("nothing-reads-at-first", span=(start, first))
    for stretch in dark(drawn.wears, ids, first, drawn.end.instant):
        yield Note("nothing-reads", span=stretch)
    for stretch in both_warming(drawn.wears):
        yield Note("both-in-warm-up", span=stretch)


def both_warming(wears: Sequence[PlannedWear]) -> list[Stretch]:
    """Stretches in which two sensors warm up at once."""
    warm = sorted((wear.started.instant, wear.reads.instant, wear.sensor) for wear in wears)
    return [
        (max(one[0], two[0]), min(one[1], two[1]))
        for place, one in enumerate(warm)
        for two in warm[place + 1 :]
        if one[2] != two[2] and max(one[0], two[0]) < min(one[1], two[1])
    ]


def _drivers(trial: Trial) -> Iterator[Note]:
    driver = trial.question.driver
    if driver is None or driver.by is Driving.NOBODY or driver.sensor is None:
        return
    named = next((sensor.name for sensor in trial.sensors if sensor.id == driver.sensor), None)
    if named is not None:
        yield Note("drives-pump" if driver.by is Driving.PUMP else "drives-wearer", named)


def _short(trial: Trial, drawn: Drawn) -> Iterator[Note]:
    for sensor in trial.sensors:
        for wear in drawn.wears:
            length = wear.removed.instant - wear.started.instant
            if wear.sensor == sensor.id and not wear.happened and length < COUNTS_FROM:
                yield Note(
                    "too-short-to-count",
                    sensor.name,
                    (wear.started.instant, wear.removed.instant),
                    length / HOUR,
                )


def _given_up(trial: Trial, drawn: Drawn) -> Iterator[Note]:
    """Life that early insertion costs, and life left unused at changes."""
    for sensor in trial.sensors:
        own = sorted((wear for wear in drawn.wears if wear.sensor == sensor.id), key=lambda wear: wear.number)
        costs = [Life.of(sensor, wear.started.instant - wear.inserted.instant).cost for wear in own]
        if any(costs):
            yield Note("early-costs", sensor.name, number=sum(costs) / HOUR)
        left = 0
        for wear, cost in zip(own[:-1], costs, strict=False):
            left += max(0, wear.started.instant + (sensor.life or 0) - cost - wear.removed.instant)
        if left >= HOUR and not any(wear.happened for wear in own):
            yield Note("life-unused", sensor.name, number=left / HOUR)


def _unknown(trial: Trial) -> Iterator[Note]:
    for sensor in trial.sensors:
        if sensor.warm_up is None:
            yield Note("warm-up-unknown", sensor.name)
        if sensor.counts_from is None and trial.plan.wanted.of(sensor.id).early:
            yield Note("counts-from-unknown", sensor.name)
        if sensor.exports is not True:
            yield Note("exports-not-proved" if sensor.exports is None else "does-not-export", sensor.name)


def _boxes(trial: Trial, drawn: Drawn) -> Iterator[Note]:
    for sensor in trial.sensors:
        wanted = trial.plan.wanted.of(sensor.id)
        ahead = [wear for wear in drawn.wears if wear.sensor == sensor.id and not wear.happened]
        if not ahead:
            continue
        if wanted.held:
            lacking = len(ahead) + wanted.spares - sum(box.count for box in wanted.held)
            if lacking > 0:
                yield Note("boxes-lacking", sensor.name, number=lacking)
            if (
                any(box.expires is not None for box in wanted.held)
                and lacking <= 0
                and any(wear.lot is None and wear.expires is None for wear in ahead)
            ):
                yield Note("boxes-expired", sensor.name)
        if not wanted.spares:
            yield Note("no-spare", sensor.name)


def _budget(trial: Trial, drawn: Drawn) -> Iterator[Note]:
    cost, question = cost_of(trial, drawn), trial.question
    if question.strips is not None and len(drawn.minutes) < 0.97 * trial.plan.wanted.sticks * _days(drawn):
        yield Note("strips-limit", number=len(drawn.minutes) / _days(drawn))
    if question.money is not None and cost.money is not None and cost.money > question.money:
        yield Note("over-money", number=cost.money - question.money)


def _days(drawn: Drawn) -> float:
    return (drawn.end.instant - min(wear.reads.instant for wear in drawn.wears)) / DAY


def no_longer_fits(trial: Trial, drawn: Drawn, now: int) -> tuple[Note, ...]:
    """Why what was worn since has left the plan: a wear that ended early, was not planned, or is overdue."""
    found = []
    start = trial.plan.wanted.start
    for place, sensor in enumerate(trial.sensors):
        planned = {wear.number: wear for wear in drawn.wears if wear.sensor == sensor.id}
        spans = worn(trial, place, now, start.instant).spans if start else ()
        for span in spans:
            wear = planned.get(span.number)
            if wear is None:
                found.append(Note("worn-unplanned", sensor.name, (span.started, span.started)))
            elif abs(span.started - wear.started.instant) > SHIFTED and not wear.happened:
                found.append(Note("started-otherwise", sensor.name, (span.started, wear.started.instant)))
            elif span.removed is not None and span.removed < wear.removed.instant - SHIFTED:
                found.append(Note("ended-early", sensor.name, (span.removed, wear.removed.instant)))
        if len(spans) < len(planned):
            due = planned.get(len(spans) + 1)
            if due is not None and due.started.instant + SHIFTED < now:
                found.append(Note("overdue", sensor.name, (due.started.instant, now)))
    return tuple(found)


def reads_together(trial: Trial, drawn: Drawn) -> int:
    """Seconds in which every sensor reads."""
    edges = sorted({at for one in reading(drawn.wears, trial.sensors) for stretch in one for at in stretch})
    total = 0
    for begin, finish in pairwise(edges):
        if all(
            any(one <= begin and finish <= two for one, two in stretches)
            for stretches in reading(drawn.wears, trial.sensors)
        ):
            total += finish - begin
    return total
