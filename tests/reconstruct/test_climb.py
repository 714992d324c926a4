"""The climb to the top of the posterior, and the curvature there."""

from __future__ import annotations

import numpy as np
from tests.reconstruct.shared import reconstructed, small_problem

from evenhand.reconstruct.climb import climb
from evenhand.reconstruct.fit import fit
from evenhand.reconstruct.gradient import gradient
from evenhand.reconstruct.laplace import curvature, settled
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.priors import FARTHEST, SIGMA_V, TAU


def test_a_climb_rises_and_ends_where_it_is_flat() -> None:
    """The posterior is higher than at the start, and small steps in any direction gain nothing to speak of."""
    problem = small_problem()
    found = fit(problem, None, lambda _share: None)
    top = found.solved
    assert found.converged
    assert top.log_posterior > solve(problem, np.zeros(top.u.size)).log_posterior + 50
    for way in np.eye(top.u.size)[::3]:
        for side in (-0.3, 0.3):
            assert solve(top.problem, top.u + side * way).log_posterior < top.log_posterior + 0.1


def test_only_the_free_parameters_move() -> None:
    """Held ones stay where they were."""
    problem = small_problem()
    start = np.zeros(problem.priors.size)
    free = np.zeros(start.size, np.bool_)
    free[SIGMA_V] = True
    found = climb(problem, start, 0.01 * np.eye(start.size), (0.1, 10), free)
    moved = np.flatnonzero(found.solved.u != 0.0)
    assert moved.tolist() == [SIGMA_V]
    assert found.reached


def test_no_parameter_leaves_its_bounds() -> None:
    """A start at the bound stays within."""
    problem = small_problem()
    start = np.zeros(problem.priors.size)
    start[TAU] = -FARTHEST
    found = climb(problem, start, 10.0 * np.eye(start.size), (0.5, 6))
    assert np.abs(found.solved.u).max() <= FARTHEST


def test_curvature_is_that_of_the_gradient() -> None:
    """The inverse of its covariance agrees with small central differences of the gradient, loosely: it is taken over
    0.3 SD on purpose."""
    fitted = reconstructed().fit
    bent = curvature(fitted, lambda _share: None)
    top = fitted.solved
    step = 1e-3
    hessian = np.array(
        [
            (
                gradient(solve(top.problem, top.u - step * way))
                - gradient(solve(top.problem, top.u + step * way))
            )
            / (2 * step)
            for way in np.eye(top.u.size)
        ]
    )
    values = np.linalg.eigvalsh(0.5 * (hessian + hessian.T))
    if values[0] > 1.0:
        sd = np.sqrt(np.diag(np.linalg.inv(hessian)))
        np.testing.assert_allclose(np.sqrt(np.diag(bent.inverse)), sd, rtol=0.25)
    assert bent.least > 0.4
    np.testing.assert_allclose(bent.sd, np.sqrt(np.diag(bent.root @ bent.root.T)), rtol=1e-9)


def test_settled_keeps_a_top_that_is_one() -> None:
    """A fit whose curvature is sound is handed back as it was."""
    fitted = reconstructed().fit
    again, bent = settled(fitted, lambda _share: None)
    assert again is fitted
    assert bent.least >= 0.5
