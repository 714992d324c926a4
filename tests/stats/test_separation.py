"""Three instruments apart: identity, recovery of a known truth, what a shared error does, coverage, too little."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.separation import from_covariances, from_difference_variances, separate, three_way

rows = st.lists(st.tuples(*[st.floats(0, 400).map(lambda x: round(x, 2))] * 3), min_size=2, max_size=30)


@given(rows)
def test_two_forms_are_one(values):
    """From variances of differences and from covariances: the same, to rounding."""
    y = np.array(values).T
    found, other = three_way(*y), from_covariances(np.cov(y))
    assert found == pytest.approx(other, abs=1e-7 * max(1.0, float(np.abs(np.cov(y)).max())))


@given(rows)
def test_order_does_not_matter(values):
    """Naming the instruments in another order only re-orders the answer."""
    a, b, m = np.array(values).T
    first, second, third = three_way(a, b, m)
    assert three_way(m, a, b) == pytest.approx((third, first, second), abs=1e-6)


def test_recovers_a_known_truth():
    """Independent errors of SD 4, 9 and 6 on a moving truth come back as 16, 81 and 36."""
    rng = np.random.default_rng(1)
    truth = rng.normal(150, 50, 40_000)
    found = three_way(*(truth + rng.normal(0, sd, truth.size) for sd in (4, 9, 6)))
    assert found == pytest.approx((16, 81, 36), rel=0.06)


def test_a_shared_error_counts_as_the_thirds():
    """What the first two share (a lag) lands on the third: that is why the page says so."""
    rng = np.random.default_rng(2)
    truth, shared = rng.normal(150, 50, 40_000), rng.normal(0, 8, 40_000)
    found = three_way(
        truth + shared + rng.normal(0, 4, truth.size),
        truth + shared + rng.normal(0, 4, truth.size),
        truth + rng.normal(0, 5, truth.size),
    )
    assert found == pytest.approx((16, 16, 25 + 64), rel=0.1)


def test_negative_estimates_stay_as_they_are():
    """Chance can make an error variance negative; it is shown, not cut off."""
    assert from_difference_variances(1.0, 2.0, 5.0) == (-1.0, 2.0, 3.0)


def test_intervals_cover():
    """Days in two wears: the 95 % intervals hold the truth in at least 91 % of 400 trials each."""
    rng = np.random.default_rng(3)
    day = np.repeat(np.arange(20), 6)
    wear = (day >= 10).astype(int)
    hits = np.zeros(3)
    for _ in range(400):
        truth = rng.normal(140, 40, day.size)
        found = separate(*(truth + rng.normal(0, sd, day.size) for sd in (10, 14, 8)), day, wear)
        hits += [
            est.low <= true <= est.high
            for est, true in zip((found.first, found.second, found.third), (100, 196, 64), strict=True)
        ]
    assert np.all(hits / 400 > 0.91)
    assert np.all(hits / 400 < 0.985)


@given(st.lists(st.floats(-40, 40), min_size=9, max_size=9))
def test_offsets_of_wears_are_no_part_of_the_variances(offsets):
    """A constant added to any instrument in any wear changes nothing; one stratum is the plain form."""
    rng = np.random.default_rng(5)
    wear = np.repeat(np.arange(3), 8)
    y = rng.normal(120, 10, (3, 24))
    moved = y + np.array(offsets).reshape(3, 3)[:, wear]
    assert three_way(*moved, wear) == pytest.approx(three_way(*y, wear), abs=1e-8)
    assert three_way(*y, np.zeros(24)) == pytest.approx(three_way(*y))


def test_within_strata_against_plain_loops():
    """Squares about each wear's own mean, over rows less wears."""
    rng = np.random.default_rng(6)
    wear = np.array([0] * 3 + [1] * 5 + [2])
    y = rng.normal(120, 10, (3, 9))

    def slow(i, j):
        total = 0.0
        for w in set(wear.tolist()):
            d = [y[i, r] - y[j, r] for r in range(9) if wear[r] == w]
            total += sum((one - sum(d) / len(d)) ** 2 for one in d)
        return total / (9 - 3)

    expected = from_difference_variances(slow(0, 1), slow(0, 2), slow(1, 2))
    assert three_way(*y, wear) == pytest.approx(expected)


def coverage(wears, *, within):
    """Share of 400 trials of 20 days whose intervals hold the scatter, wears having offsets of SD 8."""
    rng = np.random.default_rng(7)
    day = np.repeat(np.arange(20), 5)
    wear = day * wears // 20
    hits = np.zeros(3)
    for _ in range(400):
        truth = rng.normal(140, 40, 100)
        shifts = rng.normal(0, 8, (2, wears))
        a, b = (
            truth + shift[wear] + rng.normal(0, sd, 100) for shift, sd in zip(shifts, (10, 12), strict=True)
        )
        found = separate(a, b, truth + rng.normal(0, 7, 100), day, wear if within else None)
        # What one common mean would have to hold is the scatter and the offsets that these wears happen to have.
        true = [
            sd**2 + (0 if within else shift[wear].var()) for sd, shift in zip((10, 12), shifts, strict=True)
        ]
        hits += [
            est.low <= value <= est.high
            for est, value in zip((found.first, found.second, found.third), (*true, 49), strict=True)
        ]
    return hits / 400


def test_intervals_cover_though_wears_have_offsets():
    """Two and four wears: 90 to 97.5 % of 400 trials hold the scatter of all three."""
    for wears in (2, 4):
        found = coverage(wears, within=True)
        assert np.all((found > 0.90) & (found < 0.975)), found


def test_one_common_mean_would_not_cover():
    """The textbook form about one mean charges the meter with offsets that go together: well under 90 %."""
    assert coverage(2, within=False)[2] < 0.88


def test_leaving_out_days_by_hand():
    """The interval is that of `three_way` computed again without each day."""
    from scipy import stats

    rng = np.random.default_rng(4)
    y = rng.normal(100, 10, (3, 12))
    day = np.repeat(np.arange(4), 3)
    left = np.array([three_way(*y[:, day != d]) for d in range(4)])
    se = np.sqrt(3 / 4 * ((left - left.mean(0)) ** 2).sum(0))
    found = separate(*y, day)
    assert found.second.high - found.second.value == pytest.approx(stats.t.ppf(0.975, 3) * se[1])


def test_too_little():
    """No whole row, one row, one day, no spread: codes and zeros, never a crash."""
    assert separate([math.nan], [1.0], [2.0], [1]).first.why == "no-data"
    assert separate([1.0], [1.0], [2.0], [1]).first.why == "not-defined"
    one_day = separate([1.0, 2.0], [1.0, 3.0], [2.0, 1.0], [1, 1])
    assert one_day.first.value is not None
    assert one_day.first.why == "too-few-groups"
    still = separate([5.0] * 4, [5.0] * 4, [5.0] * 4, [1, 2, 3, 4])
    assert (still.first.value, still.third.low) == (0, 0)
    assert all(math.isnan(v) for v in three_way([1.0], [1.0], [1.0]))
