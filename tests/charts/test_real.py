"""Pictures of real judgements, thin and full, in every size: drawn without a warning, nothing outside, nothing raw."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pytest
from msgspec import structs
from tests.judge.frozen import frozen_trial
from tests.judge.making import by_sticks as judge
from tests.judge.thin import THIN
from tests.support.pictures import boxes, lines

from evenhand.charts.balance import balance
from evenhand.charts.errors import by_day, by_level, by_phase
from evenhand.charts.inline import inline
from evenhand.charts.look import DARK, LIGHT, NARROW, PAGE, PHONE, SLIDE
from evenhand.charts.traces import traces
from evenhand.units import Unit, from_mg_dl

SIZES = (PAGE, NARROW, SLIDE, PHONE)
NAMES = (
    "frozen",
    "one day",
    "no error at all",
    "no spread at all",
    "never together",
    "one sensor",
    "nothing at all",
)


@lru_cache(maxsize=16)
def judged(name):
    """A trial and its judgement."""
    made = frozen_trial() if name == "frozen" else THIN[name]
    return judge(made), made


def places(made):
    """Each sensor's place by its name."""
    return {sensor.name: sensor.place for sensor in made.sensors}


def pictures(name, unit, size, palette=LIGHT):
    """Every picture a page of this trial may hold."""
    findings, made = judged(name)
    yield traces(findings, made, size=size, palette=palette)
    for draw in (by_phase, by_day, by_level):
        yield draw(findings, places(made), unit, size=size, palette=palette)
    for pair in range(len(findings.head_to_head)):
        yield balance(findings, places(made), unit, pair=pair, size=size, palette=palette)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.name)
@pytest.mark.parametrize("name", NAMES)
def test_every_picture_is_drawn(name, size):
    """In both units: a title, words that stand in for it, the size it was asked for, text inside the frame."""
    for unit in Unit:
        for picture in pictures(name, unit, size):
            assert picture.title
            assert picture.alternative.startswith(picture.title)
            assert not re.search(r"\bnan\b|\bNone\b|\binf\b", picture.alternative)
            wide, high = picture.figure.get_size_inches() * 72
            assert round(wide) == size.width
            assert size.height is None or round(high) == size.height
            for text, box in boxes(picture.figure):
                assert box.x0 >= -1, text.get_text()
                assert box.x1 <= wide + 1, text.get_text()


@pytest.mark.parametrize("name", ["frozen", "no error at all"])
def test_light_and_dark_differ_in_colour_alone(name):
    """The same lines at the same places, whichever palette."""
    for light, dark in zip(
        pictures(name, Unit.MG_DL, PAGE), pictures(name, Unit.MG_DL, PAGE, DARK), strict=True
    ):
        assert light.alternative == dark.alternative
        pairs = zip(light.figure.axes, dark.figure.axes, strict=True)
        for one, other in (
            (a, b) for first, second in pairs for a, b in zip(first.lines, second.lines, strict=True)
        ):
            assert np.array_equal(one.get_xydata(), other.get_xydata(), equal_nan=True)


@pytest.mark.parametrize("unit", Unit)
def test_the_balance_stands_where_the_findings_say(unit):
    """The stroke at the difference, the line over its interval, the band as wide as the margin."""
    findings, made = judged("frozen")
    head = findings.head_to_head[0]
    picture = balance(findings, places(made), unit)
    (stroke,) = lines(picture.figure, "difference")
    (interval,) = lines(picture.figure, "difference-interval")
    assert stroke.get_xdata()[0] == pytest.approx(from_mg_dl(head.difference.value, unit))
    assert interval.get_xdata() == pytest.approx(
        [from_mg_dl(head.difference.low, unit), from_mg_dl(head.difference.high, unit)]
    )


def test_the_traces_hold_every_extreme():
    """However few points are drawn: the highest and lowest reading of each sensor are among them."""
    findings, made = judged("frozen")
    picture = traces(findings, made, size=NARROW)
    for sensor in made.sensors:
        drawn = np.concatenate([line.get_ydata() for line in lines(picture.figure, f"trace-{sensor.name}")])
        values = made.readings[sensor.id].mg_dl
        unit = made.header.unit
        assert np.nanmax(drawn) == pytest.approx(from_mg_dl(float(values.max()), unit))
        assert np.nanmin(drawn) == pytest.approx(from_mg_dl(float(values.min()), unit))


@pytest.mark.parametrize("name", NAMES)
def test_inline_pictures_share_no_id(name):
    """All pictures of one page, in both widths: every id once, every reference to an id of its own picture."""
    seen = set()
    for size in (PAGE, NARROW):
        for picture in pictures(name, Unit.MG_DL, size):
            svg = inline(picture)
            ids = re.findall(r' id="([^"]+)"', svg)
            assert len(ids) == len(set(ids))
            assert not seen & set(ids)
            seen |= set(ids)
            assert set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', svg)) <= {(one, "") for one in ids} | {
                ("", one) for one in ids
            }


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.name)
def test_a_scale_beside_a_short_name_stays_inside(size):
    """Where the sensors' names are shorter than the numbers of the scale, these make the room."""
    findings, _ = judged("frozen")
    renamed = tuple(
        structs.replace(sensor, name=letter) for sensor, letter in zip(findings.sensors, "IJ", strict=True)
    )
    short = structs.replace(findings, sensors=renamed)
    for draw in (by_phase, by_day, by_level):
        picture = draw(short, {"I": 0, "J": 1}, Unit.MMOL_L, size=size)
        assert all(box.x0 >= 0 for text, box in boxes(picture.figure) if text.get_text())
