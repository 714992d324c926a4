"""Survival: slow twin, laws, all or none failing, and things not followed for long enough."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.survival import kaplan_meier, survival_at

lives = st.lists(st.tuples(st.integers(0, 15), st.booleans()), min_size=1, max_size=30)


def slow(rows, time):
    """The product over moments, one thing at a time, and Greenwood's sum."""
    share, green = 1.0, 0.0
    for moment in sorted({t for t, failed in rows if failed and t <= time}):
        at_risk = sum(t >= moment for t, _ in rows)
        failures = sum(t == moment and failed for t, failed in rows)
        share *= 1 - failures / at_risk
        green += math.inf if failures == at_risk else failures / (at_risk * (at_risk - failures))
    return share, share * math.sqrt(green) if share else 0.0


@given(lives)
def test_against_its_slow_twin(rows):
    """Survival and standard error after every event agree with plain loops."""
    curve = kaplan_meier(*zip(*rows, strict=True))
    for place, time in enumerate(curve.time):
        assert (curve.survival[place], curve.se[place]) == pytest.approx(slow(rows, time), abs=1e-12)


@given(lives, st.integers(0, 16))
def test_the_interval_holds_the_estimate_and_stays_inside(rows, time):
    """Between 0 and 1, around the value; or no value, with the reason."""
    found = survival_at(kaplan_meier(*zip(*rows, strict=True)), time)
    if found.value is None:
        assert found.why == "not-followed"
        assert max(t for t, _ in rows) < time
    else:
        assert 0 <= found.low <= found.value <= found.high <= 1
        assert found.low < found.high


@given(lives)
def test_survival_never_rises(rows):
    """The curve only falls, and without censoring it is the plain share still going."""
    curve = kaplan_meier(*zip(*rows, strict=True))
    assert np.all(np.diff(curve.survival) < 0)
    times = [t for t, _ in rows]
    whole = kaplan_meier(times, [True] * len(times))
    for place, moment in enumerate(whole.time):
        assert whole.survival[place] == pytest.approx(sum(t > moment for t in times) / len(times))


def test_none_failed():
    """Three of three lasted: 100 %, but an honest lower bound of 29 %, that of three of three."""
    found = survival_at(kaplan_meier([10, 10, 10], [False] * 3), 10)
    assert (found.value, found.high, found.method) == (1, 1, "kaplan-meier-exact")
    assert found.low == pytest.approx(0.025 ** (1 / 3))


def test_all_failed():
    """All three failed before: 0 %, with the upper bound of none of three."""
    found = survival_at(kaplan_meier([1, 2, 3], [True] * 3), 10)
    assert (found.value, found.low) == (0, 0)
    assert found.high == pytest.approx(1 - 0.025 ** (1 / 3))


def test_failures_at_once():
    """A thing that never started fails at time 0."""
    curve = kaplan_meier([0, 10], [True, False])
    assert curve.survival.tolist() == [0.5]
    assert survival_at(curve, 10).value == 0.5
    assert curve.median == 0


def test_not_followed_and_nothing():
    """Nothing watched for that long: no estimate. Nothing at all: no estimate. No median where half still go."""
    assert survival_at(kaplan_meier([5, 6], [True, False]), 7).why == "not-followed"
    assert survival_at(kaplan_meier([5, 6], [True, False]), 6).value == 0.5
    empty = kaplan_meier([], [])
    assert (empty.n, empty.median, survival_at(empty, 1).why) == (0, None, "no-data")


def test_one_thing():
    """One thing, censored or failed, has the widest interval there is but not more."""
    assert survival_at(kaplan_meier([4], [False]), 4).low == pytest.approx(0.025)
    assert survival_at(kaplan_meier([4], [True]), 4).high == pytest.approx(0.975)


def test_bad_times_are_refused():
    """A negative time or a NaN is a defect of the caller."""
    for time in (-1.0, math.nan):
        with pytest.raises(ValueError, match="negative or not a number"):
            kaplan_meier([time], [True])


def test_intervals_cover():
    """Ten things with exponential lives and censoring: 92 to 98.5 % of 1,000 intervals hold the true share."""
    rng = np.random.default_rng(5)
    hits = told = 0
    for _ in range(1000):
        life, end = rng.exponential(20, 10), rng.uniform(5, 20, 10)
        found = survival_at(kaplan_meier(np.minimum(life, end), life <= end), 10)
        if found.value is not None:
            told += 1
            hits += found.low <= math.exp(-0.5) <= found.high
    assert told > 950
    assert 0.92 < hits / told < 0.985
