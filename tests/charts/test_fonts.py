"""The face: found in its wheel, and measured."""

from __future__ import annotations

from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from evenhand.charts import fonts

words = st.text(st.sampled_from("abcdefghij "), min_size=1, max_size=80)


def test_both_weights_are_there():
    """Regular and semibold are the files of the wheel, with the weights they claim."""
    for weight, number in fonts.WEIGHTS.items():
        with TTFont(fonts.path(weight)) as font:
            assert font["OS/2"].usWeightClass == number
            assert font["name"].getDebugName(1).startswith(fonts.FAMILY)


def test_figures_are_tabular():
    """All digits have one width, so numbers stand under numbers."""
    assert len({fonts.width(digit * 20, 20) for digit in "0123456789"}) <= 2


def test_width_agrees_with_the_font_itself():
    """The width of a text without kerning pairs is the sum of its advances (read by another library)."""
    with TTFont(fonts.path("Regular")) as font:
        advances = sum(font["hmtx"][font.getBestCmap()[ord(letter)]][0] for letter in "nnnn") / 1000 * 100
    assert abs(fonts.width("nnnn", 100) - advances) < 8


@given(words, st.floats(60, 400))
def test_wrapping_loses_no_word(text: str, room: float):
    """Lines joined again are the text; no line of several words is too wide."""
    lines = fonts.wrapped(text, 13, room)
    assert " ".join(lines) == text
    assert all(
        " " not in line.strip() or fonts.width(line, 13) <= room for line in lines if len(line.split()) > 1
    )
