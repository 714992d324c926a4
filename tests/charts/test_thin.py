"""Thinning for drawing."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from evenhand.charts.thin import thin

steps = st.lists(st.tuples(st.integers(1, 40), st.floats(-500, 500)), min_size=1, max_size=120)


def series(given_steps: list[tuple[int, float]]) -> tuple[np.ndarray, np.ndarray]:
    """An ascending series from steps."""
    x = np.cumsum([step for step, _ in given_steps]).astype(float)
    return x, np.array([value for _, value in given_steps])


@given(steps, st.floats(1, 200), st.floats(5, 60))
def test_nothing_is_invented_and_extremes_stay(given_steps, column: float, gap: float):
    """Every point kept was there; in each column of each unbroken piece the lowest and highest stay."""
    x, y = series(given_steps)
    at, value = thin(x, y, column, gap)
    kept = ~np.isnan(value)
    assert set(zip(at[kept], value[kept], strict=True)) <= set(zip(x, y, strict=True))
    cell = np.floor((x - x[0]) / column)
    kept_cell = np.floor((at[kept] - x[0]) / column)
    for one in np.unique(cell):
        assert value[kept][kept_cell == one].min() == y[cell == one].min()
        assert value[kept][kept_cell == one].max() == y[cell == one].max()


@given(steps, st.floats(1, 200), st.floats(5, 60))
def test_breaks_are_exactly_the_gaps(given_steps, column: float, gap: float):
    """There is one break for each gap, and none elsewhere."""
    x, y = series(given_steps)
    _, value = thin(x, y, column, gap)
    assert np.isnan(value).sum() == (np.diff(x) > gap).sum()


def test_at_most_four_points_a_column():
    """A minute's readings over weeks become at most four points a column."""
    x = np.arange(0, 28_800, dtype=float)
    at, _ = thin(x, np.sin(x / 50), 40.0, 10.0)
    assert len(at) <= 4 * 721


def test_nothing_stays_nothing():
    """No readings, no points."""
    at, value = thin(np.empty(0), np.empty(0), 1.0, 1.0)
    assert at.size == value.size == 0
