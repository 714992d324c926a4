"""Blood's rows against the process they stand for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenhand.reconstruct.blood import RETURN, START, blood_model, places, precision, windows
from evenhand.reconstruct.grid import STEP, Grid

VALUE = np.array([8.0, 0.05, 0.007, 25.0, 20.0])


def test_the_innovation_scale_makes_the_velocity_what_it_says() -> None:
    """With no return to the middle, differences of blood have SD sigma_v h: an AR(2) with poles p2, p3 and variance
    from Yule and Walker's equations (here summed from its impulse response)."""
    model = blood_model(VALUE)
    p2, p3 = np.exp(-STEP / VALUE[3]), np.exp(-STEP / VALUE[4])
    answer = [1.0, p2 + p3]
    for _ in range(400):
        answer.append((p2 + p3) * answer[-1] - p2 * p3 * answer[-2])
    sd = model.scale * np.sqrt(np.sum(np.square(answer)))
    assert sd == pytest.approx(VALUE[2] * STEP, rel=1e-9)


def test_rows_annihilate_what_the_poles_let_through() -> None:
    """Fluid that follows exp decays at a pole leaves no innovation."""
    model = blood_model(VALUE)
    for memory in (RETURN, VALUE[3], VALUE[4], VALUE[0]):
        fluid = np.exp(-STEP * np.arange(40) / memory)
        np.testing.assert_allclose(model.by @ windows(fluid), 0.0, atol=1e-9)


@settings(max_examples=30)
@given(st.floats(3.0, 30.0), st.floats(5.0, 80.0), st.floats(5.0, 80.0))
def test_derivatives(tau: float, tau_v: float, tau_a: float) -> None:
    """Analytic derivatives by the logarithms of lag and memories agree with central differences."""
    value = np.array([tau, 0.05, 0.007, tau_v, tau_a])
    model = blood_model(value)
    step = 1e-5
    for place, by in ((0, model.by_tau), (3, model.by_v), (4, model.by_a)):
        up, down = value.copy(), value.copy()
        up[place] *= np.exp(step)
        down[place] *= np.exp(-step)
        after, before = blood_model(up), blood_model(down)
        np.testing.assert_allclose(by, (after.by - before.by) / (2 * step), rtol=1e-5, atol=1e-7)
        if place == 3:
            assert model.scale_v == pytest.approx(np.log(after.scale / before.scale) / (2 * step), rel=1e-5)
        if place == 4:
            assert model.scale_a == pytest.approx(np.log(after.scale / before.scale) / (2 * step), rel=1e-5)
        if place == 0:
            np.testing.assert_allclose(
                model.start_tau, (after.start - before.start) / (2 * step), rtol=1e-5, atol=1e-7
            )
            assert -model.jacobian_tau == pytest.approx(
                (after.log_step - before.log_step) / (2 * step), rel=1e-5
            )


def test_the_band_is_the_sum_of_outer_products() -> None:
    """Precision assembled by diagonals equals the rows' outer products."""
    model, size = blood_model(VALUE), 12
    dense = np.zeros((size, size))
    for k in range(size - 4):
        row = np.zeros(size)
        row[k : k + 5] = model.by / model.scale
        dense += np.outer(row, row)
    start = np.zeros((4, size))
    start[:, :4] = model.start / START[:, None]
    dense += start.T @ start
    band = precision(model, size)
    for e in range(5):
        np.testing.assert_allclose(band[: size - e, e], np.diag(dense, -e))


@pytest.mark.parametrize("sensors", [1, 2, 3])
def test_every_unknown_has_its_own_place(sensors: int) -> None:
    """Fluid, fast errors and slow offsets fill the order of the matrix exactly once."""
    grid = Grid.over(0.0, 6000.0, sensors)
    own = np.arange(sensors)[:, None]
    every = np.concatenate(
        (
            grid.fluid(np.arange(grid.size)),
            grid.fast(own, np.arange(grid.knots)).ravel(),
            grid.slow(own, np.arange(grid.cells)).ravel(),
        )
    )
    assert np.array_equal(np.sort(every), np.arange(grid.unknowns))
    first, apart = places(grid)
    assert (first[:-4] + apart[:-4])[:, 4].tolist() == grid.fluid(np.arange(4, grid.size)).tolist()
