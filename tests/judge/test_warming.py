"""Times at which nothing guarded the wearer."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.compare.shapes import Worn
from evenhand.judge.warming import unguarded


def worn(sensor, start, usable, end):
    return Worn(sensor, 1, start, usable, end, ended=True, wear=None)


@pytest.mark.parametrize(
    ("wears", "seconds"),
    [
        ([], 0),
        ([worn(0, 0, 100, 500)], 0),
        ([worn(0, 0, 100, 500), worn(1, 0, 100, 500)], 100),
        ([worn(0, 0, 100, 500), worn(1, 50, 150, 500)], 50),
        ([worn(0, 0, 100, 500), worn(1, 100, 200, 500)], 0),
        ([worn(0, 0, 100, 500), worn(1, 0, 100, 500), worn(2, -500, -400, 50)], 50),
        ([worn(0, 0, 900, 500), worn(1, 0, 900, 500)], 500),
        ([worn(0, 0, 100, 500), worn(0, 0, 100, 500)], 0),
    ],
)
def test_by_hand(wears, seconds):
    """Only while at least two sensors warm up and none is past it; an ended wear guards nobody."""
    assert unguarded(wears) == seconds


@given(
    st.lists(
        st.tuples(st.integers(0, 2), st.integers(0, 50), st.integers(0, 20), st.integers(0, 40)), max_size=6
    )
)
def test_second_by_second(rows):
    """The same as counting second by second."""
    wears = [worn(sensor, start, start + warm, start + length) for sensor, start, warm, length in rows]
    slow = 0
    for second in range(120):
        warming = {each.sensor for each in wears if each.start <= second < min(each.usable, each.end)}
        guarded = any(each.usable <= second < each.end for each in wears)
        slow += len(warming) > 1 and not guarded
    assert unguarded(wears) == slow
