"""The exact gradient against central differences, and its parts."""

from __future__ import annotations

import numpy as np
import pytest
from tests.reconstruct.shared import small_problem, some_parameters

from evenhand.reconstruct.gradient import expected_fluid, gradient, scores
from evenhand.reconstruct.grid import Blocks
from evenhand.reconstruct.model import solve


@pytest.mark.parametrize(
    ("sensors", "interval", "calibrated"), [(1, 5, False), (2, 5, True), (3, 15, False), (2, 1, False)]
)
def test_gradient_is_that_of_the_log_posterior(sensors: int, interval: int, calibrated: bool) -> None:
    """Every component agrees with central differences of the log posterior to their own error."""
    problem = small_problem(sensors, interval, calibrated)
    u = some_parameters(problem, 4)
    exact = gradient(solve(problem, u))
    step = 1e-4
    differences = [
        (solve(problem, u + step * way).log_posterior - solve(problem, u - step * way).log_posterior)
        / (2 * step)
        for way in np.eye(u.size)
    ]
    np.testing.assert_allclose(
        exact, differences, atol=2e-4 * max(1.0, np.abs(exact).max()) ** 0.5, rtol=1e-5
    )


def test_scores_of_days_add_up() -> None:
    """Cut into days, the gradient of the log likelihood adds up to the whole one."""
    problem = small_problem()
    solved = solve(problem, some_parameters(problem))
    days = scores(solved, Blocks.days(problem.grid))
    assert days.shape == (2, problem.priors.size)
    np.testing.assert_allclose(days.sum(axis=0) - solved.u, gradient(solved), rtol=1e-9, atol=1e-7)


def test_common_delay_is_not_asked_of_the_data() -> None:
    """Delays count only between sensors: their likelihood scores add up to nothing."""
    problem = small_problem(3)
    solved = solve(problem, some_parameters(problem))
    delays = scores(solved, Blocks.whole(problem.grid))[0][problem.priors.own(4)]
    assert abs(delays.sum()) < 1e-8 * np.abs(delays).max()


def test_expected_squares_exceed_squares_of_the_mean() -> None:
    """E[i^2] is the mean's square plus a variance."""
    problem = small_problem()
    solved = solve(problem, np.zeros(problem.priors.size))
    fluid = solved.mean[problem.grid.fluid(np.arange(problem.grid.size))]
    assert (expected_fluid(solved)[0] > fluid**2).all()
