"""Wishes as people write them."""

from __future__ import annotations

from datetime import date

import pytest
from tests.plan.making import sensor, trial

from evenhand.clock import DAY, HOUR
from evenhand.desk.wishes import KEYS, OF_SENSOR, is_wish, with_wishes
from evenhand.errors import BadRecord, BadTime, BadValue, Problems, UnknownName
from evenhand.records.plan import Held


def wished(*settings):
    return with_wishes(trial(sensor(0), sensor(1)), settings)


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("2026-03-02 08:30", "2026-03-02T08:30:00+01:00"),
        ("2026-03-02T08:30", "2026-03-02T08:30:00+01:00"),
        ("2026-07-01", "2026-07-01T09:00:00+02:00"),
    ],
)
def test_a_start_is_a_date_and_a_time(written, shown):
    """In the trial's zone; a date alone means nine in the morning."""
    assert wished(f"start={written}").start.iso == shown


@pytest.mark.parametrize(
    "written", ["soon", "2026-02-30", "2026-03-29 02:30", "2026-03-02 09:00+02:00", "9:00"]
)
def test_a_start_that_is_none_is_refused(written):
    """No such day, no such hour on the night of the clock change, an offset of its own."""
    with pytest.raises(BadTime):
        wished(f"start={written}")


def test_any_takes_a_wish_back():
    """Of start, days and wears."""
    found = wished("days=20", "days=any", "start=any", "Fern.wears=3", "Fern.wears=any")
    assert (found.days, found.start, found.of("s-0").wears) == (None, None, None)


def test_numbers_and_durations_are_read():
    """Each into its own place."""
    found = wished(
        "days=28",
        "sticks=6",
        "repeats=12",
        "overlap=yes",
        "slate.early=1 d",
        "Slate.spares=2",
        "Fern.wears=3",
    )
    assert (found.days, found.sticks, found.repeats, found.overlap) == (28, 6, 12, True)
    assert (found.of("s-1").early, found.of("s-1").spares, found.of("s-0").wears) == (DAY, 2, 3)
    assert wished("Fern.early=12h", "Fern.early=none").of("s-0").early == 0
    assert wished("Fern.early=90min").of("s-0").early == 1.5 * HOUR


def test_what_is_in_the_drawer_is_read():
    """Count, lot and last day, box by box; any part may be left out."""
    found = wished("Fern.held=3 lot L12 until 2027-02-28, 2, 1 of lot B 7").of("s-0").held
    assert found == (Held(3, "L12", date(2027, 2, 28)), Held(2), Held(1, "B 7"))
    assert wished("Fern.held=2", "Fern.held=none").of("s-0").held == ()


@pytest.mark.parametrize(
    "setting", ["days=two", "days", "days=", "overlap=perhaps", "Fern.held=some", "Fern.held=2 until 2027-02-30", "Fern.early=12"],
)  # fmt: skip
def test_what_cannot_be_read_is_refused(setting):
    """With the way to write it."""
    with pytest.raises(BadValue) as told:
        wished(setting)
    assert told.value.cure


@pytest.mark.parametrize("setting", ["day=20", "Birch.wears=2", "Fern.colour=red"])
def test_a_name_there_is_not_is_refused(setting):
    """Keys and sensors are named in the cure."""
    with pytest.raises(UnknownName):
        wished(setting)


@pytest.mark.parametrize("setting", ["days=0", "sticks=60", "repeats=999", "Fern.wears=99"])
def test_what_nobody_could_keep_is_refused(setting):
    """By the record itself."""
    with pytest.raises(BadRecord):
        wished(setting)


def test_every_problem_is_told_at_once():
    """Nothing is half taken."""
    with pytest.raises(Problems) as told:
        wished("days=two", "Birch.wears=2", "sticks=6")
    assert len(told.value.each()) == 2


def test_every_key_is_a_wish_and_no_answer_is():
    """So that each setting finds its place."""
    assert all(is_wish(f"{key}=1") for key in KEYS)
    assert all(is_wish(f"Fern.{key}=1") for key in OF_SENSOR)
    assert not any(
        is_wish(one) for one in ("margin=3", "Fern.life=10d", "waking=7-23", "strips=100", "end=2 wears")
    )
