"""Draws a plan from what is wanted: wears, sides and stick minutes, from the trial's own seed; again where wears went
otherwise. The same trial at the same moment always gives the same plan."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from evenhand.clock import DAY, Stamp, Zones
from evenhand.errors import BadRecord, CannotPlan, EvenhandError, raise_all
from evenhand.plan import arms, sticks
from evenhand.plan.hours import Hours, Stretch
from evenhand.plan.laying import Laying, Past, Span, Task
from evenhand.plan.life import Life
from evenhand.records.plan import Drawn, PlannedWear
from evenhand.records.sensors import Ending, Sensor, Side, Wear
from evenhand.records.trial import Trial

USUAL_WEARS = 2
"""Of each sensor, where neither days nor wears are named."""
BEFORE = DAY
"""A wear inserted this long before the planned start still belongs to the trial."""


def seed_of(trial: Trial) -> int:
    """The printed seed: the trial's own, so that nobody draws until the draw pleases; below 10^9."""
    digest = hashlib.sha256(f"plan/{trial.header.id}/{trial.header.seed}".encode()).digest()
    return int.from_bytes(digest[:8], "big") % 10**9


def draw(trial: Trial, now: int) -> Drawn:
    """The plan of this trial, drawn at the instant `now`.

    Wears that are recorded stand as they were; what lies ahead is laid anew, to the same end as before. Raises
    `CannotPlan` or `BadRecord`, every problem at once.
    """
    start = _start(trial)
    hours = Hours.of(trial.question, trial.zones)
    seed, before = seed_of(trial), trial.plan.drawn
    past = [worn(trial, place, now, start) for place in range(len(trial.sensors))]
    begun = under_way(trial, start)
    spans = Laying(_task(trial, (seed, start), past, hours)).run()
    _counted(trial, spans)
    wears = _wears(trial, spans, seed)
    begin = min(wear.reads.instant for wear in wears)
    end = max(wear.removed.instant for wear in wears)
    kept = () if before is None or not begun else tuple(one for one in before.minutes if one <= now)
    minutes = _minutes(trial, wears, (begin, end), hours)
    if kept:
        minutes = (*kept, *(one for one in minutes if one > now))
    return Drawn(
        trial.zones.stamp(now),
        seed,
        wears,
        minutes,
        _repeats(trial, minutes, now if kept else 0),
        1 if before is None else before.number + 1,
        0 if before is None else max(before.most_sticks, len(before.minutes)),
        0 if before is None else max(before.most_wears, len(before.wears)),
    )


def reading(wears: Sequence[PlannedWear], sensors: Sequence[Sensor]) -> list[list[Stretch]]:
    """The stretches in which each sensor reads as planned."""
    return [
        [(wear.reads.instant, wear.removed.instant) for wear in wears if wear.sensor == sensor.id]
        for sensor in sensors
    ]


def after(start: Stamp, days: int, zones: Zones) -> int:
    """The same time of day so many days later, where the wearer is; an hour later where a clock change left it out."""
    wall = start.wall + timedelta(days=days)
    found = zones.possible(wall) or zones.possible(wall + timedelta(hours=1))
    return found[0] if found else start.instant + days * DAY


def worn(trial: Trial, place: int, now: int, start: int) -> Past:
    """What was worn of a sensor in this trial so far, and from when on the next may go in."""
    sensor = trial.sensors[place]
    wears = [wear for wear in trial.wears_of(sensor.id) if wear.first.instant >= start - BEFORE]
    spans = [_span(place, number, wear, sensor, now) for number, wear in enumerate(wears, 1)]
    begun = under_way(trial, start)
    return Past(tuple(spans), max(start, now) if begun else start, begun)


def under_way(trial: Trial, start: int) -> bool:
    """Whether a wear of this trial was begun: one inserted at most a day before the planned start, or later."""
    return any(wear.first.instant >= start - BEFORE for wear in trial.wears)


def _span(place: int, number: int, wear: Wear, sensor: Sensor, now: int) -> Span:
    started = wear.start.instant
    life = Life.of(sensor, started - wear.first.instant)
    removed = wear.removed.instant if wear.removed else None
    if wear.ending is Ending.NEVER_STARTED:
        removed = started
    elif removed is None and wear.ending is not None:
        removed = max(started, now)
    reads = started + life.dark if removed is None else min(started + life.dark, removed)
    return Span(
        place,
        number,
        wear.first.instant,
        started,
        reads,
        started + life.worn,
        started + life.most,
        removed,
        happened=True,
    )


def _start(trial: Trial) -> int:
    if trial.plan.wanted.start is None:
        raise CannotPlan(
            "It is not settled when the first sensor goes in.",
            "Say it, for example: --set start='2026-03-02 09:00'",
        )
    return trial.plan.wanted.start.instant


def _task(trial: Trial, drawn: tuple[int, int], past: list[Past], hours: Hours) -> Task:
    (seed, start), wanted = drawn, trial.plan.wanted
    ours = [wanted.of(sensor.id) for sensor in trial.sensors]
    problems: list[EvenhandError] = []
    for sensor, one in zip(trial.sensors, ours, strict=True):
        try:
            Life.of(sensor, one.early)
        except BadRecord as problem:
            problems.append(problem)
    raise_all(problems)
    usual = None if wanted.days is not None or any(one.wears for one in ours) else USUAL_WEARS
    until = None if wanted.days is None else after(trial.zones.stamp(start), wanted.days, trial.zones)
    if trial.plan.drawn is not None and any(one.spans for one in past):
        until = trial.plan.drawn.end.instant
    return Task(
        sensors=trial.sensors,
        early=tuple(one.early for one in ours),
        wears=tuple(one.wears or usual for one in ours),
        order=arms.order(seed, len(trial.sensors)),
        past=tuple(past),
        hours=hours,
        until=until,
        overlap=wanted.overlap,
    )


def _counted(trial: Trial, spans: Sequence[Span]) -> None:
    """Days and wears that contradict each other are refused."""
    wanted = trial.plan.wanted
    if wanted.days is None or any(span.happened for span in spans):
        return
    problems = []
    for place, sensor in enumerate(trial.sensors):
        asked, laid = wanted.of(sensor.id).wears, sum(span.sensor == place for span in spans)
        if asked is not None and asked != laid:
            problems.append(
                CannotPlan(
                    f"{wanted.days} days take {laid} wears of {sensor.name}, not {asked}.",
                    f"Name the days alone (--set {sensor.name}.wears=any), or the wears alone (--set days=any).",
                )
            )
    raise_all(problems)


def _wears(trial: Trial, spans: Sequence[Span], seed: int) -> tuple[PlannedWear, ...]:
    first = arms.sides(seed, len(trial.sensors))
    found: list[PlannedWear] = []
    for place, sensor in enumerate(trial.sensors):
        own = [span for span in spans if span.sensor == place]
        ahead = [trial.zones.stamp(span.inserted).day for span in own if not span.happened]
        taken = iter(arms.boxes(trial.plan.wanted.of(sensor.id).held, ahead))
        recorded = {wear.start.instant: wear for wear in trial.wears_of(sensor.id)}
        side = arms.other(first[place])
        for span in own:
            was = recorded.get(span.started) if span.happened else None
            side = (was.side if was else None) or arms.other(side)
            box = None if span.happened else next(taken)
            lot, expires = (was.lot, was.expires) if was else (box.lot, box.expires) if box else (None, None)
            found.append(replace(_planned(trial, span, side), lot=lot, expires=expires))
    return tuple(sorted(found, key=lambda wear: (wear.inserted.instant, wear.sensor)))


def _planned(trial: Trial, span: Span, side: Side) -> PlannedWear:
    stamp = trial.zones.stamp
    assert span.removed is not None
    times = (stamp(span.inserted), stamp(span.started), stamp(span.reads), stamp(span.removed))
    return PlannedWear(trial.sensors[span.sensor].id, span.number, *times, side, happened=span.happened)


def _minutes(trial: Trial, wears: Sequence[PlannedWear], span: Stretch, hours: Hours) -> tuple[int, ...]:
    wanted, strips = trial.plan.wanted, trial.question.strips
    at, day = sticks.usable(hours, reading(wears, trial.sensors), *span)
    seed, full = seed_of(trial), hours.per_day()
    a_day = sticks.rate(wanted.sticks, strips, wanted.repeats, at.size, full)
    minutes = sticks.drawn(at, day, a_day, full, seed)
    return minutes if strips is None else sticks.cut(minutes, strips - wanted.repeats, seed)


def _repeats(trial: Trial, minutes: tuple[int, ...], kept: int) -> tuple[int, ...]:
    """The minutes pricked twice: those of the past as they were drawn, the rest among what lies ahead."""
    before, seed = trial.plan.drawn, seed_of(trial)
    past = tuple(one for one in before.repeats if one <= kept) if before and kept else ()
    ahead = tuple(one for one in minutes if one > kept)
    many = min(trial.plan.wanted.repeats, trial.question.strips or 10**6) - len(past)
    return (*past, *sticks.repeated(ahead, max(0, many), seed))
