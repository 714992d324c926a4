"""Limits of agreement and repeats against Bland and Altman, Giavarina, and NIST's certified sets."""

import numpy as np
import pytest
from tests.outside import data

from evenhand.stats import agreement


def ends(est):
    """Both ends of an interval."""
    return [est.low, est.high]


def pefr():
    """First readings, Wright minus Mini."""
    return np.subtract(data.PEFR_WRIGHT_1, data.PEFR_MINI_1)


def test_pefr_limits_of_1986():
    """Bland and Altman 1986: mean -2.1, SD 38.8 (READ); limits -79.7 and 75.5 from rounded figures (MEMORY); exact COMPUTED."""
    found = agreement.limits_of_agreement(pefr(), times=2)
    assert found.mean.value == pytest.approx(-2.117647, abs=5e-7)
    assert found.sd == pytest.approx(38.765130, abs=5e-7)
    assert [found.lower.value, found.upper.value] == pytest.approx([-79.647907, 75.412613], abs=5e-7)
    assert [found.lower.value, found.upper.value] == pytest.approx([-79.7, 75.5], abs=0.1)


def test_pefr_intervals_of_1986():
    """1986: mean -22.0 to 17.8, lower limit -114.3 to -45.1, upper 40.9 to 110.1 (printed, rounded); exact COMPUTED."""
    found = agreement.limits_of_agreement(pefr(), times=2)
    assert ends(found.mean) == pytest.approx([-22.0488, 17.8135], abs=5e-5)
    assert ends(found.lower) == pytest.approx([-114.170, -45.126], abs=5e-4)
    assert ends(found.upper) == pytest.approx([40.891, 109.934], abs=5e-4)


def test_pefr_limits_at_196():
    """With 1.96 SD as in 1999: -78.097302 and 73.862007 (COMPUTED)."""
    found = agreement.limits_of_agreement(pefr())
    assert [found.lower.value, found.upper.value] == pytest.approx([-78.097302, 73.862007], abs=5e-7)


def test_pefr_repeatability():
    """1986: 2 sqrt(mean d²) is 43.2 and 56.4 from rounded figures (MEMORY), 43.294 and 56.316 exactly (COMPUTED)."""
    for first, second, coefficient, sd in (
        (data.PEFR_WRIGHT_1, data.PEFR_WRIGHT_2, 43.294, 15.3067),
        (data.PEFR_MINI_1, data.PEFR_MINI_2, 56.316, 19.9108),
    ):
        repeat = agreement.repeat_sd(first, second)
        assert repeat.value == pytest.approx(sd, abs=5e-5)
        assert agreement.repeatability(repeat.value, times=2) == pytest.approx(coefficient, abs=5e-4)


def test_pefr_means_of_two():
    """1986: means of two readings, SD of differences 33.2, corrected 37.7 (printed, MEMORY); 33.2041, 37.6548 COMPUTED."""
    wright = np.mean([data.PEFR_WRIGHT_1, data.PEFR_WRIGHT_2], axis=0)
    mini = np.mean([data.PEFR_MINI_1, data.PEFR_MINI_2], axis=0)
    sd = agreement.limits_of_agreement(wright - mini).sd
    within = (
        agreement.repeat_sd(data.PEFR_WRIGHT_1, data.PEFR_WRIGHT_2).value ** 2,
        agreement.repeat_sd(data.PEFR_MINI_1, data.PEFR_MINI_2).value ** 2,
    )
    assert sd == pytest.approx(33.2041, abs=5e-5)
    assert agreement.single_sd(sd, within, 2) == pytest.approx(37.6548, abs=5e-5)


def test_mean_square_identity_on_pefr():
    """(Wright 1 - M)² - (Mini 1 - M)² with M = Wright 2, averaged, is -714.2352941 both ways (COMPUTED)."""
    a, b, m = (np.array(x, float) for x in (data.PEFR_WRIGHT_1, data.PEFR_MINI_1, data.PEFR_WRIGHT_2))
    assert agreement.mean_square_difference(a, b, m) == pytest.approx(-714.2352941, abs=5e-8)
    assert ((a - m) ** 2).mean() - ((b - m) ** 2).mean() == pytest.approx(-714.2352941, abs=5e-8)


def test_systolic_limits_of_1999():
    """1999, Table 1, J minus S, first reading: -16.29, 19.61, -54.7 to 22.1 (printed, MEMORY); exact COMPUTED."""
    read = data.systolic()
    found = agreement.limits_of_agreement(read["j"][:, 0] - read["s"][:, 0])
    assert [found.mean.value, found.sd] == pytest.approx([-16.294118, 19.610993], abs=5e-7)
    assert [found.lower.value, found.upper.value] == pytest.approx([-54.7317, 22.1434], abs=5e-5)


@pytest.mark.parametrize(
    ("who", "within", "repeatability"),
    [("j", 37.40784, 16.9532), ("r", 37.98039, 17.0825), ("s", 83.14118, 25.2743)],
)
def test_systolic_repeats_of_1999(who, within, repeatability):
    """1999: within-subject variance and repeatability of three readings (printed 37.408 ...: MEMORY; exact COMPUTED)."""
    values = data.systolic()[who]
    table = agreement.one_way(values.ravel(), np.repeat(np.arange(85), 3))
    assert table.ms_within == pytest.approx(within, abs=5e-6)
    assert agreement.repeatability(table.ms_within**0.5) == pytest.approx(repeatability, abs=5e-5)


def test_systolic_means_of_three():
    """1999, section 5.1: SD 18.93 of means of three becomes 20.95, limits -56.68 to 25.44 (MEMORY; exact COMPUTED)."""
    read = data.systolic()
    found = agreement.limits_of_agreement(read["j"].mean(1) - read["s"].mean(1))
    within = [agreement.one_way(read[w].ravel(), np.repeat(np.arange(85), 3)).ms_within for w in "js"]
    sd = agreement.single_sd(found.sd, tuple(within), 3)
    assert [found.mean.value, found.sd, sd] == pytest.approx([-15.619608, 18.933897, 20.948949], abs=5e-7)
    limits = [found.mean.value - 1.96 * sd, found.mean.value + 1.96 * sd]
    assert limits == pytest.approx([-56.6795, 25.4403], abs=5e-5)


def test_systolic_single_readings_by_the_whole_function():
    """The same limits from `limits_true_value_constant`, which 1999 gives for unequal numbers of pairs."""
    read = data.systolic()
    subject = np.repeat(np.arange(85), 3)
    found = agreement.limits_true_value_constant(read["j"].ravel(), read["s"].ravel(), subject)
    assert [found.lower.value, found.upper.value] == pytest.approx([-56.6795, 25.4403], abs=5e-5)


def test_cardiac_output_where_the_true_value_varies():
    """Bland and Altman, J Biopharm Stat 2007;17:571: limits -1.34 and 2.54 (two places MEMORY; all figures COMPUTED)."""
    rv, ic, subject = data.cardiac()
    d = np.subtract(rv, ic)
    table = agreement.one_way(d, subject)
    assert [table.ms_between, table.ms_within] == pytest.approx([4.2091, 0.1707], abs=5e-5)
    assert [table.divisor, table.between] == pytest.approx([4.981818, 0.810622], abs=5e-7)
    found = agreement.limits_true_value_varies(d, subject)
    assert found.sd == pytest.approx(0.990624, abs=5e-7)
    assert [found.lower.value, found.upper.value] == pytest.approx([-1.339457, 2.543790], abs=5e-7)


def test_cardiac_output_where_the_true_value_stands_still():
    """1999, section 5.3: 0.7092, -1.3524 to 2.7709 (printed, MEMORY); more places COMPUTED."""
    rv, ic, subject = data.cardiac()
    found = agreement.limits_true_value_constant(rv, ic, subject)
    assert [found.mean.value, found.sd] == pytest.approx([0.709236, 1.051851], abs=5e-7)
    assert [found.lower.value, found.upper.value] == pytest.approx([-1.352391, 2.770863], abs=5e-7)
    within = [agreement.one_way(x, subject).ms_within for x in (rv, ic)]
    assert within == pytest.approx([0.107228, 0.137874], abs=5e-7)


def test_cardiac_output_as_if_independent():
    """The naive limits that ignore who is who: mean 0.602167, SD 0.961057 (COMPUTED); narrower than either."""
    rv, ic, _ = data.cardiac()
    found = agreement.limits_of_agreement(np.subtract(rv, ic))
    assert [found.mean.value, found.sd] == pytest.approx([0.602167, 0.961057], abs=5e-7)


def test_giavarina():
    """Giavarina 2015: -27.2, 34.8, -95.4, 41.1 (printed, MEMORY); intervals and more places COMPUTED."""
    found = agreement.limits_of_agreement(np.subtract(data.GIAVARINA_A, data.GIAVARINA_B))
    assert [found.mean.value, found.sd] == pytest.approx([-27.16667, 34.80595], abs=5e-6)
    assert [found.lower.value, found.upper.value] == pytest.approx([-95.38632, 41.05299], abs=5e-6)
    assert ends(found.mean) == pytest.approx([-40.163, -14.170], abs=5e-4)
    assert ends(found.lower) == pytest.approx([-117.897, -72.875], abs=5e-4)
    assert ends(found.upper) == pytest.approx([18.542, 63.564], abs=5e-4)


ANOVA = ["SiRstv", "AtmWtAg", *(f"SmLs0{k}" for k in range(1, 10))]


@pytest.mark.parametrize("name", ANOVA)
def test_nist_anova(name):
    """NIST StRD, analysis of variance, certified (READ in scipy's wheel): mean squares between and within.

    The higher sets have 7 and 13 constant leading digits: what a double holds of their data is all that can agree.
    """
    group, response, between, within, sd = data.nist_anova(name)
    found = agreement.one_way(response, group)
    tolerance = 2e-4 if name[-1] in "789" else 1e-9
    assert found.ms_between == pytest.approx(between, rel=tolerance)
    assert found.ms_within == pytest.approx(within, rel=tolerance)
    assert found.ms_within**0.5 == pytest.approx(sd, rel=tolerance)


def test_nist_numacc4():
    """NIST StRD NumAcc4 (data and certified values MEMORY): mean 10000000.2, SD 0.1 to eight digits."""
    y = [10000000.2] + 500 * [10000000.1, 10000000.3]
    found = agreement.limits_of_agreement(y)
    assert found.mean.value == pytest.approx(10000000.2, rel=1e-14)
    assert found.sd == pytest.approx(0.1, rel=1e-7)


def test_nist_norris_residuals():
    """NIST StRD Norris (READ): about the certified line the differences have mean 0 and the certified residual SD."""
    rows = np.array(
        [[float(w) for w in line.split()] for line in data.nist_file("nist_linregress", "Norris")[60:96]]
    )
    y, x = rows.T
    found = agreement.limits_of_agreement(y - (-0.262323073774029 + 1.00211681802045 * x))
    assert found.mean.value == pytest.approx(0, abs=1e-11)
    assert found.sd * (35 / 34) ** 0.5 == pytest.approx(0.884796396144373, rel=1e-12)
