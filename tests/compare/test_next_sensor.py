"""From common pairs to log ratios by stretch."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.compare.making import sensor, trial, usual

from evenhand.compare.common import Terms, primary
from evenhand.compare.layout import lay_out
from evenhand.compare.next_sensor import stretches
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import World
from evenhand.stats.decision import Confidence

TERMS = Terms(steady=True, margin=3.0, tolerance=20, scatter=5.0, levels=Confidence())


def test_one_ratio_for_each_stretch():
    """Two stretches of two wears: each ratio is that of its own MADs, each wear stands once."""
    layout = lay_out(usual())
    pairs = primary(layout, (0, 1), TERMS)
    found = stretches(pairs)
    labels = np.unique(pairs.stretch)
    by_hand = [
        math.log(
            np.abs(pairs.error_a[pairs.stretch == label]).mean()
            / np.abs(pairs.error_b[pairs.stretch == label]).mean()
        )
        for label in labels
    ]
    assert found.y == pytest.approx(by_hand)
    assert found.least_wears == 2
    assert [layout.worn[wear].sensor for wear in (*found.a, *found.b)] == [0, 0, 1, 1]


def test_error_is_that_of_a_ratio_of_means():
    """The SE is near the delta method's for independent sticks, and shrinks as sticks are added."""
    few, many = (
        stretches(primary(lay_out(usual(per_day=per_day, seed=9)), (0, 1), TERMS)) for per_day in (4, 24)
    )
    assert (few.s > 0).all()
    assert many.s.mean() < few.s.mean()
    layout = lay_out(usual(per_day=24, seed=9))
    pairs = primary(layout, (0, 1), TERMS)
    held = pairs.stretch == pairs.stretch[0]
    a, b = np.abs(pairs.error_a[held]), np.abs(pairs.error_b[held])
    independent = (a / a.mean() - b / b.mean()).std(ddof=1) / math.sqrt(held.sum())
    assert many.s[0] == pytest.approx(independent, rel=0.5)


def test_swapping_turns_the_ratio():
    """b over a is the inverse of a over b, with the same error."""
    layout = lay_out(usual())
    one = stretches(primary(layout, (0, 1), TERMS))
    other = stretches(primary(layout, (1, 0), TERMS))
    assert sorted(one.y) == pytest.approx(sorted(-other.y))
    assert sorted(one.s) == pytest.approx(sorted(other.s))


def test_staggered_wears_share():
    """Wears that start on other days meet more than one partner: a wear then stands in two stretches."""
    made = invent(World(days=30, wears=3), 2).trial
    found = stretches(primary(lay_out(made), (0, 1), TERMS))
    assert found.least_wears <= found.y.size
    assert np.isfinite(found.y).all()
    assert np.isfinite(found.s).all()


def test_no_pairs_no_ratio():
    """Without pairs there is no stretch."""
    found = stretches(primary(lay_out(trial([sensor("Fern"), sensor("Slate", 1)])), (0, 1), TERMS))
    assert found.y.size == found.least_wears == 0
