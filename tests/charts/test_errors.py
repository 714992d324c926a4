"""Error by phase, day and level: points and intervals read back against the findings."""

from __future__ import annotations

import itertools

import pytest
from tests.support.fake_findings import SCENARIOS, scenario
from tests.support.pictures import boxes, lines, texts

from evenhand.charts.errors import by_day, by_level, by_phase
from evenhand.charts.look import LIGHT, MARKS, NARROW, PAGE, PHONE, SLIDE, Size
from evenhand.units import from_mg_dl

DRAWS = (by_phase, by_day, by_level)
OPEN = [name for name in SCENARIOS if name != "sealed"]


def draw(which, name: str, size: Size = PAGE):
    """One picture of a scenario."""
    findings, trial = scenario(name)
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    return findings, trial, which(findings, places, trial.header.unit, size=size)


def accuracies(which, sensor):
    """The accuracies a picture shows of one sensor, in order."""
    if which is by_day:
        return [one.accuracy for one in sensor.days]
    parts = sensor.phases if which is by_phase else sensor.levels.by_stick
    names = ("first_24h", "middle", "last_24h") if which is by_phase else ("below", "in_range", "above")
    return [getattr(parts, name) for name in names]


@pytest.mark.parametrize("which", DRAWS)
@pytest.mark.parametrize("name", ["closer", "mmol", "three", "too-few"])
def test_points_are_the_findings(which, name: str):
    """Each point is an average error of the findings, in the wearer's unit; a missing one is no point."""
    findings, trial, picture = draw(which, name)
    for sensor in findings.sensors:
        drawn = [y for line in lines(picture.figure, f"points-{sensor.name}") for y in line.get_ydata()]
        expected = [
            from_mg_dl(one.mad.value, trial.header.unit)
            for one in accuracies(which, sensor)
            if one.mad.value is not None
        ]
        assert drawn == expected


@pytest.mark.parametrize("which", DRAWS)
def test_lines_are_the_intervals(which):
    """Each line runs from low to high; one beyond the scale ends at its top, with a mark."""
    findings, _, picture = draw(which, "closer")
    for sensor in findings.sensors:
        ends = [tuple(line.get_ydata()) for line in lines(picture.figure, f"interval-{sensor.name}")]
        known = [one.mad for one in accuracies(which, sensor) if one.mad.low is not None]
        assert len(ends) == len(known)
        for (low, high), est in zip(ends, known, strict=True):
            assert low == est.low
            assert high <= est.high


def test_one_scale_for_all_and_it_starts_at_zero():
    """All rows and sensors share one scale from zero."""
    _, _, picture = draw(by_day, "closer", NARROW)
    tops = {
        axes.get_ylim()
        for axes in picture.figure.axes
        if any(line.get_gid() == "points-Fern" for line in axes.lines)
    }
    assert len(tops) == 1
    assert next(iter(tops))[0] == 0


@pytest.mark.parametrize("which", DRAWS)
def test_n_stands_under_every_point(which):
    """The number of sticks is written under each column in the sensor's hue."""
    findings, _, picture = draw(which, "closer")
    for place, sensor in enumerate(findings.sensors):
        said = [text.get_text() for text in texts(picture.figure) if text.get_color() == LIGHT.sensors[place]]
        for one in accuracies(which, sensor):
            assert str(one.pairs) in said
        assert f"n {sensor.name}" in said


@pytest.mark.parametrize("size", [PAGE, NARROW, SLIDE, PHONE], ids=lambda size: size.name)
@pytest.mark.parametrize("which", DRAWS)
@pytest.mark.parametrize("name", OPEN)
def test_words_stay_inside_and_apart(which, name: str, size: Size):
    """No text leaves the frame or lies on another, in any state and size."""
    _, _, picture = draw(which, name, size)
    found = list(boxes(picture.figure))
    for text, box in found:
        assert box.x0 >= -1, text.get_text()
        assert box.x1 <= size.width + 1, text.get_text()
    for (one, a), (other, b) in itertools.combinations(found, 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        upright = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert not (across > 1 and upright > 0.45 * size.small), f"{one.get_text()} / {other.get_text()}"


def test_axes_carry_the_unit_and_intervals_their_level():
    """The unit stands at the scale, '95 %' in the caveat, and marks go with hues."""
    _, _, picture = draw(by_phase, "mmol")
    said = " ".join(text.get_text() for text in texts(picture.figure))
    assert "average error against your meter, mmol/L" in said
    assert "95 % intervals" in said
    assert lines(picture.figure, "points-Slate")[0].get_marker() == MARKS[1]


@pytest.mark.parametrize("which", DRAWS)
def test_the_alternative_text_has_every_number(which):
    """The finding first, then each error with its interval and n."""
    findings, _, picture = draw(which, "closer")
    assert picture.alternative.startswith(picture.title)
    assert picture.alternative.count(", n ") == sum(
        one.mad.value is not None for sensor in findings.sensors for one in accuracies(which, sensor)
    )
