"""The strip: glucose lines of the wearer's unit, gaps left open, held readings paler."""

from __future__ import annotations

import numpy as np
import pytest
from tests.intake.helpers import a_trial, take
from tests.support.pictures import lines, texts

from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, LINES, PAGE
from evenhand.charts.strip import FULL_LINE, PALE, PALE_LINE, ground, line
from evenhand.clock import HOUR


@pytest.fixture
def axes():
    """A frame with axes over three hours."""
    frame = Frame(PAGE, LIGHT, "T", "c", 200)
    made = frame.axes(50, 10, 700, 150)
    part = take(
        "Time,mg/dL\n2026-04-02 08:00,100\n2026-04-02 08:05,110\n2026-04-02 10:00,120\n2026-04-02 10:05,130\n", of="Slate"
    ).change.batches[0].readings  # fmt: skip
    start = int(part.instant[0])
    made.set(xlim=(start, start + 3 * HOUR), ylim=(0, 300))
    return frame, made, part, start


@pytest.mark.parametrize(("pale", "width"), [(True, PALE_LINE), (False, FULL_LINE)])
def test_a_line_is_broken_at_gaps_and_keeps_its_sensors_look(axes, pale, width):
    """Two pieces, in the second sensor's hue and dashes; paler and thinner where held."""
    frame, made, part, start = axes
    line(frame, made, part, a_trial(), sensor=1, span=(start, start + 3 * HOUR, 10.0), pale=pale)
    (drawn,) = lines(frame.figure, f"{'held' if pale else 'new'}-Slate")
    assert drawn.get_color() == LIGHT.sensors[1]
    assert drawn.get_linewidth() == pytest.approx(width)
    assert drawn.get_alpha() == (PALE if pale else 1)
    assert np.isnan(drawn.get_ydata()).sum() == 1
    assert LINES[1] != LINES[0]


def test_nothing_is_drawn_outside_the_span(axes):
    """A span before the readings holds no line."""
    frame, made, part, start = axes
    line(frame, made, part, a_trial(), sensor=1, span=(start - 2 * HOUR, start, 10.0), pale=False)
    assert lines(frame.figure, "new-Slate") == []


def test_the_ground_names_limits_unit_and_dates(axes):
    """The two glucose lines with their values, the unit, and the date at midnight."""
    frame, made, _, start = axes
    ground(frame, made, (start - 9 * HOUR, start + 90 * HOUR), a_trial(), pixel=10.0, dates=True)
    said = {text.get_text() for text in texts(frame.figure)}
    assert {"70", "180", "mg/dL", "2 April", "3 April"} <= said
