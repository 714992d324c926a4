"""How time is cut into rows."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from tests.support.fake_trial import START, make_trial

from evenhand.charts import rows
from evenhand.clock import DAY, HOUR, Stamp
from evenhand.records.diary import Event, EventKind


@pytest.mark.parametrize("days", [1, 3, 7, 9, 20, 30])
@pytest.mark.parametrize("cut", [rows.weeks, rows.wear_rows])
def test_rows_cover_the_whole_trial_without_overlap(cut, days: int):
    """Every reading and stick lies in exactly one row."""
    trial = make_trial(days=days, every=15)
    made = cut(trial)
    first, last = rows.extent(trial)
    assert made[0].start <= first
    assert made[-1].end > last
    assert all(before.end == after.start for before, after in itertools.pairwise(made))


def test_rows_are_about_equally_long():
    """22 days make three rows of eight, not three weeks and a day."""
    made = rows.weeks(make_trial(days=21, every=15))
    assert len(made) == 3
    assert {row.end - row.start for row in made} <= {8 * DAY, 8 * DAY - HOUR}


def test_midnights_through_a_clock_change():
    """29 March 2026 has 23 hours in Lisbon; its midnights are still midnights."""
    trial = make_trial(days=30, every=60)
    found = rows.midnights(trial, START, START + 30 * DAY)
    walls = [trial.zones.stamp(at).wall for at in found]
    assert {(wall.hour, wall.minute) for wall in walls} == {(0, 0)}
    assert sorted({after - before for before, after in itertools.pairwise(found)}) == [
        23 * HOUR,
        DAY,
    ]


def test_midnights_follow_a_trip():
    """During a trip midnight is midnight there."""
    trial = make_trial(days=6, every=60)
    away = Event("e2", EventKind.TRIP, Stamp.at(START + 2 * DAY, "Europe/Lisbon"), START, None, "Asia/Tokyo")
    abroad = replace(trial, events=(*trial.events, away))
    found = rows.midnights(abroad, START + 3 * DAY, START + 5 * DAY)
    assert len(found) == 2
    assert all(abroad.zones.stamp(at).wall.hour == 0 and (at // HOUR) % 24 == 15 for at in found)


def test_wear_rows_start_with_wears():
    """Each wear of the first sensor starts a row, and says so."""
    trial = make_trial(days=20, every=15)
    starts = {wear.start.instant for wear in trial.wears_of("s0")}
    made = rows.wear_rows(trial)
    assert {row.start for row in made if row.label.endswith("part 1")} == {made[0].start} | (starts - {START})


def test_nothing_recorded_is_no_row():
    """A trial without readings and sticks has no rows."""
    empty = replace(make_trial(days=1), readings={}, sticks=())
    assert rows.weeks(empty) == rows.wear_rows(empty) == []
