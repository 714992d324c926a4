"""The even scale and its inverse."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.reconstruct.scale import HIGHEST, even, mg_dl

GLUCOSE = st.floats(10.0, 1000.0)


@given(GLUCOSE)
def test_there_and_back(value: float) -> None:
    """The inverse is exact over every glucose a body has."""
    assert float(mg_dl(even(value))) == pytest.approx(value, rel=1e-12)


@given(GLUCOSE, GLUCOSE)
def test_order_is_kept(one: float, other: float) -> None:
    """A higher glucose is higher on the scale, or the same to rounding."""
    if one < other:
        assert even(one) <= even(other)


def test_a_step_of_0_15_is_15_mg_dl_below_and_15_percent_above() -> None:
    """What the scale is for: one spread along it is 15 mg/dL below 100 and about 15 % above."""
    assert float(mg_dl(even(60.0) + 0.15)) == pytest.approx(75.0)
    assert float(mg_dl(even(200.0) + 0.15)) / 200.0 == pytest.approx(np.exp(0.15))


def test_smooth_at_100() -> None:
    """Value and slope of both branches meet at 100 mg/dL."""
    below, above = even([100.0 - 1e-4, 100.0 + 1e-4])
    assert above - below == pytest.approx(2e-6, rel=1e-5)


def test_wild_draws_are_cut() -> None:
    """Far beyond any glucose the way back stays finite."""
    assert float(mg_dl(1e6)) == pytest.approx(100.0 * np.exp(HIGHEST - 1.0))
