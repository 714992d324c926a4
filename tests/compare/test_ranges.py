"""Shares of time in the consensus ranges: over a sensor's own time, over common time, and the difference."""

import numpy as np
import pytest
from tests.compare import small

from evenhand.clock import DAY, HOUR
from evenhand.compare.ranges import expected_readings, ranges, ranges_difference, summarise
from evenhand.compare.shapes import Layout
from evenhand.records.sensors import Ending

HALF_DAY = 12 * HOUR


def two(fern_value, slate_value, days=2, **more):
    """Both sensors worn together for some days, every 5 minutes."""
    at = small.every(300, 0, days * DAY)
    return small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, days * DAY, Ending.END), small.wear("slate", 0, days * DAY, Ending.END)],
        {"fern": small.readings(at, fern_value, **more), "slate": small.readings(at, slate_value)},
    )


def shares(found):
    """The five shares of a Ranges."""
    return [found.below_54, found.share_54_69, found.share_70_180, found.share_181_250, found.above_250]


def test_shares_mean_cv_gmi_by_hand():
    """Half the time 100, half 200: half in range, half above; mean 150, GMI 6.898, CV of two equal halves."""
    values = np.where(np.arange(576) % 2, 100.0, 200.0)
    found = ranges(two(values, 120.0), small.layout(two(values, 120.0)))[0].ranges.own
    assert shares(found) == [0, 0, 50, 50, 0]
    assert (found.mean, found.gmi) == (150, pytest.approx(3.31 + 0.02392 * 150))
    assert found.cv == pytest.approx(100 * np.std(values, ddof=1) / 150)
    assert (found.days, found.share_of_readings) == (2, 100)


def test_limits_of_the_ranges():
    """53, 54, 69, 70, 180, 181, 250, 251: each range has two of them but the outer ones."""
    values = np.tile([53, 54, 69, 70, 180, 181, 250, 251], 72)
    made = two(values, 120.0)
    assert shares(ranges(made, small.layout(made))[0].ranges.own) == [12.5, 25, 25, 25, 12.5]


def test_mmol_is_classified_in_mmol():
    """10.0 mmol/L all day is all in range though it converts to 180.156; 3.9 is in range; the mean is in mg/dL."""
    for value in (10.0, 3.9):
        made = two(value, 120.0, mmol=True)
        found = ranges(made, small.layout(made))[0].ranges
        assert found.own.share_70_180 == found.common.share_70_180 == 100
        assert found.own.mean == pytest.approx(value * 18.0156)


def test_limit_words_count_on_their_side():
    """A tenth of the readings LOW at 40 and a tenth HIGH at 240: below 54 and above 250."""
    flag = np.zeros(576)
    flag[:58], flag[58:116] = 1, 2
    values = np.where(flag == 1, 40.0, np.where(flag == 2, 240.0, 120.0))
    made = two(values, 120.0, flag=flag)
    found = ranges(made, small.layout(made))[0].ranges.own
    assert [found.below_54, found.above_250] == pytest.approx([5800 / 576, 5800 / 576])
    assert found.mean == pytest.approx(values.mean())


def test_shares_add_up_to_all():
    """Whatever the values, the five shares are 100 % together."""
    made = two(np.random.default_rng(1).normal(150, 70, 576), 120.0)
    laid = small.layout(made)
    for one in ranges(made, laid):
        assert sum(shares(one.ranges.own)) == pytest.approx(100)
        assert sum(shares(one.ranges.common)) == pytest.approx(100)


def test_common_time_is_the_same_for_both():
    """Slate lacks the second half of day one: Fern's highs of that half are in its own time, not in common time."""
    at = small.every(300, 0, 2 * DAY)
    high = (at >= HALF_DAY) & (at < DAY)
    made = small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, 2 * DAY, Ending.END), small.wear("slate", 0, 2 * DAY, Ending.END)],
        {
            "fern": small.readings(at, np.where(high, 300.0, 120.0)),
            "slate": small.readings(at[~high], 120.0),
        },
    )
    first, second = ranges(made, small.layout(made))
    assert first.ranges.own.above_250 == pytest.approx(25)
    assert second.ranges.own.share_of_readings == pytest.approx(75)
    # The gap's two edges lie within the pairing limit of a reading, hence a few minutes of it.
    assert first.ranges.common.above_250 < 0.5
    assert first.ranges.common.days == second.ranges.common.days == pytest.approx(1.5, abs=0.01)
    assert first.ranges.common.share_of_readings == pytest.approx(75, abs=0.5)


def test_caution_for_little():
    """Two days are few; fifteen with all readings are enough; fifteen with half the readings are not."""
    made = two(120.0, 130.0)
    assert ranges(made, small.layout(made))[0].cautions == ("ranges-own-short", "ranges-common-short")
    made = two(120.0, 130.0, days=15)
    assert ranges(made, small.layout(made))[0].cautions == ()
    at = small.every(300, 0, 15 * DAY)
    thin = small.trial(
        made.sensors, made.wears, made.readings | {"slate": small.readings(at[: at.size // 2], 130)}
    )
    first, second = ranges(thin, small.layout(thin))
    assert first.cautions == ("ranges-common-short",)
    assert second.cautions == ("ranges-own-short", "ranges-common-short")


def test_fourteen_days_count_from_the_start_of_the_wear():
    """Fourteen days worn together, an hour of warm-up among them, are fourteen; an hour less is not."""
    at = small.every(300, 0, 14 * DAY)
    for end, codes in ((14 * DAY, ()), (14 * DAY - HOUR, ("ranges-own-short", "ranges-common-short"))):
        made = small.trial(
            [small.fern(), small.slate()],
            [
                small.wear("fern", 0, 8 * DAY, Ending.END),
                small.wear("fern", 8 * DAY, end, Ending.END),
                small.wear("slate", 0, end, Ending.END),
            ],
            {"fern": small.readings(at, 100.0), "slate": small.readings(at, 100.0)},
        )
        assert ranges(made, small.layout(made, warm_up=HOUR))[0].cautions == codes


def test_expected_readings():
    """Past warm-up, wear by wear; not known without a step; none for a wear that never started."""
    made = small.trial(
        [small.fern()],
        [small.wear("fern", 0, DAY, Ending.END), small.wear("fern", DAY, 2 * DAY, Ending.END)],
    )
    laid = small.layout(made, warm_up=HOUR)
    assert expected_readings(laid, 0, 300) == 2 * 23 * 12
    assert expected_readings(laid, 0, None) is None
    assert expected_readings(laid, 1, 300) == 0


def test_no_readings():
    """A sensor that gave nothing has no shares, no days, and no share of readings but 0."""
    made = small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, DAY, Ending.END), small.wear("slate", 0, DAY, Ending.END)],
        {"fern": small.readings(small.every(300, 0, DAY), 100)},
    )
    found = ranges(made, small.layout(made))[1].ranges
    assert shares(found.own) == [None] * 5
    assert (found.own.mean, found.own.cv, found.own.gmi, found.own.days) == (None, None, None, 0)
    assert found.own.share_of_readings == 0
    assert shares(found.common) == [None] * 5


def test_never_worn_together():
    """One wear after the other: no common time, and its share not known."""
    made = small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, DAY, Ending.END), small.wear("slate", DAY, 2 * DAY, Ending.END)],
        {
            "fern": small.readings(small.every(300, 0, DAY), 100),
            "slate": small.readings(small.every(300, DAY, 2 * DAY), 100),
        },
    )
    laid = small.layout(made)
    common = ranges(made, laid)[0].ranges.common
    assert (common.mean, common.days, common.share_of_readings) == (None, 0, None)
    assert ranges_difference(made, laid, 0, 1).mean.why == "no-data"


def test_one_reading_has_no_cv():
    """A single reading has a mean but no spread."""
    found = summarise(np.array([100.0]), np.array([2]), 0.0, None)
    assert (found.mean, found.cv, found.share_70_180) == (100, None, 100)


def test_difference_by_days():
    """Fern 190 on every other day, Slate always 170: 50 points less in range; t over the days by hand."""
    from scipy import stats

    values = np.where(small.every(300, 0, 4 * DAY) // DAY % 2, 190.0, 170.0)
    made = two(values, 170.0, days=4)
    laid = small.layout(made)
    found = ranges_difference(made, laid, 0, 1)
    common = [one.ranges.common for one in ranges(made, laid)]
    assert found.in_range.value == pytest.approx(common[0].share_70_180 - common[1].share_70_180)
    assert found.in_range.value == pytest.approx(-50, abs=0.5)
    assert found.mean.value == pytest.approx(common[0].mean - common[1].mean)
    half = stats.t.ppf(0.975, 3) * stats.sem([-100, 0, -100, 0])
    assert found.in_range.high - found.in_range.value == pytest.approx(half, rel=0.02)
    assert (found.above_180.value, found.below_70.value) == (-found.in_range.value, 0)
    assert found.in_range.n == 4


def test_difference_turns_round():
    """b minus a is minus a minus b."""
    made = two(np.random.default_rng(2).normal(150, 60, 576), 140.0)
    laid = small.layout(made)
    one, other = ranges_difference(made, laid, 0, 1), ranges_difference(made, laid, 1, 0)
    assert one.mean.value == pytest.approx(-other.mean.value)
    assert one.in_range.low == pytest.approx(-other.in_range.high)


def test_laid_out_empty():
    """A trial without a wear gives empty ranges, not an error."""
    made = small.trial([small.fern(), small.slate()])
    laid = small.layout(made)
    assert isinstance(laid, Layout)
    for one in ranges(made, laid):
        assert shares(one.ranges.own) == [None] * 5
        assert one.ranges.own.share_of_readings is None
