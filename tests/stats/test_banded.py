"""The banded factor against dense linear algebra."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.banded import NotPositive, factor


def dense_and_band(order: int, half: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """A positive definite band matrix, dense and as kept."""
    rng = np.random.default_rng(seed)
    root = np.zeros((order, order))
    for e in range(min(half, order - 1) + 1):
        root += np.diag(rng.normal(size=order - e), -e)
    dense = root @ root.T + 0.2 * np.eye(order)
    band = np.full((order, half + 1), np.nan)
    for e in range(half + 1):
        band[: max(order - e, 0), e] = np.diag(dense, -e) if e < order else []
    return dense, np.nan_to_num(band, nan=99.0)


@given(st.integers(1, 40), st.integers(0, 9), st.integers(0, 10**6))
def test_solves_and_inverts_like_dense_algebra(order: int, half: int, seed: int) -> None:
    """Determinant, solution, the inverse inside the band and the root agree with numpy for every size, also where
    the order is no multiple of the half width and where the band is wider than the matrix."""
    dense, band = dense_and_band(order, half, seed)
    done, inverse = factor(band), np.linalg.inv(dense)
    assert done.log_determinant == pytest.approx(np.linalg.slogdet(dense)[1], rel=1e-9, abs=1e-9)
    right = np.random.default_rng(seed).normal(size=(order, 3))
    np.testing.assert_allclose(done.solve(right), inverse @ right, rtol=1e-7, atol=1e-8)
    root = done.spread(np.eye(order))
    np.testing.assert_allclose(root @ root.T, inverse, rtol=1e-7, atol=1e-8)
    found = done.inverse()
    assert found.shape == band.shape
    for e in range(min(half, order - 1) + 1):
        np.testing.assert_allclose(found[: order - e, e], np.diag(inverse, -e), rtol=1e-7, atol=1e-8)


def test_input_is_left_alone() -> None:
    """Factoring does not write into the matrix it was given."""
    _, band = dense_and_band(12, 3, 1)
    before = band.copy()
    factor(band).inverse()
    np.testing.assert_array_equal(band, before)


def test_a_matrix_that_is_not_positive_is_refused() -> None:
    """The leading minor that fails is named."""
    with pytest.raises(NotPositive, match="leading minor 2 of 2"):
        factor(np.array([[1.0, 2.0], [1.0, 0.0]]))


def test_draws_have_the_covariance_of_the_inverse() -> None:
    """Spread standard normals scatter as P^-1 says (20,000 draws, five Monte Carlo errors)."""
    dense, band = dense_and_band(9, 2, 5)
    draws = factor(band).spread(np.random.default_rng(0).standard_normal((9, 20_000)))
    inverse = np.linalg.inv(dense)
    error = np.sqrt((np.outer(np.diag(inverse), np.diag(inverse)) + inverse**2) / 20_000)
    assert (np.abs(np.cov(draws) - inverse) < 5 * error).all()
