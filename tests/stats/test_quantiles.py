"""Quantiles against scipy, closed forms and laws."""

import math

import numpy as np
import pytest
import scipy.special
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.quantiles import chi_square_quantile, normal_quantile, t_quantile

LEVELS = [1e-6, 0.001, 0.005, 0.025, 0.05, 0.2, 0.4, 0.49, 0.51, 0.6, 0.9, 0.95, 0.975, 0.9833, 0.995, 0.9999]


@pytest.mark.parametrize("p", LEVELS)
def test_t_agrees_with_scipy(p):
    """Over degrees of freedom from 0.5 to 100,000, whole or not, the quantile agrees to 1e-10 of itself."""
    for df in (*np.exp(np.linspace(np.log(0.5), np.log(1e5), 60)), 1.0, 2.0, 3.0, 599.0, 600.0, 601.0):
        assert t_quantile(p, float(df)) == pytest.approx(scipy.stats.t.ppf(p, df), rel=1e-10)


@pytest.mark.parametrize("p", LEVELS)
def test_normal_agrees_with_scipy(p):
    """The normal quantile agrees with scipy's."""
    assert normal_quantile(p) == pytest.approx(float(scipy.special.ndtri(p)), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize(
    ("df", "printed"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042), (120, 1.980)]
)
def test_t_table(df, printed):
    """The 0.975 column of the table that every textbook prints (values from memory)."""
    assert round(t_quantile(0.975, df), 3) == printed


@given(st.floats(0.51, 0.9999))
def test_closed_forms(p):
    """With 1 degree of freedom t is Cauchy's; with 2 it has a closed form."""
    assert t_quantile(p, 1) == pytest.approx(math.tan(math.pi * (p - 0.5)), rel=1e-9)
    assert t_quantile(p, 2) == pytest.approx((2 * p - 1) / math.sqrt(2 * p * (1 - p)), rel=1e-9)


@given(st.floats(0.01, 0.99), st.floats(0.5, 5000))
def test_symmetric_and_falling(p, df):
    """The two tails mirror each other, and limits narrow as degrees of freedom grow."""
    assert t_quantile(p, df) == pytest.approx(-t_quantile(1 - p, df), rel=1e-9, abs=1e-12)
    assert abs(t_quantile(p, df * 1.5)) <= abs(t_quantile(p, df)) + 1e-12


def test_median_is_zero():
    """Half lies on either side of 0."""
    assert t_quantile(0.5, 7) == 0.0


@pytest.mark.parametrize(("p", "df"), [(0.0, 5), (1.0, 5), (0.9, 0.0), (0.9, math.nan), (0.9, -1)])
def test_nonsense_is_refused(p, df):
    """Outside its domain it raises instead of answering."""
    with pytest.raises(ValueError, match="no t quantile"):
        t_quantile(p, df)


@pytest.mark.parametrize("p", LEVELS)
def test_chi_square_agrees_with_scipy(p):
    """Over degrees of freedom from 0.5 to 10,000, whole or not, the quantile agrees to 1e-10 of itself."""
    for df in (*np.exp(np.linspace(np.log(0.5), np.log(1e4), 60)), 1.0, 2.0, 3.0, 10.0):
        assert chi_square_quantile(p, float(df)) == pytest.approx(scipy.stats.chi2.ppf(p, df), rel=1e-10)


@pytest.mark.parametrize(
    ("df", "printed"), [(1, 3.841), (2, 5.991), (5, 11.070), (10, 18.307), (30, 43.773), (100, 124.342)]
)
def test_chi_square_table(df, printed):
    """The 0.95 column of the table that every textbook prints (values from memory)."""
    assert round(chi_square_quantile(0.95, df), 3) == printed


@given(st.floats(0.001, 0.999))
def test_chi_square_closed_forms(p):
    """With 2 degrees of freedom it is exponential; with 1 the square of a normal."""
    assert chi_square_quantile(p, 2) == pytest.approx(-2 * math.log1p(-p), rel=1e-9)
    assert chi_square_quantile(p, 1) == pytest.approx(normal_quantile((1 + p) / 2) ** 2, rel=1e-9)


@given(st.floats(0.01, 0.98), st.floats(0.5, 3000))
def test_chi_square_grows(p, df):
    """With the share below it, and with degrees of freedom."""
    assert chi_square_quantile(p, df) < chi_square_quantile(p + 0.01, df)
    assert chi_square_quantile(p, df) < chi_square_quantile(p, df + 1)


@pytest.mark.parametrize(("p", "df"), [(0.0, 5), (1.0, 5), (0.9, 0.0), (0.9, math.nan), (math.nan, 3)])
def test_chi_square_refuses_nonsense(p, df):
    """Outside its domain it raises instead of answering."""
    with pytest.raises(ValueError, match="no chi-square quantile"):
        chi_square_quantile(p, df)
