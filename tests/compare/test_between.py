"""Two sensors against each other: mean difference over common readings, and who says which range."""

import numpy as np
import pytest
from scipy import stats
from tests.compare import small

from evenhand.clock import DAY, HOUR
from evenhand.compare.between import between
from evenhand.records.sensors import Ending


def made(first, second, end=4 * DAY):
    """Fern and Slate with these readings, worn together."""
    return small.trial(
        [small.fern(), small.slate()],
        [small.wear("fern", 0, end, Ending.END), small.wear("slate", 0, end, Ending.END)],
        {"fern": first, "slate": second},
    )


def test_mean_difference_over_days():
    """Fern 10 above Slate on two days and 2 above on two: 6 on average, t over four days by hand."""
    at = small.every(300, 0, 4 * DAY)
    trial = made(small.readings(at, np.where(at // DAY < 2, 110.0, 102.0)), small.readings(at, 100.0))
    found = between(trial, small.layout(trial), 0, 1).mean_difference
    assert found.value == pytest.approx(6)
    assert found.high - found.value == pytest.approx(stats.t.ppf(0.975, 3) * stats.sem([10, 10, 2, 2]))
    assert found.n == 4


def test_concurrence_rows_are_the_first():
    """Fern 60 where Slate says 120, else both 120: one cell off the diagonal, row of Fern, column of Slate."""
    at = small.every(300, 0, DAY)
    trial = made(small.readings(at, np.where(at < 6 * HOUR, 60.0, 120.0)), small.readings(at, 120.0))
    table = np.array(between(trial, small.layout(trial), 0, 1).concurrence)
    assert table.shape == (5, 5)
    assert (table[1, 2], table[2, 2], table.sum()) == (72, 216, 288)
    turned = np.array(between(trial, small.layout(trial), 1, 0).concurrence)
    assert np.array_equal(turned, table.T)


def test_the_slower_one_sets_the_pairs():
    """One reads every minute, the other every 15: as many common readings as the slower has."""
    trial = made(
        small.readings(small.every(60, 0, DAY), 100.0), small.readings(small.every(900, 0, DAY), 95.0)
    )
    found = between(trial, small.layout(trial), 0, 1)
    assert np.sum(found.concurrence) == 96
    assert found.mean_difference.value == pytest.approx(5)


def test_readings_too_far_apart_are_not_common():
    """Slate's readings stop for a day: nothing of that day is common."""
    at = small.every(300, 0, 2 * DAY)
    trial = made(small.readings(at, 100.0), small.readings(at[at < DAY], 100.0))
    assert np.sum(between(trial, small.layout(trial), 0, 1).concurrence) == 288
    slow = made(small.readings([0, 7200], 100.0), small.readings([3600], 100.0))
    assert between(slow, small.layout(slow), 0, 1).mean_difference.why == "no-data"


def test_limits_in_the_mean():
    """Both beyond the same limit say nothing of their difference; one beyond counts at the limit; all concur or not."""
    at = [0, 300, 600]
    trial = made(
        small.readings(at, [40.0, 40.0, 100.0], flag=[1, 1, 0]),
        small.readings(at, [54.0, 70.0, 90.0], flag=[1, 0, 0]),
    )
    found = between(trial, small.layout(trial), 0, 1)
    assert found.mean_difference.value == pytest.approx((-30 + 10) / 2)
    assert found.concurrence[0][0] == 1
    assert found.concurrence[0][2] == 1


def test_units_do_not_matter_to_the_mean():
    """One recorded in mmol/L, the other in mg/dL: compared in mg/dL, classified each in its own unit."""
    trial = made(small.readings([0, 300], 10.0, mmol=True), small.readings([0, 300], 180.0))
    found = between(trial, small.layout(trial), 0, 1)
    assert found.mean_difference.value == pytest.approx(0.156)
    assert found.concurrence[2][2] == 2


def test_nothing_in_common():
    """A sensor without readings: no difference, and a table of zeros."""
    trial = made(small.readings([0, 300], 100.0), small.readings([], 100.0))
    found = between(trial, small.layout(trial), 0, 1)
    assert found.mean_difference.why == "no-data"
    assert np.sum(found.concurrence) == 0
