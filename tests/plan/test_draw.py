"""A plan drawn, and drawn anew where wears went otherwise."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.plan.making import at, reads, sensor, trial, trials, warms

from evenhand.clock import DAY, HOUR, MINUTE, Stamp
from evenhand.errors import BadRecord, CannotPlan, Problems
from evenhand.plan.checks import notes
from evenhand.plan.draw import after, draw, reading, seed_of, under_way
from evenhand.records.diary import Event, EventKind
from evenhand.records.plan import Held, Plan, SensorPlan
from evenhand.records.sensors import Ending, Side, Wear

ZONE = "Europe/Berlin"


def stamp(instant):
    return Stamp.at(instant, ZONE)


def worn_as(drawn, upto, **last):
    """The wears that began before `upto`, as they were planned; `last` changes the last one of Fern's."""
    found = []
    for number, wear in enumerate(drawn.wears):
        if wear.inserted.instant < upto:
            removed = wear.removed if wear.removed.instant < upto else None
            ending = Ending.END if removed else None
            found.append(
                Wear(
                    f"w-{number}",
                    wear.sensor,
                    wear.inserted,
                    wear.started,
                    removed,
                    side=wear.side,
                    ending=ending,
                )
            )
    own = max((place for place, wear in enumerate(found) if wear.sensor == "s-0"), default=None)
    if own is not None and last:
        found[own] = replace(found[own], **last)
    return tuple(found)


def test_the_same_trial_gives_the_same_plan():
    """At any moment before it starts: nothing but the trial itself goes in."""
    made = trial()
    one, other = draw(made, 0), draw(made, 86_400)
    assert replace(other, at=one.at) == one


def test_the_seed_is_the_trials_own():
    """Nobody draws until the draw pleases: the seed follows from the trial, and another trial has another."""
    assert seed_of(trial()) == seed_of(trial(days=30)) == draw(trial(), 0).seed
    assert seed_of(trial(seed=6)) != seed_of(trial())
    assert 0 <= seed_of(trial()) < 10**9


def test_two_wears_of_each_where_nothing_is_said():
    """Two weeks or more, each sensor twice."""
    drawn = draw(trial(), 0)
    assert sorted((wear.sensor, wear.number) for wear in drawn.wears) == [
        ("s-0", 1),
        ("s-0", 2),
        ("s-1", 1),
        ("s-1", 2),
    ]


def test_the_sides_alternate_and_the_two_sensors_are_opposite():
    """Otherwise sensor and site were one."""
    drawn = draw(trial(days=40), 0)
    for name in ("s-0", "s-1"):
        sides = [wear.side for wear in drawn.wears if wear.sensor == name]
        assert all(one is not two for one, two in itertools.pairwise(sides))
    firsts = {wear.side for wear in drawn.wears if wear.number == 1}
    assert firsts == {Side.LEFT, Side.RIGHT}


def test_days_end_at_the_same_time_of_day():
    """Over the clock change too: 28 days after nine in winter is nine in summer."""
    drawn = draw(trial(days=28), 0)
    assert drawn.end.wall.isoformat() == "2026-03-30T09:00:00"


def test_a_time_of_day_that_a_clock_change_leaves_out_is_an_hour_later():
    """02:30 did not exist on 29 March in Berlin."""
    made = trial(start="2026-03-28T02:30")
    found = after(made.plan.wanted.start, 1, made.zones)
    assert Stamp.at(found, ZONE).wall.isoformat() == "2026-03-29T03:30:00"


def test_a_start_not_settled_is_asked_for():
    """Without it nothing is drawn; the cure says how to name it."""
    made = trial()
    bare = replace(made, plan=Plan())
    with pytest.raises(CannotPlan, match="--set start="):
        draw(bare, 0)


def test_every_life_that_is_not_known_is_asked_for_at_once():
    """All problems are told together."""
    with pytest.raises(Problems) as told:
        draw(trial(sensor(0, life=None), sensor(1, life=None)), 0)
    assert len(told.value.each()) == 2
    assert all(isinstance(one, BadRecord) for one in told.value.each())


def test_days_and_wears_that_contradict_each_other_are_refused():
    """28 days of ten-day sensors take three wears; two were named."""
    with pytest.raises(CannotPlan, match="28 days take 3 wears of Fern, not 2"):
        draw(trial(days=28, sensors=(SensorPlan("s-0", wears=2),)), 0)


def test_lots_and_dates_come_from_the_drawer():
    """The box that expires first goes first."""
    held = (Held(1, "L2", date(2027, 1, 1)), Held(1, "L1", date(2026, 4, 1)))
    drawn = draw(trial(sensors=(SensorPlan("s-0", held=held),)), 0)
    assert [wear.lot for wear in drawn.wears if wear.sensor == "s-0"] == ["L1", "L2"]


def test_reading_stretches_are_those_of_the_wears():
    """From the first reading to the removal, sensor by sensor."""
    made = trial()
    drawn = draw(made, 0)
    found = reading(drawn.wears, made.sensors)
    assert [len(one) for one in found] == [2, 2]
    assert all(start < end for one in found for start, end in one)


def torn_off(days=5, hours=3):
    """A trial in which Fern's first wear was torn off in its fifth day, and the moment."""
    made = trial(days=24)
    drawn = draw(made, at("2026-03-01T12:00"))
    when = drawn.wears[0].started.instant + days * DAY + hours * HOUR
    wears = worn_as(drawn, when, removed=stamp(when), ending=Ending.ACCIDENT)
    return replace(made, wears=wears, plan=replace(made.plan, drawn=drawn)), when


def test_after_a_sensor_is_torn_off_the_rest_is_laid_anew():
    """What was worn stands as recorded; a replacement goes in within a day, the trial ends when it was to end, and still
    no hour is without a reading."""
    made, when = torn_off()
    again = draw(made, when + HOUR)
    before = made.plan.drawn
    assert (again.end, again.number, again.seed) == (before.end, 2, before.seed)
    own = [wear for wear in again.wears if wear.sensor == "s-0"]
    assert own[0].happened
    assert own[0].removed.instant == when
    assert not own[1].happened
    assert when + HOUR <= own[1].inserted.instant <= when + DAY
    names = [one.id for one in made.sensors]
    for moment in range(when + HOUR, again.end.instant, 10 * MINUTE):
        assert any(reads(again, name, moment) for name in names)
        assert sum(warms(again, name, moment) for name in names) <= 1


def test_sticks_of_the_past_stay_as_drawn():
    """What was asked for cannot be asked for otherwise afterwards; the days that both drawings hold whole are the same."""
    made, when = torn_off()
    again, before = draw(made, when + HOUR), made.plan.drawn
    past = tuple(one for one in before.minutes if one <= when + HOUR)
    assert again.minutes[: len(past)] == past
    assert [one for one in again.repeats if one <= when] == [one for one in before.repeats if one <= when]
    assert len(again.repeats) == len(before.repeats)
    assert set(before.minutes) & set(again.minutes) > set(past)


def test_a_new_drawing_knows_how_much_the_old_ones_held():
    """So that a calendar can take the rest back."""
    made, when = torn_off()
    again = draw(made, when + HOUR)
    assert again.most_sticks == len(made.plan.drawn.minutes)
    assert again.most_wears == len(made.plan.drawn.wears)


def test_the_replacement_sits_on_the_other_side():
    """Alternation goes on from what was recorded, not from what was planned."""
    made, when = torn_off()
    swapped = tuple(replace(wear, side=Side.LEFT) if wear.sensor == "s-0" else wear for wear in made.wears)
    again = draw(replace(made, wears=swapped), when + HOUR)
    own = [wear for wear in again.wears if wear.sensor == "s-0"]
    assert [wear.side for wear in own[:2]] == [Side.LEFT, Side.RIGHT]


def test_a_sensor_that_never_started_is_replaced():
    """It counts as a wear of no length; the next is laid as soon as may be."""
    made = trial(days=20)
    drawn = draw(made, 0)
    first = drawn.wears[0]
    when = first.started.instant
    dud = Wear("w-0", first.sensor, first.inserted, first.started, ending=Ending.NEVER_STARTED)
    again = draw(replace(made, wears=(dud,), plan=replace(made.plan, drawn=drawn)), when + HOUR)
    own = [wear for wear in again.wears if wear.sensor == first.sensor]
    assert own[0].reads == own[0].removed
    assert own[1].started.instant >= when + HOUR


def test_wears_of_before_are_no_part_of_the_trial():
    """A sensor worn two weeks earlier is not counted, and starts nothing."""
    old = Wear("w-0", "s-0", stamp(at("2026-02-10T09:00")), removed=stamp(at("2026-02-20T09:00")))
    made = trial(wears=(old,))
    assert not under_way(made, made.plan.wanted.start.instant)
    assert all(not wear.happened for wear in draw(made, 0).wears)


def test_a_trip_moves_what_lies_ahead_into_the_waking_hours_there():
    """Ten hours west from the sixth day on: no stick lies in that place's night."""
    made = trial(days=20)
    drawn = draw(made, 0)
    off = drawn.wears[0].started.instant + 6 * DAY
    trip = Event("e", EventKind.TRIP, stamp(off), off, text="America/Los_Angeles")
    there = replace(made, events=(trip,), plan=replace(made.plan, drawn=drawn), wears=worn_as(drawn, off))
    again = draw(there, off)
    for minute in again.minutes:
        shown = there.zones.stamp(minute)
        assert 7 <= shown.wall.hour < 23
        assert shown.zone == ("America/Los_Angeles" if minute >= off else ZONE)


@settings(max_examples=60, deadline=None)
@given(trials(), st.floats(0.05, 0.95), st.integers(0, 30))
def test_whatever_is_torn_off_the_rest_keeps_its_promises(made, share, waited):
    """A sensor comes off at any moment of the plan: it is drawn anew, never refused; what lies ahead has a reading at every
    hour and never two warm-ups at once, or that hour is named among what has to be minded."""
    drawn = draw(made, 0)
    start, end = drawn.wears[0].inserted.instant, drawn.end.instant
    when = int(start + share * (end - start)) // MINUTE * MINUTE
    zone = made.header.zone
    wears = []
    for number, wear in enumerate(drawn.wears):
        if wear.started.instant < when:
            removed = wear.removed if wear.removed.instant <= when else None
            wears.append(
                Wear(f"w-{number}", wear.sensor, wear.inserted, wear.started, removed, side=wear.side)
            )
    if wears and wears[0].removed is None:
        wears[0] = replace(wears[0], removed=Stamp.at(when, zone), ending=Ending.ACCIDENT)
    now = when + waited * MINUTE
    torn = replace(made, wears=tuple(wears), plan=replace(made.plan, drawn=drawn))
    again = draw(torn, now)
    names = [one.id for one in made.sensors]
    told = [note.span for note in notes(torn, again) if note.code in ("nothing-reads", "both-in-warm-up")]
    assert again.end == drawn.end or not wears
    first = min(wear.reads.instant for wear in again.wears)
    for moment in range(max(now, first), again.end.instant, 20 * MINUTE):
        if any(start <= moment < end for start, end in told):
            continue
        assert any(reads(again, name, moment) for name in names)
        assert sum(warms(again, name, moment) for name in names) <= 1
