"""The pure rule: its order, its laws, and its relation to the two one-sided tests."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from evenhand.stats.decision import (
    ENOUGH,
    NOT_SETTLED,
    Confidence,
    Enough,
    Verdict,
    confidence,
    decide,
    shrinkage,
)

DEFAULT = Confidence()


def t_limits(estimate, se, df):
    """Intervals estimate ± t·se."""

    def limits(level):
        half = stats.t.ppf((1 + level) / 2, df) * se
        return estimate - half, estimate + half

    return limits


estimates = st.floats(-12, 12)
errors = st.floats(0.01, 6)
freedoms = st.integers(2, 200)
margins = st.floats(0.5, 8)
shrinkages = st.floats(0.3, 1.0)


@pytest.mark.parametrize(
    ("estimate", "se", "expected"),
    [
        (0.2, 0.5, Verdict("equal", 0, "no")),
        (-1.5, 0.3, Verdict("equal", -1, "no")),
        (-5.0, 0.5, Verdict("closer", -1, "yes")),
        (5.0, 0.5, Verdict("closer", 1, "yes")),
        (-3.0, 1.0, Verdict("closer", -1, "open")),
        (1.0, 2.0, NOT_SETTLED),
    ],
)
def test_four_answers(estimate, se, expected):
    """Each of the answers comes where its interval says so, with margin 3 and no shrinkage."""
    assert decide(t_limits(estimate, se, 60), 3.0, 1.0, DEFAULT) == expected


def test_equal_comes_before_closer():
    """A difference that is clear of zero but wholly inside the margin is 'equal', with the side named."""
    verdict = decide(t_limits(1.0, 0.2, 100), 3.0, 1.0, DEFAULT)
    assert verdict == Verdict("equal", 1, "no")


def test_side_is_named_by_the_wider_interval():
    """Equal with zero outside the 90 % interval but inside the 95 % one names nobody: naming costs 5 %, not 10."""
    estimate, se, df = 1.0, 0.55, 100
    limits = t_limits(estimate, se, df)
    assert limits(0.90)[0] > 0 > limits(0.95)[0]
    assert decide(limits, 3.0, 1.0, DEFAULT) == Verdict("equal", 0, "no")


def test_shrinkage_can_take_equal_away():
    """An interval inside the margin that leaves it after division by k is not equal; without k never."""
    limits = t_limits(1.8, 0.4, 100)
    assert decide(limits, 3.0, 1.0, DEFAULT).state == "equal"
    assert decide(limits, 3.0, 0.8, DEFAULT) == Verdict("closer", 1, "open")
    assert decide(limits, 3.0, None, DEFAULT) == Verdict("closer", 1, "open")


def test_no_interval_settles_nothing():
    """Where there is no interval the answer is not settled."""
    assert decide(lambda level: None, 3.0, 1.0, DEFAULT) == NOT_SETTLED


@given(estimates, errors, freedoms, margins, shrinkages)
def test_swapping_the_sensors_mirrors_the_answer(estimate, se, df, margin, k):
    """The difference b minus a gives the same answer with the other side named."""
    one = decide(t_limits(estimate, se, df), margin, k, DEFAULT)
    other = decide(t_limits(-estimate, se, df), margin, k, DEFAULT)
    assert other == Verdict(one.state, -one.sign, one.beyond_margin)


@given(estimates, errors, freedoms, margins, st.floats(0, 5), shrinkages)
def test_a_wider_margin_never_takes_equal_away(estimate, se, df, margin, more, k):
    """Equal at a margin stays equal at a wider one; beyond a margin stays beyond a narrower one; the side stays."""
    limits = t_limits(estimate, se, df)
    narrow, wide = decide(limits, margin, k, DEFAULT), decide(limits, margin + more, k, DEFAULT)
    assert narrow.sign == wide.sign
    if narrow.state == "equal":
        assert wide.state == "equal"
    if wide.beyond_margin == "yes":
        assert narrow.beyond_margin == "yes"
    if narrow.state == "not settled":
        assert wide.state in ("not settled", "equal")


@given(estimates, errors, freedoms, margins, shrinkages, st.floats(0.3, 1.0))
def test_less_shrinkage_never_takes_equal_away(estimate, se, df, margin, k, other):
    """'Equal' under a strong correction is 'equal' under a weaker one."""
    limits = t_limits(estimate, se, df)
    low, high = sorted((k, other))
    if decide(limits, margin, low, DEFAULT).state == "equal":
        assert decide(limits, margin, high, DEFAULT).state == "equal"


@given(estimates, errors, freedoms, margins)
def test_equal_without_correction_is_two_one_sided_tests(estimate, se, df, margin):
    """With k = 1 'equal' says exactly that both one-sided tests reject at 5 % (standards 7.7: a 90 % interval)."""
    below = stats.t.sf((estimate + margin) / se, df)
    above = stats.t.sf((margin - estimate) / se, df)
    assume(abs(max(below, above) - 0.05) > 1e-9)
    equal = decide(t_limits(estimate, se, df), margin, 1.0, DEFAULT).state == "equal"
    assert equal == (max(below, above) < 0.05)


@pytest.mark.parametrize(
    ("mean", "centre", "sd", "n", "bound", "tests", "interval"),
    [
        (0.54, 0.5, 1.2, 100, 0.36, (3.333333, -2.666667), (-0.1592469, 0.2392469)),
        (0.52, 0.5, 0.5, 300, 0.1, (4.156922, -2.771281), (-0.02763041, 0.06763041)),
    ],
)
def test_two_one_sided_tests_of_a_published_kind(mean, centre, sd, n, bound, tests, interval):
    """One-sample equivalence from summaries: t values and 90 % interval as printed by an equivalence-test library
    in R (standards 7.7, rows 'TOST one sample', read there), and the rule says 'equal' as both p are below 5 %."""
    difference, se = mean - centre, sd / math.sqrt(n)
    limits = t_limits(difference, se, n - 1)
    assert ((difference + bound) / se, (difference - bound) / se) == pytest.approx(tests, abs=1e-6)
    assert limits(0.90) == pytest.approx(interval, abs=1e-7)
    assert decide(limits, bound, 1.0, DEFAULT).state == "equal"


def test_looks_cost_as_published():
    """Two and three looks stand at Pocock's levels (1977; 5 % row from memory, 10 % row computed)."""
    assert confidence(2) == Confidence(0.9706, 0.9393)
    assert confidence(3) == Confidence(0.9779, 0.9536)
    for looks, z5, z10 in ((2, 2.178, 1.875), (3, 2.289, 1.992)):
        level = confidence(looks)
        assert stats.norm.ppf((1 + level.difference) / 2) == pytest.approx(z5, abs=0.002)
        assert stats.norm.ppf((1 + level.equal) / 2) == pytest.approx(z10, abs=0.003)


def test_three_answers_share_the_error():
    """Three pairs of sensors stand at 98.3 and 96.7 %: 5 and 10 % shared by three."""
    level = confidence(1, answers=3)
    assert level.difference == pytest.approx(1 - 0.05 / 3, abs=5e-4)
    assert level.equal == pytest.approx(1 - 0.10 / 3, abs=5e-4)


@pytest.mark.parametrize(
    ("own", "other", "scatter", "slope"),
    [(8, 12, 5, 0.89), (8, 12, 7.65, 0.79), (10, 14, 5, 0.92), (10, 14, 7.65, 0.84)],
)
def test_shrinkage_matches_how_a_difference_shrinks(own, other, scatter, slope):
    """The reference's scatter shrinks a difference of SDs by (hypot - hypot)/(difference) (standards 7.8, computed);
    k at the pooled spread lies within 0.03 of it."""
    shrunk = (math.hypot(other, scatter) - math.hypot(own, scatter)) / (other - own)
    assert shrunk == pytest.approx(slope, abs=0.006)
    pooled = math.sqrt((own**2 + other**2) / 2 + scatter**2)
    assert shrinkage(scatter, pooled) == pytest.approx(shrunk, abs=0.03)


@pytest.mark.parametrize(("scatter", "spread"), [(5.0, 5.0), (6.0, 5.0), (0.0, 0.0)])
def test_shrinkage_is_refused_where_scatter_reaches_the_spread(scatter, spread):
    """When the meter's scatter explains all of the spread, nothing can be told equal."""
    assert shrinkage(scatter, spread) is None


@given(st.floats(0, 30), st.floats(0.1, 60))
def test_shrinkage_lies_between_zero_and_one(scatter, spread):
    """k is in (0, 1] wherever it is given, and 1 without scatter."""
    k = shrinkage(scatter, spread)
    if k is None:
        assert scatter >= spread
    else:
        assert 0 < k <= 1
    assert shrinkage(0.0, spread) == 1.0


@pytest.mark.parametrize(
    ("pairs", "days", "pricked", "why"),
    [
        (29, 20, 5, "fewer-than-30-pairs"),
        (30, 6, 5, "fewer-than-7-days"),
        (30, 7, 2, "too-few-days-in-a-wear"),
        (30, 7, 3, None),
    ],
)
def test_least_evidence(pairs, days, pricked, why):
    """30 pairs, 7 days, 3 pricked days in every counted wear: one fewer of any settles nothing."""
    assert ENOUGH.missing(pairs, days, pricked) == why
    assert Enough(pairs=1, days=1, pricked_days=1).missing(pairs, days, pricked) is None


@pytest.mark.parametrize("looks", [2, 3])
def test_several_looks_and_answers_are_both_paid_for(looks):
    """Three answers at each of several looks: what one look may spend is shared by the three (Bonferroni)."""
    one, three = confidence(looks), confidence(looks, answers=3)
    assert 3 * (1 - three.difference) == pytest.approx(1 - one.difference)
    assert 3 * (1 - three.equal) == pytest.approx(1 - one.equal)
    assert three.difference > confidence(1, answers=3).difference
