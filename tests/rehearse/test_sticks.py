"""When sticks are taken, and what is typed into a sensor."""

from dataclasses import replace

import numpy as np
import pytest

from evenhand.records.diary import Reason
from evenhand.rehearse.grid import Grid, instant_of
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.sticks import (
    Finger,
    Pricked,
    alarmed,
    calibrate,
    habit_minutes,
    planned_minutes,
    printed,
    prompted_minutes,
)
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.wears import faults
from evenhand.rehearse.world import Calibrating, Model, Planned, Schedule, World
from evenhand.units import Unit

GRID = Grid.over(instant_of("2026-02-02T00:00", "Europe/Lisbon"), 20 * 1440, "Europe/Lisbon")
NOISE = MeterNoise(0.05, 0.0, 0.2, 1.0)


def finger(blood=150.0, noise=NOISE, unit=Unit.MG_DL):
    return Finger(GRID, np.full(len(GRID), blood), noise, unit)


def minutes(schedule, sticks=7.0, seed=1):
    return planned_minutes(World(sticks=sticks, schedule=schedule), GRID, Streams(seed).of("sticks"))


def by_day(found):
    return np.bincount(GRID.day[found], minlength=20)[:20]


def test_planned_sticks_take_one_minute_of_each_slot():
    """Seven equal slots of the waking hours hold exactly one stick each, every day."""
    found = minutes(Schedule.PLANNED)
    slot = ((GRID.of_day[found] - 420) * 7 // 960).reshape(20, 7)
    assert (slot == np.arange(7)).all()


def test_planned_minutes_are_spread_evenly_over_the_slot():
    """Over many draws the place within the slot is uniform (mean half, SD 1/sqrt(12))."""
    place = np.concatenate(
        [((GRID.of_day[minutes(Schedule.PLANNED, 6.0, s)] - 420) % 160) / 160 for s in range(40)]
    )
    assert place.mean() == pytest.approx(0.5, abs=0.02)
    assert place.std() == pytest.approx(12**-0.5, abs=0.02)


@pytest.mark.parametrize("schedule", list(Schedule))
def test_every_schedule_stays_in_waking_hours(schedule):
    """In order, no minute twice, none outside 07:00 to 23:00."""
    found = minutes(schedule)
    assert (np.diff(found) > 0).all()
    assert GRID.within((420, 1380))[found].all()
    assert found.size > 40


def test_a_fraction_of_a_stick_comes_on_some_days():
    """4.5 a day gives four or five, about half and half."""
    counts = np.concatenate([by_day(minutes(Schedule.PLANNED, 4.5, seed)) for seed in range(20)])
    assert set(counts.tolist()) == {4, 5}
    assert counts.mean() == pytest.approx(4.5, abs=0.1)


def test_half_the_days_have_none():
    """Ten of twenty days are pricked."""
    counts = by_day(minutes(Schedule.HALF_DAYS))
    assert (counts == 0).sum() == 10
    assert (counts[counts > 0] >= 6).all()


def test_uneven_days_are_uneven_and_clumps_are_close():
    """Uneven: the spread of sticks a day is large. Clumped: most sticks have a neighbour within 45 min."""
    assert by_day(minutes(Schedule.UNEVEN)).std() > 2.5
    apart = np.diff(minutes(Schedule.CLUMPED))
    assert (apart < 45).mean() > 0.5
    assert (np.diff(minutes(Schedule.PLANNED)) < 45).mean() < 0.2


def test_habit_comes_at_waking_and_bedtime():
    """Around 07:25 and 22:35, as often as asked."""
    found = np.concatenate([habit_minutes(World(habit=1.0), GRID, Streams(s).of("h")) for s in range(20)])
    of_day = GRID.of_day[found]
    assert found.size == pytest.approx(400, rel=0.1)
    assert ((np.abs(of_day - 445) < 60) | (np.abs(of_day - 1355) < 75)).all()


def test_prompted_minutes_are_where_sensors_part_or_one_is_low():
    """Where they agree in range hardly any stick is prompted."""
    first = np.full(len(GRID), 140.0)
    second = first.copy()
    second[5000:6000] = 180.0
    first[9000:9300] = second[9000:9300] = 60.0
    found = prompted_minutes(200, (first, second), GRID, (420, 1380), np.random.default_rng(1))
    odd = ((found >= 5000) & (found < 6000)) | ((found >= 9000) & (found < 9300))
    assert odd.mean() > 0.95
    assert (found < 6000).any()
    assert (found >= 9000).any()


def test_nothing_shown_prompts_nothing():
    """No readings at all: no prompted stick, no error."""
    dark = np.full(len(GRID), np.nan)
    assert prompted_minutes(20, (dark, dark), GRID, (420, 1380), np.random.default_rng(1)).size == 0


def test_sticks_scatter_as_the_meter_does():
    """Relative SD 5 % over 20,000 sticks, printed as whole mg/dL."""
    sticks = finger().prick(np.arange(20_000), Reason.PLAN, np.random.default_rng(1))
    values = np.array([stick.value for stick in sticks])
    assert values.std() / 150 == pytest.approx(0.05, rel=0.03)
    assert (values == np.round(values)).all()


def test_printed_in_mmol_has_one_decimal():
    """109.9 mg/dL is printed 6.1 mmol/L."""
    assert printed(np.array([109.9, 100.0]), Unit.MMOL_L).tolist() == [6.1, 5.6]


def test_repeats_follow_their_stick_at_once():
    """Two minutes later, marked, with the reason of the first, as many as asked or as there are."""
    rng = np.random.default_rng(1)
    plan = finger().prick(np.array([100, 500, 900]), Reason.HABIT, rng)
    again = finger().again(plan, 2, rng)
    assert all(one.repeat and one.reason is Reason.HABIT for one in again)
    assert {one.minute - 2 for one in again} <= {100, 500, 900}
    assert len(finger().again(plan, 99, rng)) == 3
    assert finger().again([Pricked(len(GRID) - 1, Reason.PLAN)], 1, rng) == []


@pytest.mark.parametrize("unit", list(Unit))
def test_a_calibration_sets_the_sensor_to_the_stick(unit):
    """Five minutes after the stick the sensor stands at the stick's value; before it and in the next wear
    nothing is moved."""
    found = faults(Model("Slate"), (Planned(0, 10), Planned(10, 10)), GRID, Streams(1).of("x"))
    series = np.full(len(GRID), 190.0)
    exact = finger(150.0, replace(NOISE, sd=1e-9, step=0.0), unit)
    moved, typed = calibrate(series, found, (1, Calibrating.WHEN_OFF), exact, np.random.default_rng(1))
    assert [one.into for one in typed] == [1, 1]
    first, second = (one.minute for one in typed)
    assert first < 14400 <= second
    assert (moved[: first + 5] == 190.0).all()
    assert moved[first + 5 : 14400] == pytest.approx(150.0, abs=1.0)
    assert (moved[14400 : second + 5] == 190.0).all()


def test_calibrating_every_second_day_keeps_its_rhythm():
    """At 08:20, at least 44 h apart; never means never."""
    found = faults(Model("Slate"), (Planned(0, 20),), GRID, Streams(1).of("x"))
    series = np.full(len(GRID), 150.0)
    rng = np.random.default_rng(1)
    moved, typed = calibrate(series, found, (0, Calibrating.EVERY_SECOND_DAY), finger(), rng)
    assert 8 <= len(typed) <= 10
    assert all(GRID.of_day[one.minute] == 500 and one.reason is Reason.CALIBRATION for one in typed)
    assert (np.diff([one.minute for one in typed]) >= 2640).all()
    same, none = calibrate(series, found, (0, Calibrating.NEVER), finger(), rng)
    assert same is series
    assert none == []
    assert not np.array_equal(moved, series)


def test_an_alarm_is_that_of_the_lowest_sensor():
    """Below 70 on a screen; none where both are higher or silent."""
    stick = Pricked(0, Reason.PROMPTED)
    assert alarmed(stick, (np.array([66.0]), np.array([61.0]))).alarm == 1
    assert alarmed(stick, (np.array([90.0]), np.array([np.nan]))).alarm is None
