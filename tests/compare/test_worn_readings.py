"""Which readings count, in which range they are, and how much time they cover."""

import datetime
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compare import small

from evenhand.clock import DAY, HOUR
from evenhand.compare import worn_readings as rooms
from evenhand.compare.shapes import Worn
from evenhand.records.readings import Readings
from evenhand.records.sensors import Ending


@given(st.floats(20, 500), st.booleans())
def test_range_against_plain_comparison(value, mmol):
    """The range of a value is what four plain comparisons in its own unit say."""
    if mmol:
        value = round(value / 18, 1)
        limits = (3.0, 3.9, 10.0, 13.9)
    else:
        limits = (54, 70, 180, 250)
    plain = (
        0
        if value < limits[0]
        else 1
        if value < limits[1]
        else 2
        if value <= limits[2]
        else 3
        if value <= limits[3]
        else 4
    )
    assert rooms.consensus_range([value], [mmol], [0]).tolist() == [plain]


def test_limit_words_count_on_their_side():
    """LOW at a limit of 60 is below 54 all the same, HIGH at 200 above 250: 'at least that far'."""
    assert rooms.consensus_range([60, 200], [False, False], [1, 2]).tolist() == [0, 4]


@given(
    st.lists(st.integers(0, 200), max_size=40, unique=True).map(sorted),
    st.integers(1, 20),
    st.integers(0, 30),
)
def test_cover_and_gaps_fill_the_stretch(at, step, tail):
    """Covered time and gaps together are exactly the stretch; gaps are apart, in order, and hold no reading."""
    start, end = 0, 200 + tail
    found = rooms.cover(np.array(at, np.int64), start, end, step)
    assert found.seconds + sum(b - a for a, b in found.gaps) == end - start
    assert 0 <= found.seconds <= end
    for (a, b), later in zip(found.gaps, (*found.gaps, (end, end))[1:], strict=True):
        assert a < b <= later[0]
        assert not any(a <= t < b for t in at)


@given(st.lists(st.integers(0, 60), min_size=1, max_size=20, unique=True).map(sorted), st.integers(1, 5))
def test_cover_against_its_slow_twin(at, step):
    """Second by second: covered is what lies within a step after a reading, or between two close ones."""
    end = 70
    covered = np.zeros(end, bool)
    for t in at:
        covered[t : min(t + step, end)] = True
    edges = [(a, b) for a, b in zip(at, (*at[1:], end), strict=True)]
    for a, b in edges:
        if b - a <= 1.5 * step:
            covered[a:b] = True
    if at[0] <= 1.5 * step:
        covered[: at[0]] = True
    assert rooms.cover(np.array(at, np.int64), 0, end, step).seconds == covered.sum()


def test_cover_of_nothing():
    """No readings: the whole stretch is one gap. No stretch: nothing."""
    none = np.empty(0, np.int64)
    assert rooms.cover(none, 0, 900, 300) == rooms.Cover(0, ((0, 900),))
    assert rooms.cover(none, 900, 900, 300) == rooms.Cover(0, ())
    assert rooms.cover(none, 900, 0, 300) == rooms.Cover(0, ())


@given(
    st.lists(st.integers(-50, 50), min_size=1, max_size=20, unique=True).map(sorted),
    st.lists(st.integers(-60, 60), max_size=20),
)
def test_nearest_against_its_slow_twin(at, wanted):
    """The nearest is what trying them all finds; of two as near, the earlier."""
    found = rooms.nearest(np.array(at, np.int64), np.array(wanted, np.int64))
    for index, want in zip(found, wanted, strict=True):
        assert index == min(range(len(at)), key=lambda i: (abs(at[i] - want), i))


def test_readings_before_warm_up_and_outside_every_wear_do_not_count():
    """Warm-up, the time before the first wear and after the last, and between two: left out."""
    made = small.trial(
        [small.fern()],
        [small.wear("fern", HOUR, 5 * HOUR, Ending.END), small.wear("fern", 6 * HOUR, 8 * HOUR, Ending.END)],
        {"fern": small.readings(small.every(600, 0, 9 * HOUR), 100)},
    )
    seen = rooms.worn_readings(made, small.layout(made, warm_up=1800), 0)
    hours = (seen.at - small.T0) / HOUR
    assert np.all(((hours >= 1.5) & (hours <= 5)) | ((hours >= 6.5) & (hours <= 8)))
    assert seen.at.size == 22 + 10
    assert set(seen.wear.tolist()) == {0, 1}


def test_a_reading_belongs_to_the_wear_started_last():
    """Where the next wear starts at the very moment the last one ends, its first reading is its own."""
    made = small.trial(
        [small.fern()],
        [small.wear("fern", 0, HOUR, Ending.END), small.wear("fern", HOUR, 2 * HOUR, Ending.END)],
        {"fern": small.readings([0, HOUR, 2 * HOUR], 100)},
    )
    assert rooms.worn_readings(made, small.layout(made), 0).wear.tolist() == [0, 1, 1]


def test_a_sensor_that_never_started_takes_no_readings():
    """A new sensor opened while the old one still runs, and never started: the readings stay the old one's."""
    made = small.trial(
        [small.fern()],
        [small.wear("fern", 0, DAY, Ending.END), small.wear("fern", HOUR, HOUR, Ending.NEVER_STARTED)],
        {"fern": small.readings(small.every(300, 0, DAY), 100)},
    )
    laid = small.layout(made)
    dead = Worn(0, 2, small.T0 + HOUR, small.T0 + HOUR + 1, small.T0 + HOUR, True, made.wears[1])
    seen = rooms.worn_readings(made, replace(laid, worn=(*laid.worn, dead)), 0)
    assert (seen.at.size, set(seen.wear.tolist())) == (288, {0})


def test_day_is_the_local_date():
    """23:30 in UTC is the next day two hours east; the ordinal is that of `datetime.date`."""
    base = small.readings([23 * HOUR + 1800], 100)
    east = Readings(
        base.instant, np.array([7200], np.int32), base.value, base.mmol, base.flag, base.line, base.text
    )
    for told, day in ((base, 2), (east, 3)):
        made = small.trial([small.fern()], [small.wear("fern", 0, DAY, Ending.END)], {"fern": told})
        seen = rooms.worn_readings(made, small.layout(made), 0)
        assert seen.day.tolist() == [datetime.date(2026, 3, day).toordinal()]


def test_step_as_stated_or_as_seen():
    """The stated interval stands; without one the median step of the readings; without readings none."""
    at = np.array([0, 300, 600, 5000, 5300], np.int64)
    assert rooms.usual_step(small.fern(interval=900), at) == 900
    assert rooms.usual_step(small.fern(interval=None), at) == 300
    assert rooms.usual_step(small.fern(interval=None), at[:1]) is None


def test_a_sensor_without_readings():
    """Nothing read: empty arrays, not an error."""
    made = small.trial([small.fern()], [small.wear("fern", 0, DAY, Ending.END)])
    seen = rooms.worn_readings(made, small.layout(made), 0)
    assert (seen.at.size, seen.mg_dl.size, seen.step) == (0, 0, 300)


def test_common_minutes_need_every_sensor():
    """Minutes count where both have a reading near enough; outside either wear none do."""
    made = small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, 4 * HOUR, Ending.END), small.wear("slate", 2 * HOUR, 6 * HOUR, Ending.END)],
        {
            "fern": small.readings(small.every(300, 0, 4 * HOUR), 100),
            "slate": small.readings(small.every(300, 2 * HOUR, 6 * HOUR), 120),
        },
    )
    laid = small.layout(made)
    common = rooms.common_minutes(laid)
    assert common.sum() == 120
    assert laid.minutes.at[common].min() == pytest.approx(small.T0 + 2 * HOUR)
