"""The fast error's rows against the process they stand for."""

from __future__ import annotations

import numpy as np
import pytest
from tests.reconstruct.shared import small_problem

from evenhand.reconstruct.fast import fast_band, fast_likelihood, fast_model, kinds
from evenhand.reconstruct.priors import FAST, MEMORY


def dense(band: np.ndarray) -> np.ndarray:
    """One sensor's precision as a full matrix."""
    found = np.zeros((band.shape[0], band.shape[0]))
    for d in range(3):
        for k in range(band.shape[0] - d):
            found[k, k + d] = found[k + d, k] = band[k, d]
    return found


def test_stationary_within_a_wear_and_fresh_at_the_next() -> None:
    """Every fast error has the SD `fast`, neighbours the correlation 2q/(1 + q^2), and wears share nothing."""
    problem = small_problem()
    value = problem.priors.value(np.full(problem.priors.size, 0.3))
    model = fast_model(problem, value)
    covariance = np.linalg.inv(dense(fast_band(problem, model)[0]))
    sd = value[problem.priors.own(FAST)][0]
    np.testing.assert_allclose(np.diag(covariance), sd**2, rtol=1e-9)
    q = np.exp(-10.0 / value[problem.priors.own(MEMORY)][0])
    assert covariance[3, 4] / sd**2 == pytest.approx(2 * q / (1 + q * q))
    start = np.flatnonzero(problem.anew[0])[1]
    assert abs(covariance[start - 1, start]) < 1e-12
    # lag two by the recursion itself
    assert covariance[3, 5] == pytest.approx(2 * q * covariance[3, 4] - q * q * sd**2)


def test_close_to_the_process_in_continuous_time() -> None:
    """A double pole in continuous time has correlation (1 + t/T) exp(-t/T) (Rasmussen and Williams, Gaussian
    Processes for Machine Learning, 4.17, Matern 3/2); on ten-minute knots the SD is the same and the correlation
    within 0.07 of it over an hour."""
    problem = small_problem()
    value = problem.priors.value(np.zeros(problem.priors.size))
    covariance = np.linalg.inv(dense(fast_band(problem, fast_model(problem, value))[0]))
    memory = value[problem.priors.own(MEMORY)][0]
    for lag in range(7):
        t = 10.0 * lag / memory
        assert covariance[5, 5 + lag] / covariance[5, 5] == pytest.approx((1 + t) * np.exp(-t), abs=0.07)


def test_likelihood_is_the_normal_density() -> None:
    """Log density from rows and from the dense precision agree."""
    problem = small_problem()
    model = fast_model(problem, problem.priors.value(np.zeros(problem.priors.size)))
    error = 0.05 * np.random.default_rng(1).standard_normal(problem.anew.shape)
    expected = 0.0
    for sensor in range(error.shape[0]):
        precision = dense(fast_band(problem, model)[sensor])
        expected += 0.5 * np.linalg.slogdet(precision)[1] - 0.5 * error[sensor] @ precision @ error[sensor]
    assert fast_likelihood(problem, model, error) == pytest.approx(expected)


def test_every_knot_is_of_one_kind() -> None:
    """First, after a first, or neither: each knot exactly once."""
    first, after, others = kinds(small_problem().anew)
    assert (first.astype(int) + after + others == 1).all()
