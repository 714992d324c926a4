"""The minutes of an invented trial on the wall clock."""

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenhand.rehearse.grid import Grid, instant_of

SPRING = instant_of("2026-03-28T08:00", "Europe/Lisbon")
AUTUMN = instant_of("2026-10-24T08:00", "Europe/Lisbon")


@pytest.mark.parametrize(
    ("start", "zone"), [(SPRING, "Europe/Lisbon"), (AUTUMN, "Europe/Lisbon"), (SPRING, "Asia/Kolkata")]
)
def test_wall_clock_is_that_of_the_zone(start, zone):
    """Minute of the day and offset agree with the standard library's datetime, over both clock changes."""
    grid = Grid.over(start, 2 * 1440, zone)
    for minute in range(0, len(grid), 37):
        there = datetime.fromtimestamp(int(grid.at[minute]), ZoneInfo(zone))
        assert grid.of_day[minute] == there.hour * 60 + there.minute
        assert grid.offset[minute] == there.utcoffset().total_seconds()


def test_days_count_from_the_day_of_the_start():
    """Day 0 is the local day of the first minute, and changes at local midnight."""
    grid = Grid.over(SPRING, 3 * 1440, "Europe/Lisbon")
    assert grid.day[0] == 0
    midnight = int(np.flatnonzero(np.diff(grid.day))[0]) + 1
    assert grid.of_day[midnight] == 0
    assert midnight == 16 * 60


def test_the_hour_left_out_in_spring_is_not_there():
    """No grid minute lies between 1:00 and 2:00 on the day the clock goes forward."""
    grid = Grid.over(SPRING, 2 * 1440, "Europe/Lisbon")
    on_day = grid.of_day[grid.day == 1]
    assert not ((on_day >= 60) & (on_day < 120)).any()
    assert on_day.size == 23 * 60


def test_the_hour_that_comes_twice_in_autumn_is_there_twice():
    """Every wall minute between 1:00 and 2:00 comes twice when the clock goes back."""
    grid = Grid.over(AUTUMN, 2 * 1440, "Europe/Lisbon")
    on_day = grid.of_day[grid.day == 1]
    assert ((on_day >= 60) & (on_day < 120)).sum() == 120


@settings(max_examples=40)
@given(st.integers(0, 2 * 1440 - 1), st.sampled_from([SPRING, AUTUMN]))
def test_minute_finds_the_first_time_the_wall_showed_it(minute, start):
    """Law: asking for a grid minute's own wall time gives it back, or an earlier minute that showed the same or
    (just after the repeated hour) as much."""
    grid = Grid.over(start, 2 * 1440, "Europe/Lisbon")
    found = int(grid.minute(np.array([grid.wall[minute]]))[0])
    assert found <= minute
    assert grid.wall[: found + 1].max() >= grid.wall[minute]


def test_a_wall_minute_after_the_end_is_past_the_grid():
    """A later wall time than the grid holds gives its length."""
    grid = Grid.over(SPRING, 100, "Europe/Lisbon")
    assert grid.minute(np.array([99_999]))[0] == 100


def test_within_takes_the_first_minute_and_leaves_the_last():
    """Hours are from (included) to (excluded)."""
    grid = Grid.over(instant_of("2026-02-02T08:00", "Europe/Lisbon"), 1440, "Europe/Lisbon")
    inside = grid.of_day[grid.within((420, 1380))]
    assert (inside.min(), inside.max(), inside.size) == (420, 1379, 960)
