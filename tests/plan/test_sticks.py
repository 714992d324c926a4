"""Drawn minutes: one in each equal slot, uniform, within the hours and the budget, in every zone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kstest
from tests.plan.making import ZONES, open_hours, reads, trial, trials, wall

from evenhand.clock import DAY, MINUTE
from evenhand.plan import sticks
from evenhand.plan.draw import draw
from evenhand.plan.hours import Hours
from evenhand.records.question import Question


@settings(max_examples=100, deadline=None)
@given(trials())
def test_every_drawn_minute_is_waking_not_quiet_and_all_sensors_read(made):
    """In every zone and over both clock changes; whole minutes, in order, none twice."""
    drawn = draw(made, 0)
    assert list(drawn.minutes) == sorted(set(drawn.minutes))
    for minute in drawn.minutes:
        assert minute % MINUTE == 0
        assert open_hours(made, minute)
        assert all(reads(drawn, one.id, minute) for one in made.sensors)


@settings(max_examples=100, deadline=None)
@given(trials())
def test_the_budget_of_strips_is_kept(made):
    """Sticks and their repeats never need more strips than there are, and never more a day than were wished."""
    drawn = draw(made, 0)
    strips = made.question.strips
    assert set(drawn.repeats) <= set(drawn.minutes)
    assert len(drawn.repeats) <= made.plan.wanted.repeats
    if strips is not None:
        assert len(drawn.minutes) + len(drawn.repeats) <= strips
    days = {}
    for minute in drawn.minutes:
        day = made.zones.stamp(minute).day
        days[day] = days.get(day, 0) + 1
    assert max(days.values(), default=0) <= made.plan.wanted.sticks + 1


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 12), st.integers(0, 2**40), st.sampled_from(ZONES))
def test_a_whole_day_has_one_stick_in_each_equal_slot(many, seed, zone):
    """Slots counted by hand from the day's own minutes, on 2 to 4 March."""
    made = trial(zone=zone)
    hours = Hours.of(made.question, made.zones)
    begin = made.plan.wanted.start.instant
    at, when = hours.minutes(begin, begin + 3 * DAY)
    full = hours.per_day()
    drawn = sticks.drawn(at, when.day, float(many), full, seed)
    for day in np.unique(when.day):
        own = at[when.day == day]
        found = [minute for minute in drawn if minute in set(own.tolist())]
        if own.size == full:
            places = [int(np.searchsorted(own, minute)) for minute in found]
            assert len(places) == many
            # A minute on the edge of two slots belongs to both.
            for slot, place in enumerate(places):
                assert place < (slot + 1) * own.size / many
                assert place + 1 > slot * own.size / many


@pytest.mark.parametrize(
    ("zone", "day"),
    [("Europe/Berlin", "2026-03-29"), ("Europe/Berlin", "2026-10-25"), ("Asia/Kathmandu", "2026-06-01")],
)
def test_minutes_are_uniform_over_the_day_whatever_the_clock_does(zone, day):
    """Over 400 seeds the places of drawn minutes among a day's usable ones are uniform (Kolmogorov and Smirnov's test of a
    general library, scipy, p above 0.001)."""
    made = trial(zone=zone, start=f"{day}T00:30", question=Question("question", waking=(0, 1439)))
    hours = Hours.of(made.question, made.zones)
    begin = made.plan.wanted.start.instant
    at, when = hours.minutes(begin, begin + DAY)
    chosen = when.day == when.day[0]
    at, ordinal = at[chosen], when.day[chosen]
    places = [
        (np.searchsorted(at, minute) + 0.5) / at.size
        for seed in range(400)
        for minute in sticks.drawn(at, ordinal, 1.0, at.size, seed)
    ]
    assert len(places) == 400
    assert kstest(places, "uniform").pvalue > 0.001


def test_within_a_slot_every_minute_is_as_likely():
    """The place within its slot is uniform too, over 300 seeds of seven sticks."""
    at, day = np.arange(0, 960 * 60, 60), np.zeros(960, int)
    within = [
        (minute / 60 * 7 / 960) % 1 for seed in range(300) for minute in sticks.drawn(at, day, 7.0, 960, seed)
    ]
    assert kstest(within, "uniform").pvalue > 0.001


def test_a_shorter_day_gets_its_share():
    """Half a day of usable minutes gets half the sticks, on average over 500 seeds within five standard errors."""
    at, day = np.arange(0, 480 * 60, 60), np.zeros(480, int)
    counts = [len(sticks.drawn(at, day, 7.0, 960, seed)) for seed in range(500)]
    assert set(counts) == {3, 4}
    assert abs(np.mean(counts) - 3.5) < 5 * 0.5 / np.sqrt(500)


@settings(max_examples=60, deadline=None)
@given(trials())
def test_no_stick_is_drawn_so_close_that_it_would_be_a_recheck(made):
    """Two planned sticks within 15 min: the second would judge nothing, a strip wasted. Where a day's part is long enough, it
    never happens on one date (days are drawn apart, and waking hours may cross midnight)."""
    drawn = draw(made, 0)
    if Hours.of(made.question, made.zones).per_day() / max(1, made.plan.wanted.sticks) < 60:
        return
    day = [made.zones.stamp(minute).day for minute in drawn.minutes]
    for (one, first), (two, second) in pairwise(zip(drawn.minutes, day, strict=True)):
        assert first != second or two - one > 15 * MINUTE


def test_the_first_and_the_last_day_are_pricked_like_any_other():
    """No corner is filled by more sticks: that would pull a wear's average towards it. Over 200 seeds, sticks an hour in the
    first and last 24 h agree with those between within 3 %."""
    rates = {"edge": [0, 0.0], "middle": [0, 0.0]}
    for seed in range(200):
        made = trial(seed=seed, days=10)
        drawn = draw(made, 0)
        begin, end = (
            max(wear.reads.instant for wear in drawn.wears),
            min(wear.removed.instant for wear in drawn.wears),
        )
        hours = Hours.of(made.question, made.zones)
        for name, spans in (
            ("edge", ((begin, begin + DAY), (end - DAY, end))),
            ("middle", ((begin + DAY, end - DAY),)),
        ):
            for start, stop in spans:
                rates[name][0] += sum(start <= minute < stop for minute in drawn.minutes)
                rates[name][1] += hours.minutes(start, stop)[0].size
    edge, middle = (count / size for count, size in rates.values())
    assert abs(edge / middle - 1) < 0.03


def test_a_day_is_drawn_the_same_whatever_happens_to_others():
    """Another end, another start: the sticks of a day in both are the same, so that a plan drawn anew keeps them."""
    one, two = draw(trial(days=20), 0), draw(trial(days=13), 0)
    middle = [made for made in one.minutes if one.wears[1].reads.instant + DAY < made < two.end.instant - DAY]
    assert middle
    assert set(middle) <= set(two.minutes)


def test_a_budget_is_spread_over_every_day():
    """60 strips over 20 days, 10 of them repeats: two or three sticks a day, none used up early."""
    made = trial(days=20, question=Question("question", strips=60))
    drawn = draw(made, 0)
    assert 45 <= len(drawn.minutes) <= 50
    days = [wall(minute, "Europe/Berlin").date() for minute in drawn.minutes]
    assert len(set(days)) >= 19
    assert max(days.count(day) for day in days) <= 3


def test_what_is_cut_is_cut_everywhere():
    """One minute out of each of equal parts, so that no day loses all of its sticks."""
    minutes = tuple(range(0, 6000, 60))
    kept = sticks.cut(minutes, 90, 3)
    assert len(kept) == 90
    gone = sorted(set(minutes) - set(kept))
    assert [place // 600 for place in gone] == list(range(10))
    assert sticks.cut(minutes, 100, 3) == minutes


def test_repeats_are_spread_over_the_trial():
    """One in each of equal parts of the sticks; all of them where fewer sticks than repeats are planned."""
    minutes = tuple(range(0, 6000, 60))
    twice = sticks.repeated(minutes, 10, 3)
    assert [minute // 600 for minute in twice] == list(range(10))
    assert sticks.repeated(minutes[:3], 10, 3) == minutes[:3]
    assert sticks.repeated((), 10, 3) == ()


def test_no_minutes_no_sticks():
    """A day without a usable minute, a wish of none, a budget that repeats use up."""
    none = np.empty(0, np.int64)
    assert sticks.drawn(none, none, 7.0, 960, 1) == ()
    assert sticks.drawn(np.arange(0, 600, 60), np.zeros(10, int), 0.0, 960, 1) == ()
    assert sticks.rate(7, 8, 10, 960, 960) == 0.0
