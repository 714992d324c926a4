"""Lays a trial out for measuring, once."""

from __future__ import annotations

import numpy as np

from evenhand.compare.events import left_out_counts, stick_events
from evenhand.compare.minutes import minutes_of
from evenhand.compare.pairs import pairs_of
from evenhand.compare.shapes import Layout
from evenhand.compare.wears import COARSE, interval_of, running, used_readings, worn_of
from evenhand.records.diary import Reason
from evenhand.records.readings import Readings
from evenhand.records.trial import Trial

PAIRING_LIMIT, COARSE_LIMIT = 300.0, 450.0
"""Seconds between a stick and its reading: at most 5 min, 7.5 min where any sensor stores every 15 min."""


def lay_out(trial: Trial) -> Layout:
    """Wears as worn, stick events, paired points and eligible minutes of a trial with its readings loaded.

    A sensor without readings or wears has none; a trial without sticks has empty pairs. Raises nothing that
    `Trial.check` does not.
    """
    worn, inferred = worn_of(trial)
    every = [trial.readings.get(sensor.id, Readings.none()) for sensor in trial.sensors]
    wears = [running(worn, place) for place in range(len(trial.sensors))]
    used = tuple(used_readings(readings, own) for readings, own in zip(every, wears, strict=True))
    intervals = tuple(
        interval_of(sensor, readings.instant) for sensor, readings in zip(trial.sensors, every, strict=True)
    )
    coarse = any(interval is not None and interval > COARSE for interval in intervals)
    limit = COARSE_LIMIT if coarse else PAIRING_LIMIT
    declared = trial.question.declared is not None
    events = stick_events(trial.sticks)
    return Layout(
        worn=worn,
        pairs=pairs_of(trial, events, worn, (used, tuple(wears), intervals, limit)),
        minutes=minutes_of(trial, worn, (used, tuple(wears), intervals, limit)),
        limit=limit,
        inferred=inferred,
        uncovered=tuple(int(np.count_nonzero(one.wear < 0)) for one in used),
        used=used,
        intervals=intervals,
        events=events,
        left_out=left_out_counts(trial.sticks, events, declared=declared),
        unplaced=sum(stick.reason is Reason.CALIBRATION and stick.into is None for stick in trial.sticks),
    )
