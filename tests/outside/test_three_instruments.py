"""Three-way separation against Grubbs' identity and published covariances; two one-sided tests against printed cases."""

import math

import numpy as np
import pytest
from tests.outside import data

from evenhand.stats import equivalence, separation


def test_grubbs_on_pm25_samplers():
    """Three PM2.5 samplers, n = 77 (covariances READ in R merror's documentation; error variances COMPUTED)."""
    s = [[130.3105, 130.5922, 157.1905], [130.5922, 133.6274, 158.4946], [157.1905, 158.4946, 198.6542]]
    found = separation.from_covariances(s)
    # The covariances are printed to four places, so the answer holds to about two units of the fourth.
    assert found == pytest.approx((1.022456, 1.731053, 13.561250), abs=3e-4)


def test_grubbs_identity():
    """Grubbs 1948 (J Am Stat Assoc 43:243): the form in covariances and the form in differences are one (algebra)."""
    y = np.array([data.PEFR_WRIGHT_1, data.PEFR_MINI_1, data.PEFR_WRIGHT_2], float)
    assert separation.three_way(*y) == pytest.approx(separation.from_covariances(np.cov(y)), abs=1e-9)


def test_tost_one_sample_of_100():
    """TOSTER's test suite (READ): m .54, mu .5, sd 1.2, n 100, bounds ±0.36."""
    found = equivalence.two_one_sided(0.54 - 0.5, 1.2 / 10, 99, (-0.36, 0.36))
    assert (found.t_lower, found.t_upper) == pytest.approx((3.333333, -2.666667), abs=5e-7)
    assert (found.p_lower, found.p_upper) == pytest.approx((0.0006040021, 0.004474619), rel=1e-6)
    assert (found.difference.low, found.difference.high) == pytest.approx((-0.1592469, 0.2392469), abs=5e-8)
    assert found.difference.level == pytest.approx(0.90)


def test_tost_one_sample_of_300():
    """TOSTER's test suite (READ): m .52, mu .5, sd .5, n 300, bounds ±0.1."""
    found = equivalence.two_one_sided(0.52 - 0.5, 0.5 / math.sqrt(300), 299, (-0.1, 0.1))
    assert (found.t_lower, found.t_upper) == pytest.approx((4.156922, -2.771281), abs=5e-7)
    assert (found.p_lower, found.p_upper) == pytest.approx((2.108451e-5, 0.002966762), rel=1e-6)
    assert (found.difference.low, found.difference.high) == pytest.approx((-0.02763041, 0.06763041), abs=5e-9)


def test_tost_paired_from_summary():
    """TOSTER's test suite (READ): n 65, means 5.83 and 5.75, SD 1.17 and 1.29, r .75, bounds 0.4 SD of the difference."""
    sd = math.sqrt(1.17**2 + 1.29**2 - 2 * 0.75 * 1.17 * 1.29)
    assert 0.4 * sd == pytest.approx(0.350782, abs=5e-7)
    found = equivalence.two_one_sided(5.83 - 5.75, sd / math.sqrt(65), 64, (-0.4 * sd, 0.4 * sd))
    assert (found.t_lower, found.t_upper) == pytest.approx((3.960381, -2.489426), abs=5e-7)
    assert (found.p_lower, found.p_upper) == pytest.approx((9.531728e-5, 0.00770235), rel=1e-6)


TWO_SAMPLES = (
    [452, 874, 554, 447, 356, 754, 558, 574, 664, 682, 547, 435, 245],
    [546, 547, 774, 465, 459, 665, 467, 365, 589, 534, 456, 651, 654, 665, 546, 537],
)


@pytest.mark.parametrize(
    ("pooled", "se", "df", "p"),
    [(True, 51.114285, 27, (0.02821, 0.01436)), (False, 53.618547, 19.169, (0.03628, 0.02002))],
)
def test_tost_two_samples(pooled, se, df, p):
    """Two samples, bounds ±110 (READ in a textbook of sample-size methods; COMPUTED): pooled and Welch."""
    found = equivalence.two_samples(*TWO_SAMPLES, (-110, 110), pooled=pooled)
    assert found.difference.value == pytest.approx(-8.1153846, abs=5e-8)
    assert found.se == pytest.approx(se, abs=5e-7)
    assert found.df == pytest.approx(df, abs=5e-4)
    assert (found.p_lower, found.p_upper) == pytest.approx(p, abs=5.1e-6)


def test_tost_against_statsmodels():
    """statsmodels' ttost_ind and ttost_paired, another implementation, agree."""
    from statsmodels.stats.weightstats import ttost_ind, ttost_paired

    a, b = (np.array(x, float) for x in TWO_SAMPLES)
    for pooled in (True, False):
        p, *_ = ttost_ind(a, b, -110, 110, usevar="pooled" if pooled else "unequal")
        assert equivalence.two_samples(a, b, (-110, 110), pooled=pooled).p == pytest.approx(p, abs=1e-12)
    p, first, second = ttost_paired(a, b[:13], -200, 200)
    found = equivalence.paired(a, b[:13], (-200, 200))
    assert (found.p, found.t_lower, found.t_upper) == pytest.approx((p, first[0], second[0]), abs=1e-12)


def test_sleep_paired_t():
    """R's sleep data (READ): the paired t of -4.0621 on 9 df has p 0.002833 (COMPUTED); a bound at 0 gives half of it."""
    one = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
    two = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
    found = equivalence.paired(one, two, (-10.0, 0.0))
    assert found.t_upper == pytest.approx(-4.0621, abs=5e-5)
    assert 2 * found.p_upper == pytest.approx(0.002833, abs=5e-7)
