"""Paired points: every stick event with each sensor's reading beside it."""

from __future__ import annotations

import numpy as np

from evenhand.compare.events import judges
from evenhand.compare.hours import night, target_hours
from evenhand.compare.local import local
from evenhand.compare.nearby import Beside, beside
from evenhand.compare.shapes import Floats, Indices, Instants, Mask, Pairs, StickEvent, Used, Worn
from evenhand.compare.wears import Running
from evenhand.records.diary import Reason
from evenhand.records.question import Stream
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW
from evenhand.records.trial import Trial
from evenhand.units import Beyond

Sources = tuple[tuple[Used, ...], tuple[Running, ...], tuple[int | None, ...], float]
"""Per sensor its readings, its wears and its interval; and the pairing limit in seconds."""


def pairs_of(trial: Trial, events: tuple[StickEvent, ...], worn: tuple[Worn, ...], sources: Sources) -> Pairs:
    """The pairs of the events, in their order; shapes as `Pairs` says."""
    at = np.array([event.at for event in events], np.int64)
    stick = np.array([event.mg_dl for event in events], np.float64)
    stick_flag = np.array([event.flag for event in events], np.int64)
    declared = trial.question.declared is not None
    judging = np.array([judges(event, declared=declared) for event in events], np.bool_)
    calibration = np.array([event.reason is Reason.CALIBRATION for event in events], np.bool_)
    every = all_beside(sources, at)
    if trial.question.stream is Stream.SHOWN:
        every = [_as_shown(one, events, trial.sensors[place].id) for place, one in enumerate(every)]
    reading, flag = (
        columns([one.reading for one in every], at.size),
        whole([one.flag for one in every], at.size),
    )
    wear = whole([one.wear for one in every], at.size)
    age, left, part = times_of(worn, wear, at)
    when = local(trial.zones, at)
    return Pairs(
        at=at, stick=stick, level=np.array([event.level for event in events], np.int64), stick_flag=stick_flag,
        judging=judging, prompted=~judging & ~calibration,
        marked=np.array([event.marked for event in events], np.bool_),
        day=when.day, in_hours=target_hours(trial.question, when), night=night(trial.question, when),
        slope=mean_slope(every, at.size), reading=reading, flag=flag,
        apart=columns([one.apart for one in every], at.size), wear=wear,
        reading_level=whole([one.level for one in every], at.size), age=age, left=left,
        scored=_scored(stick, stick_flag, reading, flag), part=part,
    )  # fmt: skip


def all_beside(sources: Sources, at: Instants) -> list[Beside]:
    """Every sensor beside the instants."""
    used, wears, intervals, limit = sources
    return [
        beside(readings, own, at, limit, interval)
        for readings, own, interval in zip(used, wears, intervals, strict=True)
    ]


def _scored(stick: Floats, stick_flag: Indices, reading: Floats, flag: Indices) -> Mask:
    """Whether a pair has a size of error, if only 'at least': not where the stick lies beyond the reading's limit."""
    finger, finger_flag = stick[:, np.newaxis], stick_flag[:, np.newaxis]
    below = (flag == BEYOND_LOW) & ((finger < reading) | (finger_flag == BEYOND_LOW))
    above = (flag == BEYOND_HIGH) & ((finger > reading) | (finger_flag == BEYOND_HIGH))
    scored: Mask = ~np.isnan(reading) & ~below & ~above
    return scored


def _as_shown(kept: Beside, events: tuple[StickEvent, ...], sensor: str) -> Beside:
    """What the screen showed at each event in place of what the device keeps; movement stays that of the kept stream."""
    n = len(events)
    reading, flag, level = np.full(n, np.nan), np.zeros(n, np.int64), np.full(n, -1)
    for row, event in enumerate(events):
        shown = next((one for one in event.sticks[0].shown if one.sensor == sensor), None)
        if shown is None or kept.wear[row] < 0:
            continue
        glucose = shown.glucose
        reading[row] = glucose.mg_dl
        flag[row] = {None: 0, Beyond.LOW: BEYOND_LOW, Beyond.HIGH: BEYOND_HIGH}[glucose.beyond]
        level[row] = 0 if glucose.is_low else 2 if glucose.is_high else 1
    return Beside(kept.wear, reading, flag, level, np.where(np.isnan(reading), np.nan, 0.0), kept.slope)


def columns(parts: list[Floats], n: int) -> Floats:
    """One column per sensor; shape (n, S) even without sensors."""
    return np.stack(parts, axis=1) if parts else np.empty((n, 0))


def whole(parts: list[Indices], n: int) -> Indices:
    """As `columns`, for whole numbers."""
    return np.stack(parts, axis=1) if parts else np.empty((n, 0), np.int64)


def mean_slope(every: list[Beside], n: int) -> Floats:
    """Mean over the sensors that have a slope; NaN where none has."""
    total, count = np.zeros(n), np.zeros(n)
    for one in every:
        known = ~np.isnan(one.slope)
        total += np.where(known, one.slope, 0.0)
        count += known
    return np.where(count > 0, total / np.maximum(count, 1.0), np.nan)


def times_of(worn: tuple[Worn, ...], wear: Indices, at: Instants) -> tuple[Floats, Floats, Indices]:
    """Age and time left in seconds (NaN without a wear, `left` infinite while worn), and calibrations so far."""
    starts = np.array([*(float(one.start) for one in worn), np.nan])
    ends = np.array([*((float(one.end) if one.ended else np.inf) for one in worn), np.nan])
    instants = at[:, np.newaxis].astype(np.float64)
    part = np.where(wear >= 0, 0, -1)
    for place, one in enumerate(worn):
        for calibrated in one.calibrated:
            part += (wear == place) & (at[:, np.newaxis] > calibrated)
    return instants - starts[wear], ends[wear] - instants, part
