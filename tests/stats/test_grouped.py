"""Grouped sticks: many values at once, and the parts by wear."""

import numpy as np
import pytest
from tests.stats.test_visits import cells_from, found_of, invented

from evenhand.stats.visits import group_visits


def test_many_values_at_once():
    """Columns measured together give what they give alone."""
    _, wear, day, at, cells = invented(11)
    y = np.random.default_rng(1).normal(size=(140, 5))
    grouped = group_visits(wear, day, at, cells_from(cells))
    for column, found in enumerate(grouped.means(y)):
        alone = found_of(y[:, column], wear, day, at, cells)
        assert (found.value, found.variance, found.df) == pytest.approx(
            (alone.value, alone.variance, alone.df)
        )


def test_parts_by_wear_make_the_whole():
    """Value and variance are put together from what each wear brings: W m, and W^2 [Vd + phi max(Vs - Vd, 0)]."""
    y, wear, day, at, cells = invented(21, wears=3, per_day=4)
    found = found_of(y, wear, day, at, cells)
    part = found.by_wear
    assert found.value == pytest.approx((part.weight * part.mean).sum())
    between = np.maximum(part.within_wear - part.within_days, 0)
    assert found.variance == pytest.approx((part.weight**2 * (part.within_days + found.phi * between)).sum())
    assert found.variance == pytest.approx(found.within + found.phi * found.between)
    assert (part.pairs.sum(), part.visits.sum(), part.days.sum()) == (found.n, found.visits, found.days)
    assert part.wear.tolist() == [0, 1, 2]
    assert part.weight.sum() == pytest.approx(1)


def test_no_sticks_no_columns_lost():
    """Without sticks every column gets its 'no value'."""
    none = np.empty(0, np.int64)
    found = group_visits(none, none, none, None).means(np.empty((0, 3)))
    assert [one.why for one in found] == ["no-pairs"] * 3
    assert found[0].by_wear.wear.size == 0
