"""What comes next, and how sticks lie in the phases: from times alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from tests.plan.making import at, trial, trials

from evenhand.clock import DAY, HOUR, MINUTE, Stamp
from evenhand.plan.ahead import ill, phases, upcoming
from evenhand.plan.draw import draw
from evenhand.records.diary import Event, EventKind, Reason, Stick
from evenhand.units import Glucose, Unit

ZONE = "Europe/Berlin"


def stick(instant, value=120.0):
    return Stick(
        f"k-{instant}",
        Stamp.at(instant, ZONE),
        Glucose(value, Unit.MG_DL, f"{value:g}"),
        Reason.UNKNOWN,
        instant,
    )


@pytest.fixture(name="planned")
def _planned():
    made = trial(days=20)
    return made, draw(made, 0)


def test_before_the_start_the_first_drawn_minute_is_next(planned):
    """And the first insertion is the next change."""
    made, drawn = planned
    found = upcoming(made, drawn, at("2026-03-01T12:00"))
    assert found.minute == drawn.minutes[0]
    assert found.change == drawn.wears[0]


def test_a_drawn_minute_that_has_its_stick_is_done(planned):
    """A stick within ten minutes, before or after, is the one it asked for; what was read does not matter."""
    made, drawn = planned
    third = drawn.minutes[2]
    for away in (-600, 0, 600):
        for value in (45.0, 380.0):
            pricked = replace(made, sticks=(stick(third + away, value),))
            assert upcoming(pricked, drawn, third - 2 * MINUTE).minute == drawn.minutes[3]
    assert upcoming(replace(made, sticks=(stick(third + 601),)), drawn, third - 2 * MINUTE).minute == third


def test_ten_minutes_later_it_still_counts(planned):
    """Then it is past."""
    made, drawn = planned
    third = drawn.minutes[2]
    assert upcoming(made, drawn, third + 599).minute == third
    assert upcoming(made, drawn, third + 600).minute == drawn.minutes[3]


def test_after_the_last_nothing_is_next(planned):
    """Neither a stick nor a change."""
    made, drawn = planned
    found = upcoming(made, drawn, drawn.end.instant)
    assert (found.minute, found.twice, found.change) == (None, False, None)


def test_a_repeat_is_said_to_be_one(planned):
    """Of the minute that is next."""
    made, drawn = planned
    assert upcoming(made, drawn, drawn.repeats[3] - 60).twice
    single = next(minute for minute in drawn.minutes if minute not in drawn.repeats)
    assert not upcoming(made, drawn, single - 60).twice


def event(start, end=None):
    stop = None if end is None else Stamp.at(end, ZONE)
    return Event("e", EventKind.ILL, Stamp.at(start, ZONE), start, stop)


def test_an_ill_day_asks_for_nothing():
    """With an end: to that end. Without one: to the end of that day."""
    made = trial()
    begin = at("2026-03-06T08:00")
    ended = replace(made, events=(event(begin, begin + 2 * DAY),))
    assert [ill(ended, begin + hours * HOUR) for hours in (-1, 0, 47, 48)] == [False, True, True, False]
    open_ = replace(made, events=(event(begin),))
    assert [ill(open_, at(f"2026-03-{day}T{hour}")) for day, hour in (("06", "07:59"), ("06", "23:59"), ("07", "00:00"))] == [
        False, True, False,
    ]  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(trials())
def test_phases_count_every_stick_of_a_wear(made):
    """Sticks in the first 24 h and not the last, in the middle, and in the last are all there are; one in both the first and the last
    (a wear under 48 h) counts in both. Counted by hand."""
    drawn = draw(made, 0)
    for sensor in made.sensors:
        expected = {"first_24h": 0, "middle": 0, "last_24h": 0}
        for wear in drawn.wears:
            if wear.sensor == sensor.id:
                own = [one for one in drawn.minutes if wear.reads.instant <= one < wear.removed.instant]
                first = [one for one in own if one - wear.started.instant < DAY]
                last = [one for one in own if wear.removed.instant - one <= DAY]
                expected["first_24h"] += len(first)
                expected["last_24h"] += len(last)
                expected["middle"] += len([one for one in own if one not in first and one not in last])
        found = {one.name: one.sticks for one in phases(made, drawn) if one.sensor == sensor.name}
        assert found == expected


def test_a_phase_with_few_sticks_is_thin_and_no_level_is_ever_one():
    """Below six; nights, lows and highs are no phases: nobody is sent to fill them."""
    made = trial(days=10, sticks=2, repeats=0)
    found = phases(made, draw(made, 0))
    assert {one.name for one in found} == {"first_24h", "middle", "last_24h"}
    assert {one.name for one in found if one.thin} == {"first_24h", "last_24h"}
