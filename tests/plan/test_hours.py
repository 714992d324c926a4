"""The hours in which something may be asked, held against the standard library minute by minute."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.plan.making import ZONES, at, open_hours, trial

from evenhand.clock import DAY, HOUR, MINUTE, Trip, Zones
from evenhand.plan.hours import Hours
from evenhand.records.question import Question

SPANS = st.tuples(st.integers(0, 1439), st.integers(0, 1439))


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(ZONES),
    st.sampled_from(("2026-03-28", "2026-10-24", "2026-04-04", "2026-07-01")),
    SPANS,
    st.none() | SPANS,
)
def test_every_minute_is_open_or_not_as_worked_out_by_hand(zone, day, waking, quiet):
    """Two days in any zone, over both clock changes of both hemispheres."""
    made = trial(zone=zone, start=f"{day}T09:00", question=Question("question", waking=waking, quiet=quiet))
    hours = Hours.of(made.question, made.zones)
    begin = at(f"{day}T09:00", zone)
    found, when = hours.minutes(begin, begin + 2 * DAY)
    expected = [minute for minute in range(begin, begin + 2 * DAY, MINUTE) if open_hours(made, minute)]
    assert found.tolist() == expected
    assert when.day.size == found.size


def test_a_question_without_hours_means_seven_to_eleven():
    """The usual waking hours; quiet only where it was said."""
    hours = Hours.of(Question("question"), Zones("UTC"))
    assert (hours.waking, hours.quiet, hours.per_day()) == ((420, 1380), (), 960)


def test_quiet_hours_are_taken_out_of_a_day():
    """All stretches of them, those over midnight too."""
    question = Question("question", quiet=(13 * 60, 15 * 60), also_quiet=((22 * 60, 8 * 60),))
    assert Hours.of(question, Zones("UTC")).per_day() == 960 - 120 - 60 - 60


def test_on_a_trip_the_hours_are_those_of_the_place():
    """At nine at home it is night where the wearer is: nothing may be asked."""
    home = at("2026-06-02T09:00", "Europe/Lisbon")
    there = Zones("Europe/Lisbon", (Trip(home - DAY, home + DAY, "America/Los_Angeles"),))
    assert not Hours(there).allows(home)
    assert Hours(Zones("Europe/Lisbon")).allows(home)
    assert Hours(there).allows(home + 8 * HOUR)


def test_minutes_are_whole_and_the_end_is_left_out():
    """A span that begins between two minutes begins with the next whole one."""
    found, _ = Hours(Zones("UTC")).minutes(8 * HOUR + 30, 8 * HOUR + 3 * MINUTE)
    assert found.tolist() == [8 * HOUR + MINUTE, 8 * HOUR + 2 * MINUTE]
