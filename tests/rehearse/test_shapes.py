"""Pulses, kernels and broken lines."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import gamma

from evenhand.rehearse.shapes import (
    answer,
    delay_kernel,
    delayed,
    gamma_share,
    response,
    soft_between,
    trapezoids,
)


def test_gamma_share_is_the_distribution_function():
    """Against scipy's gamma distribution of that mean and shape."""
    share = gamma_share(60.0, 2.3, 400)
    assert np.allclose(share, gamma(2.3, scale=60.0 / 2.3).cdf(np.arange(400)), atol=1e-12)


def test_response_rises_and_lets_go():
    """A response starts at 0, reaches most of 1 and ends at 0."""
    kernel = response(62.0, 2.3, 330.0)
    assert kernel[0] == 0.0
    assert 0.5 < kernel.max() < 1.0
    assert kernel[-1] == pytest.approx(0.0, abs=1e-12)


def test_answer_is_the_sum_of_direct_convolutions():
    """Against numpy's direct convolution, row by row."""
    rng = np.random.default_rng(5)
    pulses = rng.normal(size=(2, 300)) * (rng.random((2, 300)) < 0.03)
    kernels = (response(40.0, 2.0, 100.0, 150), response(90.0, 2.6, 100.0, 200))
    direct = sum(np.convolve(row, kernel)[:300] for row, kernel in zip(pulses, kernels, strict=True))
    assert np.allclose(answer(pulses, kernels), direct, atol=1e-10)


@pytest.mark.parametrize("mean", [1.0, 3.0, 9.0, 15.0])
def test_delay_kernel_has_the_mean_asked_for(mean):
    """The weights are a distribution whose mean is the lag, within 0.1 min, and not that of a plain shift."""
    kernel = delay_kernel(mean)
    minutes = np.arange(kernel.size)
    middle = (kernel * minutes).sum()
    assert kernel.sum() == pytest.approx(1.0)
    assert (kernel >= 0).all()
    assert middle == pytest.approx(mean, abs=0.1)
    if mean >= 3:
        assert np.sqrt((kernel * (minutes - middle) ** 2).sum()) > 0.35 * mean


def test_the_delay_is_no_first_order_lag():
    """Its weights rise before they fall; those of a first-order lag fall from the start."""
    kernel = delay_kernel(9.0)
    assert int(np.argmax(kernel)) >= 5


def test_delayed_keeps_a_constant_and_shifts_a_ramp():
    """A constant stays, a ramp comes later by the mean lag."""
    assert np.allclose(delayed(np.full(100, 120.0), 9.0), 120.0)
    ramp = np.arange(500.0)
    assert (ramp - delayed(ramp, 9.0))[200:] == pytest.approx(9.0, abs=0.1)


def test_no_delay_changes_nothing():
    """A lag of 0 gives the series itself."""
    series = np.arange(5.0)
    assert delayed(series, 0.0) is series


@given(st.integers(-50, 150), st.integers(1, 40), st.integers(1, 40), st.integers(1, 40), st.floats(-50, 50))
def test_a_trapezoid_stays_between_nothing_and_its_height(foot, rise, flat, fall, height):
    """Law: inside the grid it is the broken line through its corners, wherever it is cut off."""
    corners = np.array([[foot, foot + rise, foot + rise + flat, foot + rise + flat + fall]])
    drawn = trapezoids(100, corners, np.array([height]))
    assert drawn.shape == (100,)
    assert (np.abs(drawn) <= abs(height) + 1e-12).all()
    assert np.allclose(drawn, height * np.interp(np.arange(100), corners[0], [0, 1, 1, 0], left=0, right=0))


@given(st.lists(st.floats(-500, 1500), min_size=1, max_size=20))
def test_soft_bounds_hold_and_keep_order(values):
    """Law: nothing passes the bounds, and what was larger is not smaller afterwards."""
    ordered = np.sort(np.array(values))
    bent = soft_between(ordered, 42.0, 372.0, (7.0, 38.0))
    assert (bent <= 372.0).all()
    assert (bent >= 41.9).all()
    assert (np.diff(bent) >= -1e-9).all()


def test_soft_bounds_leave_the_middle_alone():
    """Around 120 mg/dL the bend is under 0.1."""
    assert abs(float(soft_between(np.array([120.0]), 42.0, 372.0, (7.0, 38.0))[0]) - 120.0) < 0.1
