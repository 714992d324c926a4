"""Laying out a whole trial: laws that hold whatever the numbers."""

import time
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, usual

from evenhand.clock import Stamp
from evenhand.compare.accuracy import gauge
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Event, EventKind
from evenhand.units import Unit

CLASSES = {"level", "reading_level"}


def same(one, two, skip=(), column=None):
    """Whether two blocks of arrays are alike; `column` reorders the sensors of the second."""
    for field in fields(one):
        if field.name in skip:
            continue
        left, right = getattr(one, field.name), getattr(two, field.name)
        if column is not None and right.ndim == 2:
            right = right[:, column]
        if left.dtype == float:
            np.testing.assert_allclose(left, right, rtol=1e-9, atol=1e-9, err_msg=field.name)
        else:
            np.testing.assert_array_equal(left, right, err_msg=field.name)


def shifted(made, seconds):
    """The same trial, everything some seconds later, in UTC."""

    def later(stamp):
        return None if stamp is None else Stamp.at(stamp.instant + seconds, "UTC")

    return replace(
        made,
        header=replace(made.header, zone="UTC"),
        wears=tuple(replace(one, started=later(one.started), removed=later(one.removed)) for one in made.wears),
        sticks=tuple(replace(one, at=later(one.at)) for one in made.sticks),
        readings={name: replace(one, instant=one.instant + seconds) for name, one in made.readings.items()},
    )  # fmt: skip


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), st.sampled_from([60, 300, 900]))
def test_unit_invariance(seed, interval):
    """The same trial recorded in mmol/L gives the same numbers in mg/dL; only classes are by the other limits."""
    one = lay_out(usual(3, seed=seed, interval=interval, wear_days=2))
    two = lay_out(usual(3, seed=seed, interval=interval, wear_days=2, unit=Unit.MMOL_L))
    same(one.pairs, two.pairs, CLASSES)
    same(one.minutes, two.minutes, CLASSES)
    np.testing.assert_array_equal(one.minutes.slope, two.minutes.slope)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), st.integers(-500, 500))
def test_time_shift(seed, minutes):
    """Whole days later nothing changes but the dates; minutes later all but dates and hours stays."""
    made = shifted(usual(3, seed=seed, wear_days=2), 0)
    one, two = lay_out(made), lay_out(shifted(made, minutes * 60))
    same(one.pairs, two.pairs, {"at", "day", "night"})
    same(one.minutes, two.minutes, {"at", "day", "night"})
    days = lay_out(shifted(made, 11 * DAY))
    same(one.pairs, days.pairs, {"at", "day"})
    assert (days.pairs.day - one.pairs.day == 11).all()


def test_order_of_sensors():
    """Sensors in the other order: the same columns in the other order, wears renumbered."""
    made = usual(4, wear_days=2)
    one, two = lay_out(made), lay_out(replace(made, sensors=made.sensors[::-1]))
    same(one.pairs, two.pairs, {"wear"}, [1, 0])
    same(one.minutes, two.minutes, {"wear"}, [1, 0])
    names = [(made.sensors[worn.sensor].id, worn.start) for worn in one.worn]
    assert sorted(names) == sorted((made.sensors[1 - worn.sensor].id, worn.start) for worn in two.worn)


def test_order_of_records():
    """Records in any order give the same layout."""
    made = usual(4, wear_days=2)
    again = replace(made, sticks=made.sticks[::-1], wears=made.wears[::-1])
    same(lay_out(made).pairs, lay_out(again).pairs)


@pytest.mark.parametrize("machine", ["UTC", "America/Los_Angeles", "Asia/Kolkata"])
def test_machine_zone_does_not_leak(machine, monkeypatch):
    """Under any TZ the layout is the same."""
    before = lay_out(usual(3))
    monkeypatch.setenv("TZ", machine)
    time.tzset()
    after = lay_out(usual(3))
    monkeypatch.undo()
    time.tzset()
    same(before.pairs, after.pairs)
    same(before.minutes, after.minutes)


def test_clock_change_moves_hours_not_pairs():
    """Lisbon put the clock forward on 2026-03-29: pairs stay, night and dates follow the wall."""
    weeks = 27 * DAY
    made = replace(shifted(usual(4), weeks), header=usual(1).header)
    plain = lay_out(shifted(usual(4), weeks))
    found = lay_out(made)
    same(found.pairs, plain.pairs, {"day", "night"})
    after = found.minutes.at >= MIDNIGHT + 28 * DAY + HOUR
    np.testing.assert_array_equal(found.minutes.night[~after], plain.minutes.night[~after])
    wall = ((found.minutes.at + HOUR * after) // 60) % 1440
    np.testing.assert_array_equal(found.minutes.night, (wall < 420) | (wall >= 1380))
    spring = found.minutes.day == found.minutes.day[after][0]
    assert spring.sum() == 23 * 60


def test_trip_moves_hours_not_pairs():
    """During a trip the hours are the trip's."""
    made = usual(4)
    start, end = (Stamp.at(MIDNIGHT + hours * HOUR, "Europe/Lisbon") for hours in (30, 60))
    away = replace(made, events=(Event("trip", EventKind.TRIP, start, 0, end, "Asia/Tokyo"),))
    one, two = lay_out(made), lay_out(away)
    same(one.pairs, two.pairs, {"day", "night"})
    there = (two.minutes.at >= start.instant) & (two.minutes.at < end.instant)
    wall = ((two.minutes.at + 9 * HOUR * there) // 60) % 1440
    np.testing.assert_array_equal(two.minutes.night, (wall < 420) | (wall >= 1380))


def test_events_belong_to_rows():
    """Events and rows of the pairs are one and the same."""
    made = lay_out(usual(4))
    assert [event.at for event in made.events] == made.pairs.at.tolist()
    assert sum(len(event.sticks) for event in made.events) == 28


def test_fast_enough():
    """Twenty days, two sensors, 140 sticks: laid out in 40 ms and measured under every split in 150 ms of processor
    time (the best of five; a quarter of that on the machine this was written on)."""
    made = usual(20)
    laying, measuring = [], []
    for _ in range(5):
        start = time.process_time()
        layout = lay_out(made)
        laying.append(time.process_time() - start)
        start = time.process_time()
        for sensor in (0, 1):
            found = gauge(layout, sensor)
            found.splits(), found.phases(), found.levels(), found.days(), found.wears()
        measuring.append(time.process_time() - start)
    assert min(laying) < 0.040
    assert min(measuring) < 0.150
