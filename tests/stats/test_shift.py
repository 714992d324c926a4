"""The best shift: slow twin, known shifts, missing points, offsets and gains, and what cannot be told."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.shift import best_shift, vertex


def walk(seed, n=600):
    """A smooth wandering series."""
    rng = np.random.default_rng(seed)
    return np.convolve(rng.normal(0, 1, n + 40), np.hanning(41), "valid")[:n]


def test_profile_against_numpys_correlation():
    """At every shift the profile is numpy's correlation of the points both have."""
    rng = np.random.default_rng(1)
    a, b = walk(1), walk(2)
    a[rng.random(600) < 0.2] = np.nan
    found = best_shift(a, b, 12)
    for k, r, n in zip(found.shifts, found.profile, found.points, strict=True):
        pairs = [(a[i], b[i + k]) for i in range(600) if 0 <= i + k < 600 and np.isfinite(a[i] + b[i + k])]
        assert n == len(pairs)
        assert r == pytest.approx(np.corrcoef(np.array(pairs).T)[0, 1], abs=1e-10)


@given(st.integers(-9, 9), st.floats(0.2, 5), st.floats(-300, 300))
def test_whole_shifts_come_back(k, gain, offset):
    """A copy moved by k steps is found there, whatever gain and offset it has: k positive means it trails."""
    s = walk(3, 660)
    first, second = s[30:630], offset + gain * s[30 - k : 630 - k]
    assert best_shift(first, second, 15).best == pytest.approx(k, abs=0.05)


@pytest.mark.parametrize("k", [0.3, 1.5, 2.75, -3.4])
def test_shifts_between_steps(k):
    """A shift between steps is found to a tenth of a step, through the parabola."""
    t = np.arange(800.0)

    def wave(x):
        return np.sin(x / 20) + 0.6 * np.sin(x / 7.3 + 1) + 0.4 * np.cos(x / 51)

    assert best_shift(wave(t), wave(t - k), 10).best == pytest.approx(k, abs=0.1)


def test_gaps_and_noise():
    """A third of the points missing and noise on both: still within half a step."""
    rng = np.random.default_rng(4)
    s = walk(5, 1020)
    a, b = (x + rng.normal(0, 0.1 * s.std(), 1000) for x in (s[10:1010], s[6:1006]))
    a[rng.random(1000) < 0.33] = np.nan
    b[400:500] = np.nan
    assert best_shift(a, b, 20).best == pytest.approx(4, abs=0.5)


def test_the_other_way_round():
    """Swapping the series turns the sign."""
    s = walk(6)
    a, b = s[5:], s[:-5]
    assert best_shift(a, b, 9).best == pytest.approx(-best_shift(b, a, 9).best, abs=1e-9)


def test_what_cannot_be_told():
    """Too few points, a series that does not move, a best at the edge: no shift, and the reason."""
    s = walk(7)
    few = best_shift(s[:20], s[:20], 3)
    assert (few.best, few.why) == (None, "too-few")
    flat = best_shift(s, np.full(600, 100.1), 3)
    assert (flat.best, flat.why) == (None, "no-spread")
    edge = best_shift(s[12:], s[:-12], 5)
    assert (edge.best, edge.why) == (None, "at-the-edge")
    assert best_shift([], [], 2).why == "too-few"
    assert best_shift(np.full(50, np.nan), np.full(50, np.nan), 2).why == "too-few"


def test_unequal_lengths_are_refused():
    """Series of different length are on no common grid."""
    with pytest.raises(ValueError, match="differ in length"):
        best_shift([1.0], [1.0, 2.0], 1)


@given(st.floats(-0.49, 0.49), st.floats(0.1, 10))
def test_vertex_of_a_parabola(top, bend):
    """On a true parabola the vertex is exact."""
    x = np.arange(-3.0, 4.0)
    place, why = vertex(x, -bend * (x - top) ** 2)
    assert why is None
    assert place == pytest.approx(top, abs=1e-9)


def test_vertex_beside_a_hole():
    """A NaN beside the highest point leaves no parabola; a plateau of three gives its middle."""
    assert vertex([0, 1, 2, 3], [np.nan, 5.0, 1.0, 0.0]) == (None, "at-the-edge")
    assert vertex([0.0, 1, 2, 3, 4], [0.0, 1, 1, 1, 0])[0] == pytest.approx(1.5)
