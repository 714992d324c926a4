"""The balance picture: its numbers are the findings', its words stand clear."""

from __future__ import annotations

import itertools

import pytest
from tests.support.fake_findings import SCENARIOS, scenario
from tests.support.pictures import boxes, lines, patches, texts

from evenhand.charts.balance import balance
from evenhand.charts.look import DARK, LIGHT, NARROW, PAGE, PHONE, SLIDE, Size
from evenhand.charts.picture import Picture
from evenhand.stats.estimate import Est
from evenhand.units import from_mg_dl

PAIRED = [name for name in SCENARIOS if name not in ("sealed", "one")]
SIZES = (PAGE, NARROW, SLIDE, PHONE)


def draw(name: str, size: Size = PAGE, pair: int = 0) -> Picture:
    """The balance of a scenario."""
    findings, trial = scenario(name)
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    return balance(findings, places, trial.header.unit, pair=pair, size=size)


@pytest.mark.parametrize("name", PAIRED)
def test_strokes_and_lines_are_the_findings(name: str):
    """Each stroke stands at the estimate, each line runs from its low to its high, in the wearer's unit."""
    findings, trial = scenario(name)
    head = findings.head_to_head[0]
    figure = draw(name).figure
    ests = {"difference": head.difference, "all-pairs": head.all_pairs, "with-prompted": head.with_prompted}
    for gid, est in ests.items():
        check(figure, gid, est, trial.header.unit)


def check(figure, gid: str, est: Est, unit) -> None:
    """One estimate read back from the picture."""
    stroke, line = lines(figure, gid), lines(figure, f"{gid}-interval")
    if est.value is None:
        assert not stroke
        assert not line
        return
    assert set(stroke[0].get_xdata()) == {from_mg_dl(est.value, unit)}
    assert list(line[0].get_xdata()) == [from_mg_dl(est.low, unit), from_mg_dl(est.high, unit)]


@pytest.mark.parametrize("name", ["closer", "mmol"])
def test_the_band_is_the_margin_around_zero(name: str):
    """The pale band runs from minus to plus the margin, and zero is the middle of the scale."""
    findings, trial = scenario(name)
    picture = draw(name)
    (band,) = patches(picture.figure, "margin")
    margin = from_mg_dl(findings.primary.margin, trial.header.unit)
    assert (band.get_x(), band.get_width()) == (-margin, 2 * margin)
    low, high = band.axes.get_xlim()
    assert low == -high
    assert {x for line in lines(picture.figure, "zero") for x in line.get_xdata()} == {0}


def test_the_decisive_interval_is_shown_where_equal_was_found():
    """Where the answer is 'equal', the 90 % interval that decided it is drawn and named."""
    findings, _ = scenario("equal")
    figure = draw("equal").figure
    est = findings.head_to_head[0].interval_for_equal
    assert list(lines(figure, "equal-interval")[0].get_xdata()) == [est.low, est.high]
    assert any("thick part 90 %" in text.get_text() for text in texts(figure))
    assert not lines(draw("closer").figure, "equal-interval")


def test_the_meter_span_is_two_ticks():
    """The ticks stand at the findings' percentages; an end that was not found stands at 15."""
    figure = draw("closer").figure
    assert lines(figure, "meter-low")[0].get_xdata()[0] == -4.0
    assert lines(figure, "meter-high")[0].get_xdata()[0] == 2.0
    open_ended = draw("not-settled").figure
    assert lines(open_ended, "meter-low")[0].get_xdata()[0] == -15.0
    assert any(text.get_text() == "15 % high or more" for text in texts(open_ended))


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.name)
@pytest.mark.parametrize("name", PAIRED)
def test_words_stay_inside_the_frame_and_off_each_other(name: str, size: Size):
    """No text leaves the picture, none lies on another, in every state and size."""
    figure = draw(name, size).figure
    found = list(boxes(figure))
    for text, box in found:
        assert box.x0 >= -1, text.get_text()
        assert box.x1 <= size.width + 1, text.get_text()
        assert box.y0 >= -1, text.get_text()
    for (one, a), (other, b) in itertools.combinations(found, 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        upright = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert not (across > 1 and upright > 0.45 * size.small), f"{one.get_text()} / {other.get_text()}"


@pytest.mark.parametrize("size", [SLIDE, PHONE], ids=lambda size: size.name)
def test_far_away_text_is_large_enough(size: Size):
    """On a slide and a phone picture no text is below 24 px, and the frame has its exact size."""
    picture = draw("closer", size)
    assert min(text.get_fontsize() for text in texts(picture.figure)) >= 24
    assert tuple(picture.figure.get_size_inches() * 72) == (size.width, size.height)


def test_a_name_stands_at_each_end_in_its_own_hue():
    """The first sensor at the left, the other at the right, hue by place and not by rank."""
    by_text = {text.get_text(): text for text in texts(draw("closer-open").figure)}
    assert by_text["Fern closer"].get_color() == LIGHT.sensors[0]
    assert by_text["Slate closer"].get_color() == LIGHT.sensors[1]
    assert by_text["Fern closer"].get_position()[0] < by_text["Slate closer"].get_position()[0]


def test_the_third_sensor_keeps_its_place():
    """In the second pair of three, the third sensor has the third hue."""
    by_text = {text.get_text(): text for text in texts(draw("three", pair=1).figure)}
    assert by_text["Birch closer"].get_color() == LIGHT.sensors[2]
    assert draw("three", pair=1).name == "balance-2"


def test_dark_is_drawn_dark():
    """The dark palette reaches ground and ink."""
    findings, trial = scenario("closer")
    figure = balance(findings, {"Fern": 0, "Slate": 1}, trial.header.unit, palette=DARK).figure
    assert figure.get_facecolor()[:3] == pytest.approx((0x15 / 255, 0x17 / 255, 0x1A / 255))
    assert lines(figure, "difference")[0].get_color() == DARK.ink


@pytest.mark.parametrize("name", PAIRED)
def test_words_for_those_who_do_not_see_it(name: str):
    """Alternative text begins with the finding, then the numbers; the caveat stands inside the frame."""
    picture = draw(name)
    assert picture.alternative.startswith(picture.title)
    assert "margin" in picture.alternative
    assert any(
        text.get_gid() == "caveat" and "one meter" in text.get_text() for text in texts(picture.figure)
    )
