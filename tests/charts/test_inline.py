"""Pictures inside a page: small, self-contained, with ids of their own."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest
from tests.support.fake_findings import scenario

from evenhand.charts.balance import balance
from evenhand.charts.inline import inline, styles
from evenhand.charts.look import LIGHT, NARROW, PAGE
from evenhand.charts.traces import traces


@pytest.fixture(scope="module")
def pictures():
    """Balance and traces in two widths."""
    findings, trial = scenario("closer")
    places = {"Fern": 0, "Slate": 1}
    made = [balance(findings, places, trial.header.unit, size=size) for size in (PAGE, NARROW)]
    return [*made, *(traces(findings, trial, size=size) for size in (PAGE, NARROW))]


def test_ids_are_unique_and_every_reference_is_met(pictures):
    """On one page no id comes twice, and nothing refers to an id that is not there."""
    whole = "".join(inline(picture) for picture in pictures)
    ids = re.findall(r' id="([^"]+)"', whole)
    assert len(ids) == len(set(ids))
    references = set(re.findall(r'href="#([^"]+)"', whole)) | set(re.findall(r"url\(#([^)]+)\)", whole))
    named = {one for words in re.findall(r'aria-labelledby="([^"]+)"', whole) for one in words.split()}
    assert references | named <= set(ids)


def test_nothing_points_outside(pictures):
    """No address, no script, no style of its own."""
    for picture in pictures:
        svg = inline(picture)
        assert "://" not in svg
        assert not re.search(r"<(script|style|image|metadata|foreignObject)", svg)


def test_colours_are_left_to_the_page(pictures):
    """No colour of the palette is fixed in the picture: dark and print choose."""
    for picture in pictures:
        svg = inline(picture)
        assert not re.search(r"#[0-9a-f]{6}", svg)
        assert "var(--ink)" in svg
    light, dark = styles()
    assert f"--sensor-1: {LIGHT.sensors[1]}" in light
    assert light.count("--") == dark.count("--") == 8


def test_it_is_well_formed_and_named(pictures):
    """The element parses; its title and description are the picture's."""
    for picture in pictures:
        root = ET.fromstring(inline(picture))
        assert root.attrib["role"] == "img"
        assert root[0].text == picture.title
        assert root[1].text == picture.alternative


def test_text_stays_text(pictures):
    """Words in a picture can be selected and are set in the page's face."""
    svg = inline(pictures[0])
    assert "Fern closer" in svg
    assert "Source Sans Pro" in svg


def test_short_numbers_keep_places_to_a_tenth_of_a_px(pictures):
    """Shortening moves no point of the estimate's stroke by more than 0.05 px."""
    long = pictures[0].svg()
    x = float(re.search(r'id="difference">\s*<path d="M (\S+)', long)[1])
    assert f"M{x:.1f}" in inline(pictures[0])


def test_the_same_picture_is_the_same_bytes():
    """Drawing twice gives the same SVG."""
    findings, trial = scenario("closer")
    one, other = (balance(findings, {"Fern": 0, "Slate": 1}, trial.header.unit).svg() for _ in range(2))
    assert one == other
