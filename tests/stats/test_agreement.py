"""Limits of agreement and repeats: slow twins, laws, and data too small or too alike."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats import agreement

numbers = st.floats(-500, 500).map(lambda x: round(x, 3))
grouped = st.lists(st.tuples(numbers, st.integers(0, 5)), min_size=1, max_size=40)


def slow_one_way(values, group):
    """Sums of squares the long way round, group by group, in plain Python."""
    by = {}
    for value, label in zip(values, group, strict=True):
        by.setdefault(label, []).append(value)
    overall = math.fsum(values) / len(values)
    means = {label: math.fsum(own) / len(own) for label, own in by.items()}
    within = math.fsum((v - means[label]) ** 2 for label, own in by.items() for v in own)
    between = math.fsum(len(own) * (means[label] - overall) ** 2 for label, own in by.items())
    return between, within, len(by)


@given(grouped)
def test_one_way_against_its_slow_twin(rows):
    """Mean squares agree with plain sums over groups, for any sizes of groups."""
    values, group = zip(*rows, strict=True)
    found = agreement.one_way(values, group)
    between, within, groups = slow_one_way(values, group)
    assert (found.n, found.groups) == (len(values), groups)
    if groups > 1:
        assert found.ms_between * (groups - 1) == pytest.approx(between, rel=1e-9, abs=1e-6)
    else:
        assert found.ms_between is None
    if len(values) > groups:
        assert found.ms_within * (len(values) - groups) == pytest.approx(within, rel=1e-9, abs=1e-6)
    else:
        assert found.ms_within is None
        assert found.between is None


def test_one_way_of_equal_groups():
    """With equal groups the divisor is their size, and the total is the usual variance about the mean."""
    found = agreement.one_way([1, 2, 3, 4, 5, 6], [0, 0, 0, 1, 1, 1])
    assert found.divisor == 3
    assert found.between == pytest.approx((13.5 - 1) / 3)


def test_one_way_of_nothing():
    """No value, or only NaN: empty, mean NaN, no mean squares."""
    for values in ([], [math.nan, math.nan]):
        found = agreement.one_way(values, [1] * len(values))
        assert (found.n, found.ms_between, found.ms_within) == (0, None, None)
        assert math.isnan(found.mean)


@given(st.lists(numbers, min_size=3, max_size=40, unique=True))
def test_limits_against_statistics(d):
    """Mean and SD are those of the standard library; limits lie 1.96 SD off, intervals centred on them."""
    import statistics

    found = agreement.limits_of_agreement(d)
    assert found.mean.value == pytest.approx(statistics.fmean(d), abs=1e-9)
    assert found.sd == pytest.approx(statistics.stdev(d), rel=1e-9, abs=1e-9)
    assert found.upper.value - found.lower.value == pytest.approx(2 * 1.96 * found.sd, rel=1e-9)
    for est in (found.mean, found.lower, found.upper):
        assert (est.low + est.high) / 2 == pytest.approx(est.value, abs=1e-6)


def test_limits_cover_as_they_should():
    """95 % intervals of the mean and of a limit hold the truth in 93 to 97 % of 2,000 normal samples of 20."""
    rng = np.random.default_rng(1)
    runs, hits = 2000, np.zeros(2)
    for _ in range(runs):
        found = agreement.limits_of_agreement(rng.normal(3, 10, 20))
        hits += [
            found.mean.low <= 3 <= found.mean.high,
            found.upper.low <= 3 + 1.96 * 10 <= found.upper.high,
        ]
    assert np.all(hits / runs > 0.93)
    assert np.all(hits / runs < 0.97)


def test_limits_of_little():
    """None: missing. One: the mean alone. Two alike: SD 0 and limits on the mean. NaN are left out."""
    assert agreement.limits_of_agreement([]).mean.why == "no-data"
    one = agreement.limits_of_agreement([4.0, math.nan])
    assert (one.mean.value, one.mean.low, one.mean.why, one.sd, one.lower.value) == (
        4,
        None,
        "too-few",
        None,
        None,
    )
    two = agreement.limits_of_agreement([4.0, 4.0])
    assert (two.sd, two.lower.value, two.upper.value, two.mean.low) == (0, 4, 4, 4)


def test_repeated_limits_of_little():
    """One subject, or never two of one: no limits, the reason said."""
    for d, subject in (([1.0, 2.0], [1, 1]), ([1.0, 2.0], [1, 2])):
        assert agreement.limits_true_value_varies(d, subject).lower.why == "too-few"
        assert agreement.limits_true_value_constant(d, [0.0, 0.0], subject).lower.why == "too-few"
    assert agreement.limits_true_value_varies([], []).lower.why == "no-data"
    assert agreement.limits_true_value_constant([math.nan], [1.0], [1]).mean.why == "no-data"


def test_repeated_limits_floor_a_negative_variance():
    """Where subjects differ less than chance would have it, the variance between counts as 0, not below."""
    d, subject = [1.0, -1.0, 1.0, -1.0], [1, 1, 2, 2]
    assert agreement.one_way(d, subject).between < 0
    assert agreement.limits_true_value_varies(d, subject).sd == pytest.approx(math.sqrt(2))


def test_repeated_limits_are_not_the_naive_ones():
    """Truth known: subject differences of SD 3, scatter of SD 1: the SD of a single difference is sqrt(10)."""
    rng = np.random.default_rng(2)
    subject = np.repeat(np.arange(4000), 3)
    d = np.repeat(rng.normal(0, 3, 4000), 3) + rng.normal(0, 1, 12000)
    assert agreement.limits_true_value_varies(d, subject).sd == pytest.approx(math.sqrt(10), rel=0.03)
    constant = agreement.limits_true_value_constant(d, np.zeros(12000), subject)
    assert constant.sd == pytest.approx(math.sqrt(10), rel=0.03)


def test_repeat_sd_by_hand():
    """Pairs 4, 2 and 2 apart: sqrt(24 / 6) = 2, and as the pooled SD within pairs."""
    found = agreement.repeat_sd([100, 110, 90], [104, 108, 92])
    assert found.value == pytest.approx(2)
    table = agreement.one_way([100, 104, 110, 108, 90, 92], [1, 1, 2, 2, 3, 3])
    assert found.value**2 == pytest.approx(table.ms_within)


def test_repeat_sd_interval_covers():
    """The chi-square interval of the repeat SD holds the truth in 93 to 97 % of 2,000 sets of 10 pairs."""
    rng = np.random.default_rng(3)
    hits = 0
    for _ in range(2000):
        found = agreement.repeat_sd(*rng.normal(100, 6, (2, 10)))
        hits += found.low <= 6 <= found.high
    assert 0.93 < hits / 2000 < 0.97


def test_repeat_sd_of_little():
    """No pair: missing. One pair: an interval, wide. Pairs all alike: 0, without an interval. NaN pairs out."""
    assert agreement.repeat_sd([], []).why == "no-data"
    assert agreement.repeat_sd([math.nan], [1.0]).why == "no-data"
    one = agreement.repeat_sd([100.0, math.nan], [106.0, 1.0])
    assert one.n == 1
    assert one.low < one.value < one.high
    assert one.high > 20 * one.low
    alike = agreement.repeat_sd([5.0, 6.0], [5.0, 6.0])
    assert (alike.value, alike.low, alike.why) == (0, None, "no-spread")


def test_repeat_sd_in_percent():
    """Each difference over its pair's mean: 4 at 102 and 10 at 205."""
    found = agreement.repeat_sd_percent([100, 210], [104, 200])
    assert found.value == pytest.approx(math.sqrt(((400 / 102) ** 2 + (1000 / 205) ** 2) / 4))
    with pytest.raises(ValueError, match="mean of 0 or below"):
        agreement.repeat_sd_percent([0.0], [0.0])


@given(st.lists(st.tuples(numbers, numbers, numbers), min_size=1, max_size=30))
def test_mean_square_identity(rows):
    """mean[(A-B)(A+B-2M)] is the difference of the two mean squares, whatever the numbers."""
    a, b, m = (np.array(column) for column in zip(*rows, strict=True))
    plain = ((a - m) ** 2).mean() - ((b - m) ** 2).mean()
    assert agreement.mean_square_difference(a, b, m) == pytest.approx(plain, abs=1e-6)


def test_mean_square_terms_and_a_biased_reference():
    """A bias of the reference enters as -2 bias mean(A - B), exactly; NaN stays NaN; nothing left gives NaN."""
    rng = np.random.default_rng(4)
    a, b, m = rng.normal(100, 10, (3, 50))
    shifted = agreement.mean_square_difference(a, b, m + 5)
    assert shifted - agreement.mean_square_difference(a, b, m) == pytest.approx(-10 * (a - b).mean())
    assert np.isnan(agreement.mean_square_terms([1.0], [math.nan], [2.0])).all()
    assert math.isnan(agreement.mean_square_difference([], [], []))
