"""Wears laid one after another: no hour without a reading, none with two sensors in warm-up, nobody woken."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from tests.plan.making import at, open_hours, reads, sensor, trial, trials, warms

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.errors import CannotPlan
from evenhand.plan.checks import notes
from evenhand.plan.draw import draw
from evenhand.plan.laying import APART
from evenhand.plan.life import Life
from evenhand.records.plan import SensorPlan
from evenhand.records.sensors import CountsFrom


def every(drawn, step=10 * MINUTE):
    """Moments from the first reading to the end."""
    first = min(wear.reads.instant for wear in drawn.wears)
    return range(first, drawn.end.instant, step)


@settings(max_examples=120, deadline=None)
@given(trials())
def test_no_hour_is_without_a_reading_and_none_has_two_in_warm_up(made):
    """Looked at every ten minutes from the first reading to the end, by a check that knows nothing of the planner; in every
    zone and over both clock changes."""
    drawn = draw(made, 0)
    names = [one.id for one in made.sensors]
    for moment in every(drawn):
        assert any(reads(drawn, name, moment) for name in names)
        assert sum(warms(drawn, name, moment) for name in names) <= 1


@settings(max_examples=120, deadline=None)
@given(trials())
def test_nobody_is_asked_to_change_a_sensor_at_night_or_in_quiet_hours(made):
    """Every insertion, start and removal lies in the hours; the end of a trial named in days is the start's time of day."""
    drawn = draw(made, 0)
    for wear in drawn.wears:
        assert open_hours(made, wear.inserted.instant)
        assert open_hours(made, wear.started.instant)
        if wear.removed.instant < drawn.end.instant:
            assert open_hours(made, wear.removed.instant)


@settings(max_examples=120, deadline=None)
@given(trials())
def test_no_wear_outlasts_its_life_and_its_grace(made):
    """What early insertion costs is taken off; wears of one sensor follow one another without overlap of their use."""
    drawn = draw(made, 0)
    for one in made.sensors:
        own = [wear for wear in drawn.wears if wear.sensor == one.id]
        assert [wear.number for wear in own] == list(range(1, len(own) + 1))
        for wear in own:
            early = wear.started.instant - wear.inserted.instant
            assert early >= made.plan.wanted.of(one.id).early
            life = Life.of(one, early)
            assert wear.removed.instant - wear.started.instant <= life.most
            assert wear.reads.instant - wear.started.instant == life.dark
        for before, after in itertools.pairwise(own):
            assert before.removed.instant == after.started.instant
            assert before.reads.instant <= after.inserted.instant


def test_the_first_of_two_reads_before_the_second_goes_in():
    """The second is inserted an hour after the first reads at the earliest, so that one late hour does no harm."""
    drawn = draw(trial(), 0)
    first, second = drawn.wears[0], drawn.wears[1]
    assert second.started.instant >= first.reads.instant + APART


def test_grace_is_kept_in_reserve():
    """A change that falls into the hours anyway is made at the end of the rated life, not of the grace."""
    drawn = draw(trial(days=22), 0)
    for wear in drawn.wears:
        if wear.removed.instant < drawn.end.instant:
            assert wear.removed.instant - wear.started.instant == 10 * DAY


def test_grace_is_used_before_life_is_given_up():
    """A life that ends at night runs into the grace until the morning; without grace it is cut in the evening before."""
    odd = {"life": 10 * DAY + 16 * HOUR, "counts_from": CountsFrom.START}
    for grace, expected in ((12 * HOUR, "07:00"), (0, "22:45")):
        drawn = draw(trial(sensor(0, grace=grace, **odd), sensor(1, life=14 * DAY), days=20), 0)
        first = next(wear for wear in drawn.wears if wear.sensor == "s-0")
        assert f"{first.removed.wall:%H:%M}" == expected


def test_an_early_wear_runs_beside_the_one_before_it():
    """Twelve hours early: in the evening before, so that the change costs no reading where warm-up runs from insertion."""
    made = trial(
        sensor(0, counts_from=CountsFrom.INSERTION, warm_up=2 * HOUR), sensor(1, life=14 * DAY), days=19,
        sensors=(SensorPlan("s-0", early=12 * HOUR),),
    )  # fmt: skip
    second = next(wear for wear in draw(made, 0).wears if wear.sensor == "s-0" and wear.number == 2)
    assert second.started.instant - second.inserted.instant >= 12 * HOUR
    assert second.reads == second.started


def impossible():
    """Two sensors of three days whose warm-ups take forty hours of them: while one warms up the other ends."""
    ours = [sensor(place, warm_up=40 * HOUR, grace=0, life=3 * DAY) for place in (0, 1)]
    return trial(*ours, days=9)


def test_what_cannot_be_staggered_is_refused_with_the_reason():
    """That nothing would guard the wearer is said, and how to say yes to it."""
    with pytest.raises(CannotPlan, match=r"nothing would guard you.*overlap=yes"):
        draw(impossible(), 0)


def test_after_a_second_confirmation_it_is_drawn():
    """With overlap confirmed the same wishes give a plan."""
    made = impossible()
    confirmed = replace(made, plan=replace(made.plan, wanted=replace(made.plan.wanted, overlap=True)))
    drawn = draw(confirmed, 0)
    assert {wear.sensor for wear in drawn.wears} == {"s-0", "s-1"}
    assert any(note.code == "nothing-reads" for note in notes(confirmed, drawn))


def test_one_sensor_alone_is_laid_too():
    """There is no other to guard its warm-ups; nothing is refused."""
    drawn = draw(trial(sensor(0), days=20), 0)
    assert [wear.number for wear in drawn.wears] == [1, 2]


def test_different_lives_end_together():
    """With wears named, the trial ends when the first sensor has had its wears: afterwards there is nothing to compare."""
    drawn = draw(trial(sensor(0, life=7 * DAY), sensor(1, life=14 * DAY)), 0)
    ends = {wear.sensor: wear.removed.instant for wear in drawn.wears}
    assert len(set(ends.values())) == 1
    assert drawn.end.instant <= at("2026-03-02T09:00") + 15 * DAY


def test_no_sensor_is_opened_that_would_only_warm_up_until_the_end():
    """Five days of four-day sensors with a warm-up of four hours: the second wear that could read is opened, not the one
    that could not."""
    ours = (
        sensor(0, warm_up=1800, life=4 * DAY, grace=None),
        sensor(1, warm_up=4 * HOUR, life=4 * DAY, grace=None),
    )
    for seed in range(12):
        drawn = draw(
            trial(
                *ours,
                start="2026-03-20T10:00",
                seed=seed,
                days=5,
                sensors=(SensorPlan("s-0", early=12 * HOUR),),
            ),
            0,
        )
        assert drawn.end.instant == at("2026-03-25T10:00")
        assert all(wear.reads.instant < wear.removed.instant for wear in drawn.wears)
