"""Round ticks."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from evenhand.charts import scale


@given(st.floats(0.01, 1000), st.integers(2, 8))
def test_ticks_are_round_few_and_inside(reach: float, most: int):
    """From zero, evenly spaced by 1, 2 or 5 times a power of ten, at most `most` above zero, none beyond."""
    ticks = scale.ticks(reach, most)
    assert ticks[0] == 0
    assert len(ticks) <= most + 1
    assert ticks[-1] <= reach * (1 + 1e-6)
    width = scale.step(reach, most)
    assert f"{width:e}"[0] in "125"


def test_labels_have_no_sign_and_no_spare_zero():
    """The side says the sign."""
    assert [scale.label(value) for value in (-0.5, 0.0, 10.0)] == ["0.5", "0", "10"]
