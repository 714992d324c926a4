"""How data depend on the unknowns."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reconstruct.shared import small_problem

from evenhand.reconstruct.grid import STEP, Grid
from evenhand.reconstruct.rows import blood_rows, centre_of_step, pairs_of, reading_rows

GRID = Grid(0.0, 60, 2)


@given(st.floats(0.5, 60.0), st.floats(20.0, 200.0))
def test_blood_at_rest_and_rising_is_told_exactly(tau: float, at: float) -> None:
    """Fluid at rest means blood at the same level; fluid that follows a straight line of blood at the lag tau gives
    that line back: with blood b = t, first-order fluid is i = t - tau."""
    place, by, _ = blood_rows(np.array([at]), tau, GRID)
    assert by.sum() == pytest.approx(1.0)
    fluid = np.zeros(GRID.unknowns)
    steps = np.arange(GRID.size)
    fluid[GRID.fluid(steps)] = STEP * steps - tau
    assert float((by[:, 0] * fluid[place[:, 0]]).sum()) == pytest.approx(at, abs=1e-6 * at * max(tau, 1.0))


@given(st.floats(1.0, 40.0))
def test_derivatives_by_the_lag(tau: float) -> None:
    """Derivatives of the coefficients agree with central differences, away from the kinks between steps."""
    at = np.array([61.3, 84.9])
    step = 1e-5 * tau
    place, _, by_tau = blood_rows(at, tau, GRID)
    after, before = blood_rows(at, tau + step, GRID), blood_rows(at, tau - step, GRID)
    if (after[0] == before[0]).all():
        np.testing.assert_allclose(by_tau, (after[1] - before[1]) / (2 * step), rtol=1e-4, atol=1e-7)
        assert (place == after[0]).all()
    slope = (centre_of_step(tau + step)[0] - centre_of_step(tau - step)[0]) / (2 * step)
    assert centre_of_step(tau)[1] == pytest.approx(slope, rel=1e-4, abs=1e-6)


def test_centre_of_a_step_tends_to_its_middle() -> None:
    """A slow fluid answers to the middle of a step, a fast one to its end."""
    assert centre_of_step(1e4)[0] == pytest.approx(2.5, abs=1e-3)
    assert centre_of_step(0.2)[0] == pytest.approx(0.2, abs=1e-6)


def test_readings_take_weights_that_add_up() -> None:
    """Weights of fluid add up to the gain, of the fast error and of the slow offset to one; nothing jumps as a delay
    moves a reading across a grid point."""
    problem = small_problem()
    priors = problem.priors
    u = np.zeros(priors.size)
    rows = reading_rows(problem, priors.value(u)).rows
    np.testing.assert_allclose(rows.by[:3].sum(axis=0), 1.0)
    np.testing.assert_allclose(rows.by[3:5].sum(axis=0), 1.0)
    np.testing.assert_allclose(rows.by[5], 1.0)
    smooth = np.sin(np.arange(problem.grid.unknowns) / 40.0)
    told = []
    for delay in np.linspace(-1.5, 1.5, 241):
        u[priors.own(4)[0]] = delay
        moved = reading_rows(problem, priors.value(u))
        told.append([(moved.rows.by[:3, r] * smooth[moved.rows.place[:3, r]]).sum() for r in (10, 50, 90)])
    second = np.diff(np.array(told), 2, axis=0)
    assert np.abs(second).max() < 2e-5


def test_pairs_count_every_product_once() -> None:
    """The sum over pairs is the square of the row's sum, also where two coefficients meet in one unknown."""
    rows = reading_rows(
        small_problem(), small_problem().priors.value(np.zeros(small_problem().priors.size))
    ).rows
    pairs = pairs_of(rows)
    doubled = np.where(pairs.apart > 0, 2.0, pairs.twice)
    square = (doubled * rows.by[pairs.first] * rows.by[pairs.second]).sum(axis=0)
    np.testing.assert_allclose(square, rows.by.sum(axis=0) ** 2)
