"""Leaving out one group at a time: slow twin, laws, coverage, and too little to leave out."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenhand.stats.jackknife import jackknife, mean_over_groups


def slow(values, group, stratum):
    """V of a mean by explicit loops, and its degrees of freedom."""
    cells = sorted(set(zip(stratum, group, strict=True)))
    left = []
    for cell in cells:
        rest = [v for v, g, s in zip(values, group, stratum, strict=True) if (s, g) != cell]
        left.append(sum(rest) / len(rest))
    middle = sum(left) / len(left)
    variance = (len(left) - 1) / len(left) * sum((one - middle) ** 2 for one in left)
    return variance, len(cells) - len(set(stratum))


@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.integers(0, 4), st.integers(0, 2)), min_size=4, max_size=30
    ).filter(lambda rows: len({row[1:] for row in rows}) - len({row[2] for row in rows}) >= 1)
)
def test_against_its_slow_twin(rows):
    """Variance and degrees of freedom agree with plain loops, for any days in any wears."""
    values, group, stratum = (np.array(column) for column in zip(*rows, strict=True))
    (found,) = jackknife(lambda used: values[used].mean(), group, stratum)
    variance, df = slow(values.tolist(), group.tolist(), stratum.tolist())
    half = stats.t.ppf(0.975, df) * math.sqrt(variance)
    assert found.value == pytest.approx(values.mean())
    assert found.high - found.value == pytest.approx(half, rel=1e-6, abs=1e-9)


def test_of_a_mean_it_is_the_plain_t_interval():
    """Every value a group of its own: the textbook t interval of a mean."""
    y = np.random.default_rng(1).normal(0, 1, 15)
    (found,) = jackknife(lambda used: y[used].mean(), np.arange(15))
    low, high = stats.t.interval(0.95, 14, y.mean(), stats.sem(y))
    assert (found.low, found.high) == pytest.approx((low, high))


def test_a_day_in_two_wears_is_two_groups():
    """A day on which one wear ended and the next began is left out once in each; wears cost degrees of freedom."""
    y = np.random.default_rng(3).normal(0, 1, 6)
    day, wear = [1, 2, 3, 3, 4, 5], [1, 1, 1, 2, 2, 2]
    (found,) = jackknife(lambda used: y[used].mean(), day, wear)
    assert found.high - found.value == pytest.approx(stats.t.ppf(0.975, 4) * stats.sem(y))


def test_several_numbers_at_once():
    """A statistic of several numbers gives an estimate for each."""
    y = np.random.default_rng(2).normal(0, 1, (2, 20))
    both = jackknife(lambda used: y[:, used].mean(1), np.arange(20))
    (one,) = jackknife(lambda used: y[1, used].mean(), np.arange(20))
    assert len(both) == 2
    assert both[1].high == pytest.approx(one.high)


def test_too_little():
    """No rows, one group, a wear per group, a statistic without a value: said by code, never a crash."""
    assert jackknife(lambda used: 1.0, [])[0].why == "no-data"
    assert jackknife(lambda used: 1.0, [3, 3])[0].why == "too-few-groups"
    alone = jackknife(lambda used: 1.0, [1, 2], [1, 2])[0]
    assert (alone.value, alone.low, alone.why) == (1.0, None, "too-few-groups")
    assert jackknife(lambda used: math.nan, [1, 2])[0].why == "not-defined"
    sometimes = jackknife(lambda used: 1.0 if used.all() else math.nan, [1, 2, 3])[0]
    assert (sometimes.value, sometimes.why) == (1.0, "too-few-groups")


def test_mean_over_groups_by_loops():
    """The mean over days against plain loops, days of unequal size."""
    rng = np.random.default_rng(3)
    day = rng.integers(0, 6, 50)
    y = rng.normal(0, 1, 50) + day
    found = mean_over_groups(y, day)
    total = sum(((day == d).sum() * (y[day == d].mean() - y.mean())) ** 2 for d in range(6))
    half = stats.t.ppf(0.975, 5) * math.sqrt(6 / 5 * total) / 50
    assert found.high - found.value == pytest.approx(half)
    assert (found.n, found.value) == (6, pytest.approx(y.mean()))


def test_mean_over_groups_covers():
    """Days that differ by themselves: the interval holds the mean of all such days in 92 to 97 % of 1,000 trials."""
    rng = np.random.default_rng(4)
    day = np.repeat(np.arange(14), 20)
    hits = 0
    for _ in range(1000):
        found = mean_over_groups(np.repeat(rng.normal(5, 3, 14), 20) + rng.normal(0, 5, 280), day)
        hits += found.low <= 5 <= found.high
    assert 0.92 < hits / 1000 < 0.97


def test_mean_over_groups_of_little():
    """Nothing: missing. One day: the mean, no interval. NaN left out."""
    assert mean_over_groups([], []).why == "no-data"
    one = mean_over_groups([1.0, 3.0, math.nan], [7, 7, 8])
    assert (one.value, one.low, one.why) == (2.0, None, "too-few-groups")
