"""Files of a picture, and what drawing leaves untouched."""

from __future__ import annotations

import struct

import matplotlib as mpl
from tests.support.fake_findings import scenario

from evenhand.charts.balance import balance
from evenhand.charts.look import PHONE, SLIDE


def test_png_has_the_exact_px():
    """A slide is 1920 by 1080 px, a phone picture 1080 by 1350 (width and height from the PNG's own header)."""
    findings, trial = scenario("closer")
    for size in (SLIDE, PHONE):
        png = balance(findings, {"Fern": 0, "Slate": 1}, trial.header.unit, size=size).png()
        assert struct.unpack(">II", png[16:24]) == (size.width, size.height)
        assert b"Description" in png[:400]


def test_drawing_changes_no_global_setting():
    """The library's global settings are as they were before."""
    before = dict(mpl.rcParams)
    findings, trial = scenario("closer")
    balance(findings, {"Fern": 0, "Slate": 1}, trial.header.unit).svg()
    assert dict(mpl.rcParams) == before


def test_svg_carries_no_date():
    """A picture does not say when it was made; the page does."""
    findings, trial = scenario("closer")
    svg = balance(findings, {"Fern": 0, "Slate": 1}, trial.header.unit).svg()
    assert "dc:date" not in svg
