"""Accuracy of one sensor: by hand, and laws between its tables."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, usual, wear

from evenhand.compare.accuracy import TOLERANCES, gauge, within
from evenhand.compare.layout import lay_out
from evenhand.compare.splits import level_by_stick, whole
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.units import FACTOR, Unit


def flat(sticks, offsets, days=4, flags=None, unit=Unit.MG_DL, **more):
    """One sensor that reads 100 plus the day's offset all day, one wear; `sticks` are (day, hour, value)."""
    at = np.arange(HOUR, days * DAY, 300)
    value = 100.0 + np.array(offsets, float)[at // DAY]
    scale = 1.0 if unit is Unit.MG_DL else FACTOR
    return lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + days * DAY - 60)],
            [
                stick(MIDNIGHT + day * DAY + round(hour * HOUR), value / scale, unit=unit, id=f"s{i}", **more)
                for i, (day, hour, value) in enumerate(sticks)
            ],
            {"fern": readings(MIDNIGHT + at, value / scale, unit, flags)},
        )
    )


SEVEN = [(0, 8, 100), (0, 12, 110), (1, 8, 95), (1, 12, 90), (2, 8, 80), (2, 12, 125), (3, 9, 50)]


def test_by_hand():
    """Seven sticks on four days against a reading of 100: errors 0, -10, 5, 10, 20, -25, 50."""
    found = gauge(flat(SEVEN, [0, 0, 0, 0]), 0).splits().all
    assert (found.pairs, found.at_least, found.left_out) == (7, 0, ())
    assert found.bias.value == pytest.approx(50 / 7)
    assert found.mad.value == pytest.approx(120 / 7)
    relative = [0, 10 / 110, 5 / 95, 10 / 90, 20 / 80, 25 / 125, 50 / 50]
    assert found.mard.value == pytest.approx(100 * sum(relative) / 7)
    inside = {"15/15": 4, "20/20": 6, "30/30": 6, "40/40": 6}
    assert {name: est.value for name, est in found.within.items()} == {
        name: pytest.approx(100 * count / 7) for name, count in inside.items()
    }
    assert found.bias.low < found.bias.value < found.bias.high
    assert found.mad.low > 0


@pytest.mark.parametrize(
    ("reading", "finger", "tolerance", "inside"),
    [
        (119, 99, 20, True), (119.1, 99, 20, False), (79, 99, 20, True), (120, 100, 20, True),
        (120.1, 100, 20, False), (80, 100, 20, True), (79.9, 100, 20, False), (240, 200, 20, True),
        (240.5, 200, 20, False), (99, 99.99, 15, True), (230, 200, 15, True), (231, 200, 15, False),
        (260, 200, 30, True), (261, 200, 30, False), (280, 200, 40, True), (50, 91, 40, False),
    ],
)  # fmt: skip
def test_within_switches_at_100(reading, finger, tolerance, inside):
    """mg/dL below a stick of 100, percent of the stick from 100 up; limits are inside."""
    assert within(np.array([float(reading)]), np.array([float(finger)]), tolerance).tolist() == [inside]


@pytest.mark.parametrize(
    ("reading", "finger", "inside"),
    [(6.61, 5.5, True), (6.62, 5.5, False), (9.6, 8.0, True), (9.7, 8.0, False), (6.7, 5.6, True)],
)
def test_within_in_mmol(reading, finger, inside):
    """In mmol/L the limits are 20/18.0156 = 1.11015 and the switch 100/18.0156 = 5.55075, unrounded: 5.5 is below
    the switch, 5.6 above it (20 % of 5.6 is 1.12)."""
    found = within(np.array([reading]) * FACTOR, np.array([finger]) * FACTOR, 20)
    assert found.tolist() == [inside]


@given(st.floats(20, 500), st.floats(20, 500))
def test_wider_tolerances_hold_more(reading, finger):
    """What is within 15 is within 20, 30 and 40."""
    found = [bool(within(np.array([reading]), np.array([finger]), limit)[0]) for limit in TOLERANCES]
    assert found == sorted(found)


def test_limit_words_are_counted():
    """Readings at the limit enter with their size, and the result says 'at least' how often."""
    at = np.arange(HOUR, 4 * DAY, 300)
    flags = np.where(at >= 3 * DAY, 1, 0)
    made = flat(SEVEN, [0, 0, 0, -60], flags=flags)
    found = gauge(made, 0).splits().all
    assert (found.pairs, found.at_least) == (7, 1)
    assert found.bias.value == pytest.approx((0 - 10 + 5 + 10 + 20 - 25 - 10) / 7)
    low = gauge(flat([*SEVEN[:6], (3, 9, 38)], [0, 0, 0, -60], flags=flags), 0).splits().all
    assert (low.pairs, low.at_least) == (6, 0)


def test_tables_part_the_whole():
    """Pairs of movement, day and night, levels, days and wears add up to the whole."""
    found = gauge(lay_out(usual(12, wear_days=4)), 1)
    every = found.splits()
    assert every.steady.pairs + every.moving.pairs <= every.all.pairs
    assert every.rising.pairs + every.falling.pairs == every.moving.pairs
    assert every.day.pairs + every.night.pairs == every.all.pairs
    levels = found.levels()
    for table in (levels.by_stick, levels.by_sensor):
        assert table.below.pairs + table.in_range.pairs + table.above.pairs == every.all.pairs
    phases = found.phases()
    assert phases.first_24h.pairs + phases.middle.pairs + phases.last_24h.pairs == every.all.pairs
    assert sum(day.accuracy.pairs for day in found.days()) == every.all.pairs
    assert [wear.number for wear in found.wears()] == [1, 2, 3]
    assert sum(wear.accuracy.pairs for wear in found.wears()) == every.all.pairs


def test_days_are_numbered_and_dated():
    """Day 1 is the first of the trial; days without a pair are not listed."""
    days = gauge(flat([row for row in SEVEN if row[0] != 1], [0, 0, 0, 0]), 0).days()
    assert [(day.day, day.date) for day in days] == [(1, "2026-03-01"), (3, "2026-03-03"), (4, "2026-03-04")]
    assert days[0].accuracy.bias.value is None
    assert [one.why for one in days[0].accuracy.left_out] == ["few-visits"]


def test_wear_with_too_little_is_named():
    """A wear with fewer than 3 visits gives its weight away and is named by its number."""
    trial_of_two = usual(8, wear_days=4)
    few = tuple(one for one in trial_of_two.sticks if one.at.instant < MIDNIGHT + 4 * DAY + 6 * HOUR)
    found = gauge(lay_out(replace(trial_of_two, sticks=few)), 0)
    every = found.splits().all
    assert [(one.wear, one.why) for one in every.left_out] == [(2, "few-visits")]
    first = found.wears()[0].accuracy
    assert every.mad.value == first.mad.value
    assert found.wears()[1].accuracy.mad.value is None


def test_around_a_calibration():
    """Both parts of a split wear are shown: before, off by 30; after, off by 2."""
    at = np.arange(HOUR, 6 * DAY, 300)
    value = np.where(at < 3 * DAY, 130.0, 102.0)
    sticks = [stick(MIDNIGHT + day * DAY + hour * HOUR, 100, id=f"{day}-{hour}") for day in range(6) for hour in (8, 12, 20)]  # fmt: skip
    calibration = stick(MIDNIGHT + 3 * DAY, 100, Reason.CALIBRATION, into="fern")
    made = lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + 6 * DAY)],
            [*sticks, calibration],
            {"fern": readings(MIDNIGHT + at, value)},
        )
    )
    ((when, number, before, after),) = gauge(made, 0).around_calibrations()
    assert (when, number) == (MIDNIGHT + 3 * DAY, 1)
    assert (before.mad.value, before.pairs) == (30.0, 9)
    assert (after.mad.value, after.pairs) == (2.0, 9)
    assert gauge(made, 0).splits().all.mad.value == 16.0


def test_unit_changes_no_number():
    """The same trial in mmol/L: the same accuracy."""
    one = gauge(flat(SEVEN, [0, 3, -2, 8]), 0).splits().all
    two = gauge(flat(SEVEN, [0, 3, -2, 8], unit=Unit.MMOL_L), 0).splits().all
    for name in ("bias", "mad", "mard"):
        for part in ("value", "low", "high"):
            assert getattr(getattr(one, name), part) == pytest.approx(getattr(getattr(two, name), part))
    assert {k: v.value for k, v in one.within.items()} == {k: v.value for k, v in two.within.items()}


def test_levels_by_stick_weigh_by_pairs():
    """By the stick, where minutes cannot be counted, the estimate is the plain mean of the pairs of counted wears."""
    made = lay_out(usual(12, wear_days=6))
    found = gauge(made, 0)
    split = level_by_stick(made, (0,), "above")
    error = made.pairs.reading[:, 0] - made.pairs.stick
    assert found.levels().by_stick.above.bias.value == pytest.approx(error[split.pairs].mean())


def test_sticks_can_be_chosen():
    """With later marked sticks in, and without them."""
    late = (Mark(MarkKind.UNWASHED, early=False),)
    made = usual(6, wear_days=3)
    marked = replace(
        made,
        sticks=tuple(replace(one, marks=late) if i % 5 == 0 else one for i, one in enumerate(made.sticks)),
    )
    layout = lay_out(marked)
    kept = gauge(layout, 0).splits().all
    without = gauge(layout, 0, layout.pairs.judging & ~layout.pairs.marked).splits().all
    assert kept.pairs > without.pairs
    assert without.pairs == (whole(layout, (0,), "all").pairs & ~layout.pairs.marked).sum()


def test_no_readings_at_all():
    """A sensor without readings has no numbers, and every table says why."""
    made = lay_out(trial([sensor("Fern")], [wear("fern", MIDNIGHT)], [stick(MIDNIGHT + 9 * HOUR, 100)]))
    found = gauge(made, 0)
    every = found.splits()
    assert (every.all.pairs, every.all.mad.value, every.all.mad.why) == (0, None, "no-pairs")
    assert found.days() == ()
    assert found.wears()[0].accuracy.bias.why == "no-pairs"
