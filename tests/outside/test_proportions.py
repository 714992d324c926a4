"""Shares against Newcombe's table, NIST's handbook, exact sample sizes, and statsmodels."""

import pytest

from evenhand.stats.proportions import clopper_pearson, exact_lower, exact_upper, wilson

# Newcombe, Stat Med 1998;17:857-872: Wilson and exact limits (printed MEMORY; four decimals COMPUTED, also by R's
# prop.test and binom.test: see scripts/proportions.R).
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
    (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
]


@pytest.mark.parametrize(("count", "n", "score", "exact"), NEWCOMBE)
def test_newcombe(count, n, score, exact):
    """Wilson and Clopper-Pearson limits of Newcombe's four examples."""
    found = wilson(count / n, n)
    assert (found.low, found.high) == pytest.approx(score, abs=5.1e-5)
    found = clopper_pearson(count, n)
    assert (found.low, found.high) == pytest.approx(exact, abs=5.1e-5)


def test_nist_handbook_7_2_4_2():
    """NIST/SEMATECH e-Handbook 7.2.4.2: 4 of 20, 90 % (question READ; 0.0714 and 0.4010 MEMORY; six places COMPUTED)."""
    found = clopper_pearson(4, 20, level=0.90)
    assert (found.low, found.high) == pytest.approx((0.071354, 0.401028), abs=5e-7)
    assert (exact_lower(4, 20), exact_upper(4, 20)) == pytest.approx((found.low, found.high), abs=1e-12)


def test_one_sided_90_of_100():
    """90 of 100: exact one-sided 95 % lower bound 0.836282 (COMPUTED)."""
    assert exact_lower(90, 100) == pytest.approx(0.836282, abs=5e-7)


# Smallest number of independent pairs with k misses whose exact one-sided 95 % lower bound lies above a share. COMPUTED.
SMALLEST = {
    0.70: (9, 14, 19, 24, 33),
    0.80: (14, 22, 30, 37, 50),
    0.85: (19, 30, 40, 50, 68),
    0.87: (22, 35, 47, 58, 79),
    0.98: (149, 236, 313, 386, 523),
    0.99: (299, 473, 628, 773, 1049),
}


@pytest.mark.parametrize("share", SMALLEST)
def test_sample_sizes_of_exact_bounds(share):
    """The table of sample sizes: passes at n, fails at n - 1, for 0, 1, 2, 3 and 5 misses."""
    for misses, n in zip((0, 1, 2, 3, 5), SMALLEST[share], strict=True):
        assert exact_lower(n - misses, n) > share
        assert exact_lower(n - 1 - misses, n - 1) <= share


def test_against_statsmodels():
    """statsmodels' proportion_confint, another implementation, agrees over small and large counts."""
    from statsmodels.stats.proportion import proportion_confint

    for n in (1, 2, 7, 60, 941):
        for count in {0, 1, n // 3, n // 2, n - 1, n}:
            for level in (0.8, 0.95, 0.983):
                for method, found in (
                    ("wilson", wilson(count / n, n, level=level)),
                    ("beta", clopper_pearson(count, n, level=level)),
                ):
                    low, high = proportion_confint(count, n, alpha=1 - level, method=method)
                    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-10)
