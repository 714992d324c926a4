"""The frame: px from the top left, title where it belongs, caveat always inside."""

from __future__ import annotations

import pytest
from tests.support.pictures import boxes, texts

from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, NARROW, PAGE, PHONE, SLIDE, Size


@pytest.mark.parametrize("size", [PAGE, NARROW, SLIDE, PHONE], ids=lambda size: size.name)
def test_the_caveat_is_inside_every_frame(size: Size):
    """A crop of the picture carries the caveat; a long one wraps."""
    frame = Frame(size, LIGHT, "A finding", "one body, 2 + 2 sensors, one meter. " * 3, 200)
    caveats = [text for text in texts(frame.figure) if text.get_gid() == "caveat"]
    assert caveats
    for _, box in boxes(frame.figure):
        assert box.y0 >= 0
        assert box.x1 <= size.width


def test_titles_stand_in_slides_and_not_on_pages():
    """On a page the heading above is the title."""
    said = {
        size.name: "A finding"
        in [text.get_text() for text in texts(Frame(size, LIGHT, "A finding", "c", 100).figure)]
        for size in (PAGE, NARROW, SLIDE, PHONE)
    }
    assert said == {"page": False, "narrow": False, "slide": True, "phone": True}


def test_axes_stand_where_they_were_put():
    """A box in px is that box in px of the figure."""
    frame = Frame(PAGE, LIGHT, "", "c", 300)
    box = frame.axes(10, 20, 200, 50).get_position()
    assert box.x0 * PAGE.width == pytest.approx(10)
    assert (1 - box.y1) * frame.height == pytest.approx(20)
    assert box.height * frame.height == pytest.approx(50)


def test_the_body_gets_its_room():
    """Between title and caveat lie the px asked for where the height is free."""
    frame = Frame(PAGE, LIGHT, "", "c", 300)
    assert frame.bottom - frame.top == pytest.approx(300)
