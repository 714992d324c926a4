"""Two one-sided tests: the law that ties them to the 90 % interval, known errors, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats import equivalence


@given(st.floats(-3, 3), st.floats(0.05, 3), st.integers(1, 200), st.floats(0.1, 5))
def test_both_tests_pass_exactly_when_the_interval_lies_inside(difference, se, df, margin):
    """p below 5 % and the 90 % interval inside the bounds are the same statement."""
    found = equivalence.two_one_sided(difference, se, df, (-margin, margin))
    est = found.difference
    if abs(found.p - 0.05) > 1e-9:
        assert (found.p < 0.05) == (-margin < est.low and est.high < margin)
    assert found.p == max(found.p_lower, found.p_upper)


def test_at_the_margin_it_errs_in_five_percent():
    """A true difference at the margin is called equal in at most 5 %, within what 2,000 trials can tell."""
    rng = np.random.default_rng(1)
    equal = sum(equivalence.paired(rng.normal(3, 5, 40), np.zeros(40), (-3, 3)).p < 0.05 for _ in range(2000))
    assert 0.035 < equal / 2000 < 0.065


def test_pooled_and_welch_agree_for_equal_samples():
    """Samples of one size and one spread: the same standard error, and pooled degrees of freedom."""
    a, b = [1.0, 2.0, 3.0], [2.0, 3.0, 4.0]
    pooled = equivalence.two_samples(a, b, (-5, 5), pooled=True)
    welch = equivalence.two_samples(a, b, (-5, 5))
    assert (pooled.se, pooled.df) == pytest.approx((welch.se, welch.df))
    assert pooled.df == 4


def test_nan_pairs_are_left_out():
    """A pair with a missing half does not count."""
    found = equivalence.paired([5.0, 6.0, 8.0, np.nan], [4.0, 6.0, 7.0, 1.0], (-2, 2))
    assert found.difference.n == 3


def test_too_little_is_refused():
    """One pair, one value, no spread: refused, since there is no standard error."""
    with pytest.raises(ValueError, match="two pairs"):
        equivalence.paired([1.0], [2.0], (-1, 1))
    with pytest.raises(ValueError, match="two values"):
        equivalence.two_samples([1.0], [2.0, 3.0], (-1, 1))
    for call in (
        lambda: equivalence.paired([1.0, 2.0], [1.0, 2.0], (-1, 1)),
        lambda: equivalence.two_samples([1.0, 1.0], [1.0, 1.0], (-1, 1)),
    ):
        with pytest.raises(ValueError, match="above 0"):
            call()
