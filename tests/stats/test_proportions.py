"""Wilson and exact intervals: laws, slow twins, and what happens at the ends."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.proportions import clopper_pearson, exact_lower, exact_upper, wilson

counts = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def at_least(k, n, p):
    """The chance of k or more in n, summed term by term: the exact interval's slow twin."""
    return sum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k, n + 1))


@given(counts, st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_wilson_ends_solve_its_equation(case, level):
    """Each end of Wilson's interval is a p from which the share lies exactly z standard errors away."""
    from statistics import NormalDist

    count, n = case
    share, z = count / n, NormalDist().inv_cdf((1 + level) / 2)
    found = wilson(share, n, level=level)
    for end in (found.low, found.high):
        assert (share - end) ** 2 == pytest.approx(z**2 * end * (1 - end) / n, abs=1e-12)
    assert 0 <= found.low <= share <= found.high <= 1


@given(st.integers(1, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_exact_bounds_have_their_tail(case):
    """At the exact lower bound the chance of as many or more is exactly 5 %, summed term by term."""
    count, n = case
    if count:
        assert at_least(count, n, exact_lower(count, n)) == pytest.approx(0.05, abs=1e-9)
    else:
        assert exact_lower(count, n) == 0
    assert exact_upper(count, n) == pytest.approx(1 - exact_lower(n - count, n), abs=1e-15)


@given(counts)
def test_exact_is_wider_than_nothing_and_mirrors(case):
    """The interval of misses is the interval of hits turned round, for both methods."""
    count, n = case
    for one, other in (
        (clopper_pearson(count, n), clopper_pearson(n - count, n)),
        (wilson(count / n, n), wilson((n - count) / n, n)),
    ):
        assert one.low == pytest.approx(1 - other.high, abs=1e-12)
        assert one.low < one.high


def test_an_effective_count_widens():
    """A design effect of 4 gives the interval of a quarter as many, and says so in its method."""
    found, quarter = wilson(0.7, 200, deff=4), wilson(0.7, 50)
    assert (found.low, found.high) == (quarter.low, quarter.high)
    assert (found.method, found.n) == ("wilson-effective-n", 200)


def test_all_and_none():
    """All or none hit: one end is exactly 1 or 0, the other is not."""
    assert wilson(1.0, 10).high == 1
    assert wilson(0.0, 10).low == 0
    assert 0 < wilson(0.0, 10).high < 1
    assert clopper_pearson(10, 10).high == 1
    assert clopper_pearson(1, 1).low == pytest.approx(0.025)


def test_nothing_to_share():
    """No pairs, or a share that is not a number: missing with the reason, never an interval."""
    for found in (wilson(math.nan, 10), wilson(0.5, 0), wilson(math.nan, math.nan), clopper_pearson(0, 0)):
        assert (found.value, found.low, found.high, found.why) == (None, None, None, "no-data")
    assert exact_lower(0, 0) == 0
    assert exact_upper(0, 0) == 1


def test_impossible_counts_are_refused():
    """More hits than tries, a share above 1, no design effect: a defect of the caller, refused."""
    with pytest.raises(ValueError, match="5 in 4"):
        exact_lower(5, 4)
    with pytest.raises(ValueError, match="-1 in 4"):
        clopper_pearson(-1, 4)
    with pytest.raises(ValueError, match="share from 0 to 1"):
        wilson(1.2, 10)
    with pytest.raises(ValueError, match="design effect"):
        wilson(0.5, 10, deff=0)
