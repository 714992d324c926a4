"""Alarms in a judgement: by sticks always, by the reconstruction where it is trusted, every alarm by itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from tests.compare.making import stamp
from tests.compare.paths import exact, own
from tests.judge.invented import invented, judged
from tests.judge.making import by_sticks

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.compare.layout import lay_out
from evenhand.judge.alarms import Against, alarms
from evenhand.judge.between import nights
from evenhand.records.diary import Event, EventKind


def when(iso: str) -> int:
    return round(datetime.fromisoformat(iso).timestamp())


def with_events(*events: Event):
    return replace(invented().trial, events=(*invented().trial.events, *events))


def note(kind: EventKind, at: int, text: str = "low", sensor: int | None = 0) -> Event:
    made = invented().trial.sensors
    return Event(f"{kind}{at}", kind, stamp(at), at, None, text, None if sensor is None else made[sensor].id)


def test_every_alarm_stands_by_itself() -> None:
    """In time order, with its probability, whether it was night, and what a stick near it said; the counts agree."""
    for sensor in judged().sensors:
        told = sensor.alarms.rehearsed
        assert told.sounded == len(told.each)
        assert [when(one.at) for one in told.each] == sorted(when(one.at) for one in told.each)
        assert all(0.0 <= one.chance <= 1.0 for one in told.each)
        assert told.checked == sum(one.stick is not None for one in told.each)
        assert told.true == sum(one.stick == "low" for one in told.each)
        assert told.acted_on == sum(one.acted_on for one in told.each)
        if told.sounded:
            assert told.verified_share == pytest.approx(100 * told.checked / told.sounded)
            mean = np.mean([one.chance for one in told.each])
            assert told.true_rate_between.value == pytest.approx(100 * mean, abs=1e-6)


def test_alarms_lie_where_the_sensor_read_low() -> None:
    """Each rehearsed alarm stands at a reading below 70 mg/dL."""
    for record, sensor in zip(invented().trial.sensors, judged().sensors, strict=True):
        readings = invented().trial.readings[record.id]
        for one in sensor.alarms.rehearsed.each:
            place = int(np.searchsorted(readings.instant, when(one.at)))
            assert readings.mg_dl[place] < 70.0


def test_night_is_outside_the_waking_hours() -> None:
    """By local hours, 07:00 to 23:00 where none are declared."""
    for sensor in judged().sensors:
        for one in sensor.alarms.rehearsed.each:
            hour = datetime.fromisoformat(one.at).hour
            assert one.night == (hour < 7 or hour >= 23)


def test_real_ones_come_from_the_diary() -> None:
    """Noted alarms of a sensor are judged beside the rehearsed ones; the other sensor has none."""
    at = invented().trial.readings[invented().trial.sensors[0].id].instant
    trial = with_events(note(EventKind.ALARM, int(at[500])), note(EventKind.ALARM, int(at[900]), "high"))
    first, second = by_sticks(trial).sensors
    before = judged().sensors[0].alarms.real
    already = before.sounded if before else 0
    assert first.alarms.real.sounded == already + 1
    assert (second.alarms.real is None) == (judged().sensors[1].alarms.real is None)


def test_a_treatment_makes_an_alarm_acted_on() -> None:
    """A treatment within 15 min without a low stick: acted on, neither true nor false."""
    at = int(invented().trial.readings[invented().trial.sensors[0].id].instant[500])
    trial = with_events(note(EventKind.ALARM, at), note(EventKind.TREATED, at + 5 * MINUTE, "juice", None))
    told = by_sticks(trial).sensors[0].alarms.real
    (mine,) = [one for one in told.each if when(one.at) == at]
    assert mine.acted_on is (mine.stick != "low")


def test_false_alarms_are_told_by_the_night() -> None:
    """Blood never low, two nights of readings: as many false a night as alarms at night over two."""
    trial = invented().trial
    layout = lay_out(trial)
    start = int(layout.used[0].instant[0])
    start -= start % DAY
    blood = np.full(3 * 288, 120.0)
    night = nights(trial)
    held = own(blood, start=start, night=night(start + 300 * np.arange(blood.size)))
    against = Against(held, exact(blood, start=start))
    told = alarms(trial, layout, 0, night, against).rehearsed
    inside = [one for one in told.each if one.night and start <= when(one.at) < start + 3 * DAY]
    per_night = told.false_per_night.value * (held.night.sum() * 300 / (8 * HOUR))
    assert per_night >= len(inside) - 1e-9
    assert told.true_rate_between.value is None or told.true_rate_between.value == 0.0


def test_without_a_reconstruction_the_rest_says_so() -> None:
    """By sticks alone: no probabilities, and the four numbers are missing with the reason."""
    for sensor in by_sticks(invented().trial).sensors:
        told = sensor.alarms.rehearsed
        for est in (
            told.false_per_night,
            told.minutes_of_warning,
            told.true_rate_between,
            told.detection_rate_between,
        ):
            assert est.value is None
            assert est.why == "no-reconstruction"
        assert all(one.chance is None for one in told.each)
