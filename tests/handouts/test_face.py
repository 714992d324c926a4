"""The font inside a page."""

from __future__ import annotations

import base64
import io
import re

from fontTools.ttLib import TTFont

from evenhand.charts import fonts
from evenhand.handouts.face import face


def cut(rules: str) -> list[TTFont]:
    """The fonts inside the rules."""
    found = re.findall(r"base64,([A-Za-z0-9+/=]+)\)", rules)
    return [TTFont(io.BytesIO(base64.b64decode(data))) for data in found]


def test_the_page_carries_both_weights_small():
    """Two weights as WOFF data, together under 80 kB, with nothing to fetch."""
    rules = face("Fern and Slate")
    assert len(rules) < 80_000
    assert "://" not in rules
    assert [font.flavor for font in cut(rules)] == ["woff", "woff"]


def test_every_character_needed_is_in_it():
    """Letters of any language the font has are kept: a sensor may be called 'Żółw'."""
    for font in cut(face("Żółw −3.0 · ½")):
        assert {ord(letter) for letter in "Żółw−·½0123456789%"} <= set(font.getBestCmap())


def test_metrics_are_those_of_the_whole_font():
    """Cutting changes no width, so pictures measured with the whole font fit."""
    for font, weight in zip(cut(face("")), fonts.WEIGHTS, strict=True):
        with TTFont(fonts.path(weight)) as whole:
            name, other = font.getBestCmap()[ord("n")], whole.getBestCmap()[ord("n")]
            assert font["hmtx"][name][0] == whole["hmtx"][other][0]


def test_cut_twice_is_the_same():
    """The same characters give the same bytes."""
    from evenhand.handouts import face as module

    assert module._cut("Regular", "abc") == module._cut("Regular", "abc")
