"""Eligible minutes by day in wear, and the dispersion of visits over them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from tests.stats.test_visits import DAY, HOUR, found_of, invented

from evenhand.stats.cells import Cells


def test_phi_tells_alike_from_random_from_lumpy():
    """Rare sticks at random moments give a dispersion near 1 in the mean, many near half of it (those under 45 min
    apart are one visit, which evens the counts), one a slot nearly 0, lumps far more."""
    rare = np.mean([found_of(*invented(seed, days=40, per_day=1)).phi for seed in range(60)])
    many = np.mean([found_of(*invented(seed)).phi for seed in range(60)])
    assert rare == pytest.approx(0.95, abs=0.06)
    assert many == pytest.approx(0.64, abs=0.06)
    y, _, _, _, cells = invented(1)
    even = np.repeat(np.arange(20), 7)
    slots = even * DAY + np.tile(np.arange(7), 20) * 3 * HOUR
    assert found_of(y, even // 10, even, slots, cells).phi == 0.0
    lumpy = np.sort(np.random.default_rng(5).choice([0, 1, 2, 9, 10, 11, 12, 19], 140))
    spread = lumpy * DAY + np.random.default_rng(6).integers(0, 1440, 140) * 60
    assert found_of(y, lumpy // 10, lumpy, spread, cells).phi > 3


def test_cells_in_pieces():
    """Cells given in several rows add up; rows of no minutes are no cells."""
    y, wear, day, at, cells = invented(10)
    pieces = [(label, date, 720.0) for label, date, _ in cells for _ in range(2)] + [(0, 500, 0.0)]
    assert found_of(y, wear, day, at, pieces).variance == found_of(y, wear, day, at, cells).variance


def test_one_cell_a_wear():
    """A day pricked outside every cell cannot make phi divide by zero."""
    at = np.array([0, 2, 4, 24, 26, 30]) * HOUR
    assert found_of(np.arange(6), [0] * 6, at // DAY, at, [(0, 0, 900.0)]).phi == 1.0


@given(arrays(np.int64, st.integers(0, 30), elements=st.integers(0, 3)), st.integers(0, 9))
def test_cells_count_minutes(wear, seed):
    """Counting minutes by day in wear loses none."""
    day = np.random.default_rng(seed).integers(-2, 3, wear.size)
    found = Cells.count(wear, day)
    rows = dict(zip(zip(found.wear.tolist(), found.day.tolist(), strict=True), found.minutes, strict=True))
    assert len(rows) == found.wear.size
    assert found.minutes.sum() == wear.size
    for label, date in zip(wear.tolist(), day.tolist(), strict=True):
        assert rows[(label, date)] == ((wear == label) & (day == date)).sum()


def test_moments_go_with_their_cell():
    """Times given with the minutes come back by day in wear, sorted, also from some of the rows; none where unknown."""
    rng = np.random.default_rng(3)
    wear, day, at = rng.integers(0, 3, 200), rng.integers(5, 9, 200), rng.permutation(200) * 60
    found = Cells.count(wear, day, at)
    some = found.pick(found.wear == 1)
    assert some.minutes.sum() == (wear == 1).sum()
    for cells in (found, some):
        for label, date, moments in zip(
            cells.wear, cells.day, cells.moments(cells.wear, cells.day), strict=True
        ):
            assert moments.tolist() == sorted(at[(wear == label) & (day == date)].tolist())
    strange = np.array([1, 7]), np.array([4, 5])
    assert list(found.moments(*strange)) == [None, None]
    assert list(Cells.count(wear, day).moments(*strange)) == [None, None]
    assert Cells.count(wear, day).pick(found.wear == 0).at is None
