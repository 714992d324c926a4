"""The picture of the weeks: its lines are the plan's wears, its diamonds the drawn sticks."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise

import pytest
from tests.plan.making import sensor, trial
from tests.support.pictures import boxes, lines, texts

from evenhand.charts.look import DARK, LIGHT, NARROW, PAGE, PHONE, SLIDE
from evenhand.charts.weeks import weeks
from evenhand.clock import DAY, HOUR
from evenhand.plan.draw import draw
from evenhand.records.plan import SensorPlan
from evenhand.records.sensors import CountsFrom

SIZES = (PAGE, NARROW, PHONE, SLIDE)


@pytest.fixture(name="made", scope="module", params=[2, 3])
def _made(request):
    ours = [
        sensor(place, counts_from=CountsFrom.INSERTION, life=(10 + 3 * place) * DAY)
        for place in range(request.param)
    ]
    made = trial(*ours, days=24, start="2026-03-18T09:00", sensors=(SensorPlan("s-0", early=12 * HOUR),))
    return made, draw(made, 0)


def monday(made, instant):
    """Days of wall time since the Monday of the plan's first week."""
    first = datetime(2026, 3, 16)
    return (made.zones.stamp(instant).wall - first).total_seconds() / DAY


def test_thick_lines_are_the_time_a_sensor_reads(made):
    """All weeks together, each sensor's thick line is as long as its wears read, in days of wall time."""
    plan, drawn = made
    figure = weeks(plan, drawn).figure
    for one in plan.sensors:
        drawn_days = sum(
            line.get_xdata()[1] - line.get_xdata()[0] for line in lines(figure, f"reads-{one.place}")
        )
        planned = sum(
            monday(plan, wear.removed.instant) - monday(plan, wear.reads.instant)
            for wear in drawn.wears
            if wear.sensor == one.id
        )
        assert drawn_days == pytest.approx(planned)


def test_thin_lines_are_the_time_it_is_worn_and_does_not_read(made):
    """Early hours and warm-up."""
    plan, drawn = made
    figure = weeks(plan, drawn).figure
    for one in plan.sensors:
        found = sum(
            max(0.0, line.get_xdata()[1] - line.get_xdata()[0]) for line in lines(figure, f"dark-{one.place}")
        )
        planned = sum(
            monday(plan, wear.reads.instant) - monday(plan, wear.inserted.instant)
            for wear in drawn.wears
            if wear.sensor == one.id
        )
        assert found == pytest.approx(planned, abs=0.01)


def test_every_stick_has_its_diamond_and_a_repeat_has_two(made):
    """At its wall time."""
    plan, drawn = made
    figure = weeks(plan, drawn).figure
    marks = lines(figure, "stick")
    assert len(marks) == len(drawn.minutes) + len(drawn.repeats)
    places = sorted({round(float(mark.get_xdata()[0]), 6) for mark in marks})
    assert places == sorted({round(monday(plan, minute) % 7, 6) for minute in drawn.minutes})


@pytest.mark.parametrize("size", SIZES)
def test_no_word_leaves_the_frame_or_stands_on_another(made, size):
    """Every text lies inside the picture; no two overlap, but for a label that touches its own day's name on a phone."""
    plan, drawn = made
    picture = weeks(plan, drawn, size=size)
    height = picture.figure.get_figheight() * 72
    found = list(boxes(picture.figure))
    for text, box in found:
        assert box.x0 >= -1, text.get_text()
        assert box.x1 <= size.width + 1, text.get_text()
        assert box.y0 >= -1, text.get_text()
        assert box.y1 <= height + 1, text.get_text()
    if size is not NARROW:
        names = [(text.get_text(), box) for text, box in found]
        for (one, first), (two, second) in pairwise(names):
            apart = (
                first.x1 <= second.x0
                or second.x1 <= first.x0
                or first.y1 <= second.y0
                or second.y1 <= first.y0
            )
            assert apart, (one, two)


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_sensors_are_told_apart_by_hue_and_by_line(made, palette):
    """Hue is never the only sign."""
    plan, drawn = made
    figure = weeks(plan, drawn, palette=palette).figure
    styles = set()
    for one in plan.sensors:
        line = lines(figure, f"reads-{one.place}")[0]
        assert line.get_color() == palette.sensors[one.place]
        styles.add(str(line._unscaled_dash_pattern))
    assert len(styles) == len(plan.sensors)


def test_the_caveat_stands_in_the_frame_and_the_words_tell_it_all(made):
    """Seed, counts and the safety line in the picture; in its alternative text every wear."""
    plan, drawn = made
    picture = weeks(plan, drawn, size=PHONE)
    shown = " ".join(text.get_text() for text in texts(picture.figure))
    assert f"seed {drawn.seed}" in shown
    assert "A fingerstick decides" in shown
    assert picture.title in picture.alternative
    assert all(f"{wear.number}, {wear.side}" in picture.alternative for wear in drawn.wears)


def test_files_are_the_same_for_the_same_plan(made):
    """SVG with text as text; PNG of the size's px."""
    plan, drawn = made
    assert weeks(plan, drawn).svg() == weeks(plan, drawn).svg()
    assert ">Fern<" in weeks(plan, drawn).svg()
    assert weeks(plan, drawn, size=PHONE).png()[16:24] == (1080).to_bytes(4, "big") + (1350).to_bytes(
        4, "big"
    )


def test_an_hour_without_a_reading_is_the_title():
    """The heading says what is found, not what is shown."""
    ours = [sensor(place, warm_up=40 * HOUR, grace=0, life=3 * DAY) for place in (0, 1)]
    made = trial(*ours, days=9, overlap=True)
    assert weeks(made, draw(made, 0)).title.startswith("Nothing reads for a time from")
    alone = trial(sensor(0, warm_up=0), days=10)
    assert weeks(alone, draw(alone, 0)).title == "Fern reads throughout"
