"""Strays from the reconstruction: dated to the reading, ended as they ended, and what held beside them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compare.making import MIDNIGHT
from tests.compare.paths import STEP, doubtful, exact, layout_of, own

from evenhand.compare.strayed import HELD_LEAST, LEAST, strayed

N = 288
BLOOD = np.full(N, 120.0)


def at(place: int) -> int:
    return MIDNIGHT + STEP * place


def shown(*stretches: tuple[int, int, float]) -> np.ndarray:
    """Readings equal to blood, but for stretches of places that read so much more."""
    values = BLOOD.copy()
    for first, after, by in stretches:
        values[first:after] += by
    return values


def test_one_stray_dated_to_the_reading() -> None:
    """Out from reading 50 to 79, back at 80: so it is told, with size, largest error, chance, ending."""
    values = shown((50, 80, 48.0))
    values[60] += 10.0
    (stray,), line = strayed(layout_of(N), own(values), exact(BLOOD), 20.0)
    assert (stray.start, stray.end) == (at(50), at(80))
    assert stray.size == pytest.approx(48.0 + 10.0 / 30)
    assert stray.largest == pytest.approx(58.0)
    assert stray.ending == "alone"
    assert stray.chance == 1.0
    assert [(part.state, part.start, part.end) for part in line] == [
        ("held", at(0), at(50)),
        ("strayed", at(50), at(80)),
        ("held", at(80), at(N - 1)),
    ]


def test_reading_too_low_is_a_stray_with_its_sign() -> None:
    """The size keeps its sign, the largest error is the largest in size."""
    values = shown((50, 80, -30.0))
    values[70] -= 20.0
    (stray,), _ = strayed(layout_of(N), own(values), exact(BLOOD), 20.0)
    assert stray.size < -30.0
    assert stray.largest == pytest.approx(-50.0)


def test_a_few_minutes_are_no_stray() -> None:
    """Shorter than 20 min from its first reading to its last: not told; exactly 20: told."""
    short, _ = strayed(layout_of(N), own(shown((50, 54, 60.0))), exact(BLOOD), 20.0)
    enough, _ = strayed(layout_of(N), own(shown((50, 55, 60.0))), exact(BLOOD), 20.0)
    assert short == ()
    assert len(enough) == 1
    assert LEAST == 4 * STEP


def test_to_the_end_of_the_wear() -> None:
    """Out until the last reading: it ended with the wear and has no end of its own."""
    (stray,), _ = strayed(layout_of(N), own(shown((250, N, 60.0))), exact(BLOOD), 20.0)
    assert stray.end is None
    assert stray.ending == "wear"


def test_after_a_calibration() -> None:
    """A calibration within the stray is what ended it."""
    layout = layout_of(N, calibrated=(at(78),))
    (stray,), _ = strayed(layout, own(shown((50, 80, 60.0))), exact(BLOOD), 20.0)
    assert stray.ending == "calibration"
    (other,), _ = strayed(layout, own(shown((100, 120, 60.0))), exact(BLOOD), 20.0)
    assert other.ending == "alone"


def test_a_gap_ends_a_stretch() -> None:
    """Silence of over half an hour parts two strays, and the first ends at its last reading."""
    values = shown((50, 100, 60.0))
    keep = np.ones(N, np.bool_)
    keep[70:85] = False
    part = own(values)
    cut = type(part)(*(getattr(part, name)[keep] for name in ("at", "mg_dl", "wear", "night", "age", "left")))
    strays, line = strayed(layout_of(N), cut, exact(BLOOD), 20.0)
    assert [(one.start, one.end) for one in strays] == [(at(50), at(69)), (at(85), at(100))]
    assert not any(part.start < at(75) < part.end for part in line)


def test_doubt_leaves_a_stretch_unproven() -> None:
    """Where blood is not known well enough, nothing is said either way: not held, not strayed."""
    strays, line = strayed(layout_of(N), own(BLOOD + 15.0), doubtful(BLOOD, 0.12), 20.0)
    assert strays == ()
    assert {part.state for part in line} == {"unproven"}


def test_doubt_lowers_the_chance() -> None:
    """The chance is the share of draws in which most of the stretch was out."""
    (sure,), _ = strayed(layout_of(N), own(shown((50, 80, 60.0))), doubtful(BLOOD, 0.03), 20.0)
    (less,), _ = strayed(layout_of(N), own(shown((50, 80, 44.0))), doubtful(BLOOD, 0.1), 20.0)
    assert sure.chance > 0.99
    assert 0.8 < less.chance < 0.99


def test_a_short_calm_is_unproven() -> None:
    """Inside tolerance for less than half an hour between two strays proves nothing."""
    values = shown((50, 80, 60.0), (84, 110, 60.0))
    strays, line = strayed(layout_of(N), own(values), exact(BLOOD), 20.0)
    assert len(strays) == 2
    assert [part.state for part in line] == ["held", "strayed", "unproven", "strayed", "held"]
    assert HELD_LEAST > 3 * STEP


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 280), st.integers(1, 60), st.floats(-70, 70)), max_size=5),
    st.integers(0, 9),
)
def test_the_time_line_has_no_hole_and_no_overlap(stretches: list[tuple[int, int, float]], seed: int) -> None:
    """Whatever happened: the line runs from the first reading to the last, each stretch beginning where the one before
    it ended, no two neighbours alike; and every stray is a strayed stretch of it."""
    values = shown(*((first, min(first + long, N), by) for first, long, by in stretches))
    strays, line = strayed(layout_of(N), own(values), doubtful(BLOOD, 0.03, seed=seed, draws=50), 20.0)
    assert line[0].start == at(0)
    assert line[-1].end == at(N - 1)
    for one, other in pairwise(line):
        assert one.end == other.start
        assert one.state != other.state
    told = [(part.start, part.end) for part in line if part.state == "strayed"]
    assert [one.start for one in strays] == [start for start, _ in told]
    assert all(0.0 <= one.chance <= 1.0 for one in strays)


def test_two_wears_are_never_one_stretch() -> None:
    """The wear that a reading belongs to cuts the line."""
    layout = layout_of(N)
    two = type(layout)((layout.worn[0], layout.worn[0]), None, None, 300.0)
    wear = np.where(np.arange(N) < 144, 0, 1)
    strays, line = strayed(two, own(shown((140, 150, 60.0)), wear=wear), exact(BLOOD), 20.0)
    assert [one.start for one in strays] == [at(144)]
    assert line[-1].end == at(N - 1)
    assert any(part.start == at(144) for part in line)
