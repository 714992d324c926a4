"""Colours: contrast and distance, computed by the published formula."""

from __future__ import annotations

import itertools

import pytest

from evenhand.charts.look import DARK, LIGHT, LINES, MARKS, NARROW, PAGE, PHONE, SLIDE, Palette


def channel(value: int) -> float:
    """Linear light of one sRGB channel (Web Content Accessibility Guidelines 2.1, relative luminance)."""
    share = value / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def rgb(colour: str) -> tuple[int, int, int]:
    """The three channels of '#rrggbb'."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.1, 1.4.3)."""
    luminance = [
        sum(part * channel(c) for part, c in zip((0.2126, 0.7152, 0.0722), rgb(colour), strict=True))
        for colour in (one, other)
    ]
    return (max(luminance) + 0.05) / (min(luminance) + 0.05)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_colour_has_enough_contrast(palette: Palette):
    """Text and marks reach 4.5 to 1 on their ground (WCAG 2.1 level AA)."""
    for colour in (palette.ink, palette.quiet, *palette.sensors):
        assert contrast(colour, palette.ground) >= 4.5


def test_known_contrasts():
    """Black on white is 21 to 1 (WCAG's own extreme); ink on paper 16.3, as measured when chosen."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast(LIGHT.ink, LIGHT.ground) == pytest.approx(16.3, abs=0.1)
    assert contrast(LIGHT.sensors[2], LIGHT.ground) == pytest.approx(4.9, abs=0.1)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_sensors_differ_in_hue_mark_and_line(palette: Palette):
    """No two sensors share a hue, a mark or a line style; hues alone lie at least 50 of 441 apart, which is not
    much, so that mark and line are never left away."""
    for one, other in itertools.combinations(palette.sensors, 2):
        assert sum((a - b) ** 2 for a, b in zip(rgb(one), rgb(other), strict=True)) ** 0.5 >= 50
    assert len(set(MARKS)) == len(set(map(str, LINES))) == 3


def test_sizes():
    """Slide and phone have their exact px, and text of at least 24 px."""
    assert (SLIDE.width, SLIDE.height, PHONE.width, PHONE.height) == (1920, 1080, 1080, 1350)
    assert min(SLIDE.small, PHONE.small) >= 24
    assert PAGE.wide
    assert SLIDE.wide
    assert not NARROW.wide
    assert not PHONE.wide
