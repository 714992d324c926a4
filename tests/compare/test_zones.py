"""The consensus grid: a slow twin by polygons, the border rule, counting."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.compare.zones import LOWER, UPPER, count_zones, zone


def above(line, x, y):
    """Whether a point lies strictly above a border, by the side of the segment (or its continuation) it stands over."""
    for (x0, y0), (x1, y1) in itertools.pairwise(line):
        if x <= x1 or (x1, y1) == line[-1]:
            return (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) > 0
    raise AssertionError


def slow(x, y):
    """The zone of one point: the borders above it and those below it, counted one by one."""
    up = sum(above(line, x, y) for line in UPPER)
    down = 0
    for line in LOWER:
        if x > line[0][0]:
            mirrored = tuple((a, -b) for a, b in line)
            down += above(mirrored, x, -y)
    return max(up, down)


@given(st.integers(1, 600), st.integers(1, 600))
def test_against_its_slow_twin(stick, reading):
    """Any whole stick and reading: the same zone by cross products, borders included."""
    assert zone([stick], [reading]).tolist() == [slow(stick, reading)]


@given(st.floats(1, 600), st.floats(0, 300))
def test_further_off_is_never_nearer_a(stick, off):
    """At one stick, going further up, or further down, never leads to a better zone."""
    up = zone(np.full(4, stick), stick + off * np.arange(4))
    down = zone(np.full(4, stick), np.maximum(stick - off * np.arange(4), 0))
    assert np.all(np.diff(up) >= 0)
    assert np.all(np.diff(down) >= 0)


@given(st.floats(20, 600))
def test_agreement_is_a(stick):
    """A reading that equals its stick is in zone A."""
    assert zone([stick], [stick]).tolist() == [0]


def test_a_point_on_a_border_is_nearer_a():
    """Every vertex lies in the zone nearer A of the two it parts."""
    for number, border in enumerate(UPPER):
        for x, y in border:
            assert zone([x], [y]).tolist() == [number], (x, y)
    for number, border in enumerate(LOWER):
        for x, y in border[1:]:
            assert zone([x], [y]).tolist() == [number], (x, y)


def test_upright_part_of_a_border():
    """Left of and on the upright at a stick of 50 a reading of 10 is in A (or beyond none); right of it in B."""
    assert zone([49.9, 50, 50.1], [10, 10, 10]).tolist() == [0, 0, 1]
    assert zone([120, 120.1], [10, 10]).tolist() == [1, 2]
    assert zone([250, 250.1], [10, 10]).tolist() == [2, 3]


def test_beyond_550():
    """Past the end of the grid the last segments run on."""
    assert zone([600, 600], [495.4, 495.5]).tolist() == [1, 0]
    assert zone([600], [600]).tolist() == [0]


def test_counts():
    """All five zones are named; a pair with a NaN is not counted; none at all counts none."""
    found = count_zones([100, 100, 100, 30, math.nan], [100, 170, 400, 300, 100])
    assert found == {"A": 1, "B": 1, "C": 0, "D": 1, "E": 1}
    assert count_zones([], []) == dict.fromkeys("ABCDE", 0)
    assert zone([math.nan], [100.0]).tolist() == [-1]


def test_borders_do_not_cross():
    """Within the grid each border lies outside the one before it, so zones are nested."""
    for x in np.linspace(1, 550, 300):
        heights = [_height(border, x) for border in UPPER]
        assert heights == sorted(heights)
        lows = [_height(border, x) for border in LOWER if x > border[0][0]]
        assert lows == sorted(lows, reverse=True)


def _height(border, x):
    xs, ys = zip(*border, strict=True)
    end = (ys[-1] - ys[-2]) / (xs[-1] - xs[-2]) * max(x - xs[-1], 0)
    return pytest.approx(np.interp(x, xs, ys) + end).expected
