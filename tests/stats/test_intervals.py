"""Intervals: published examples, the general library, and their edges."""

from dataclasses import replace

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from evenhand.stats.estimate import Est
from evenhand.stats.intervals import LOG, MEAN, RATE, log_est, mean_est, rate_est
from evenhand.stats.proportions import wilson_limits
from evenhand.stats.visits import visit_mean

HOURS = 3600


def one_day(y):
    """A mean of sticks an hour apart on one day of one wear: a plain sample."""
    n = len(y)
    zeros = np.zeros(n, np.int64)
    return visit_mean(np.asarray(y, float), zeros, zeros, np.arange(n) * HOURS, None, least_days=1)


def test_sleep_data():
    """Student's sleep data (R base, datasets::sleep): t = -4.0621 on 9 degrees of freedom; limits -2.4599 and
    -0.7001 (R's print, from memory)."""
    first = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
    second = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])
    found = one_day(first - second)
    assert found.value / np.sqrt(found.variance) == pytest.approx(-4.0621, abs=5e-5)
    assert found.df == 9
    est = mean_est(found)
    assert (round(est.low, 4), round(est.high, 4)) == (-2.4599, -0.7001)


def test_plain_sample_is_the_plain_t_interval():
    """On one day with single sticks the interval is the t interval of a sample (scipy)."""
    y = np.random.default_rng(3).normal(5, 2, 17)
    for level in (0.9, 0.95, 0.983):
        est = mean_est(one_day(y), level)
        low, high = scipy.stats.t.interval(level, 16, y.mean(), y.std(ddof=1) / np.sqrt(17))
        assert (est.low, est.high, est.level) == (pytest.approx(low), pytest.approx(high), level)


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_newcombe(x, n, low, high):
    """Wilson's interval in Newcombe, Stat Med 1998;17:857-872, Table I (printed values from memory, recomputed)."""
    found = wilson_limits(x / n, n)
    assert (round(found[0], 4), round(found[1], 4)) == (low, high)


@given(st.integers(6, 60), st.data())
def test_rate_of_a_plain_sample_is_wilson(n, data):
    """Single sticks on one day: deff is at most n/(n-1), and the interval is Wilson's at n / deff (statsmodels)."""
    x = data.draw(st.integers(0, n))
    est = rate_est(one_day([1.0] * x + [0.0] * (n - x)))
    deff = n / (n - 1) if 0 < x < n else 1.0
    low, high = proportion_confint(x / deff, n / deff, method="wilson")
    assert est.value == pytest.approx(100 * x / n)
    assert (est.low, est.high) == (pytest.approx(100 * low, abs=1e-9), pytest.approx(100 * high, abs=1e-9))


@pytest.mark.parametrize("value", [0.0, 1.0])
def test_all_or_none_counts_visits_not_sticks(value):
    """Where every stick agrees nothing scatters and V is 0: three sticks 20 min apart then count as one, and the interval
    is Wilson's for the visits (statsmodels), wider than for the sticks."""
    at = (np.arange(12)[:, None] * 3 * HOURS + np.arange(3)[None, :] * 1200).ravel()
    zeros = np.zeros(36, np.int64)
    est = rate_est(visit_mean(np.full(36, value), zeros, zeros, at, None, least_days=1))
    low, high = proportion_confint(12 * value, 12, method="wilson")
    assert (est.low, est.high) == (pytest.approx(100 * low, abs=1e-9), pytest.approx(100 * high, abs=1e-9))
    assert est.n == 36


def test_deff_never_below_one():
    """Sticks that agree more than by chance do not narrow a rate's interval below Wilson's."""
    found = one_day([1.0, 0.0] * 10)
    tight = replace(found, variance=found.variance / 10)
    low, high = proportion_confint(10, 20, method="wilson")
    assert (rate_est(tight).low, rate_est(tight).high) == (
        pytest.approx(100 * low),
        pytest.approx(100 * high),
    )
    loose = replace(found, variance=found.variance * 4)
    assert rate_est(loose).low < 100 * low


@pytest.mark.parametrize("p", [0.0, 1.0])
def test_rate_of_none_or_all(p):
    """At 0 and 100 percent the one limit is exactly that and the other Wilson's at n."""
    est = rate_est(one_day([p] * 20))
    low, high = proportion_confint(20 * p, 20, method="wilson")
    assert est.value == 100 * p
    assert (est.low, est.high) == (pytest.approx(100 * low), pytest.approx(100 * high))
    assert est.low == 0.0 or est.high == 100.0


def test_log_interval():
    """Limits are the estimate times and divided by exp(t sqrt(V) / estimate): never below 0."""
    found = one_day([1.0, 2.0, 40.0, 3.0, 1.0, 2.0, 1.0])
    est = log_est(found)
    t = scipy.stats.t.ppf(0.975, found.df)
    assert est.high / est.value == pytest.approx(np.exp(t * np.sqrt(found.variance) / found.value))
    assert est.low * est.high == pytest.approx(est.value**2)
    assert est.low > 0 > mean_est(found).low


def test_log_of_nothing():
    """A MAD of 0 has no interval."""
    est = log_est(one_day([0.0] * 8))
    assert (est.value, est.low, est.why) == (0.0, None, "zero-estimate")


@pytest.mark.parametrize("build", [mean_est, log_est, rate_est])
def test_without_enough(build):
    """Fewer than 6 visits: a value without limits; no pairs: no value; the reason is told both times."""
    few, none = build(one_day([1.0, 0.0, 1.0, 1.0, 0.0])), build(one_day([]))
    assert few.value is not None
    assert (few.low, few.high, few.why, few.n) == (None, None, "few-visits", 5)
    assert (none.value, none.low, none.why, none.n) == (None, None, "no-pairs", 0)


def test_methods_are_named():
    """Each interval says which rule made it, of which wears it speaks, and from how many pairs."""
    found = one_day([1.0, 0.0, 1.0, 1.0, 0.0, 1.0])
    assert [build(found).method for build in (mean_est, log_est, rate_est)] == [MEAN, LOG, RATE]
    assert mean_est(found).about == "these_wears"
    assert mean_est(found).n == 6
    assert isinstance(mean_est(found), Est)


def test_no_spread():
    """Values that are all alike give limits that coincide with the estimate, for a mean."""
    est = mean_est(one_day([4.0] * 9))
    assert est.low == est.value == est.high == 4.0
