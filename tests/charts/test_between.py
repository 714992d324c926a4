"""The pictures between the sticks: what is drawn is what the findings hold, at every size, told in words too."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from msgspec import structs
from tests.judge.invented import invented, judged
from tests.support.pictures import boxes, lines

from evenhand.charts import alarms, band, night
from evenhand.charts.look import DARK, LIGHT, NARROW, PAGE, PHONE, SLIDE, Size
from evenhand.charts.time_line import line_title, time_line
from evenhand.charts.traces import traces
from evenhand.findings.findings import Findings
from evenhand.findings.parts import Stray
from evenhand.records.trial import Trial
from evenhand.units import FACTOR, Unit

SIZES = (PAGE, NARROW, SLIDE, PHONE)


def found() -> tuple[Findings, Trial]:
    return judged(), invented().trial


def midnight() -> int:
    """The night with the most astray."""
    return night.nights(*found())[0]


def drawn(size: Size = PAGE):
    """All four pictures."""
    findings, trial = found()
    return (
        night.one_night(findings, trial, midnight(), size=size),
        time_line(findings, trial, size=size),
        alarms.alarms(findings, trial, size=size),
        alarms.lags(findings, trial, size=size),
    )


def untrusted() -> Findings:
    told = structs.replace(judged().reconstruction, trusted=False, line=None, parted=())
    bare = tuple(
        structs.replace(sensor, against_reconstruction=None, strays=()) for sensor in judged().sensors
    )
    return structs.replace(judged(), reconstruction=told, sensors=bare)


@pytest.mark.parametrize("size", SIZES, ids=[size.name for size in SIZES])
def test_words_stay_in_the_frame(size: Size) -> None:
    """No text of any picture leaves its frame, and the caveat stands inside it."""
    for picture in drawn(size):
        width, height = picture.figure.get_size_inches() * 72
        for text, box in boxes(picture.figure):
            assert box.x0 >= -1, (picture.name, text.get_text())
            assert box.x1 <= width + 1, (picture.name, text.get_text())
            assert box.y0 >= -1, (picture.name, text.get_text())
            assert box.y1 <= height + 1, (picture.name, text.get_text())
        assert any("one meter" in text.get_text() for text, _ in boxes(picture.figure))


def test_every_picture_says_itself_in_words() -> None:
    """The alternative text begins with the finding and holds numbers; both names are in it."""
    for picture in drawn():
        assert picture.title
        assert picture.alternative.startswith(picture.title)
        assert any(character.isdigit() for character in picture.alternative)
        assert "None" not in picture.alternative
        assert picture.png()[:4] == b"\x89PNG"


def test_the_band_is_the_line_of_the_findings() -> None:
    """Its edges and middle are the numbers that the judgement holds for that night."""
    findings, trial = found()
    picture = night.one_night(findings, trial, midnight())
    (shade,) = [one for one in picture.figure.findobj(PolyCollection) if one.get_gid() == "band"]
    line = band.blood_line(findings)
    at = band.instants(line)
    inside = (at >= midnight() - night.BEFORE) & (at < midnight() + night.AFTER)
    low = band.values(line.low, Unit.MG_DL)[inside]
    corners = shade.get_paths()[0].vertices[:, 1]
    assert np.nanmin(corners) == pytest.approx(np.nanmin(low))
    (middle,) = lines(picture.figure, "between")
    np.testing.assert_allclose(
        np.asarray(middle.get_ydata(), np.float64),
        band.values(line.middle, Unit.MG_DL)[inside],
        equal_nan=True,
    )


def test_values_are_in_the_wearers_unit() -> None:
    """In mmol/L the same line, divided; what is missing stays missing."""
    some = band.values((180.0, None, 90.0), Unit.MMOL_L)
    assert some[0] == pytest.approx(180.0 / FACTOR)
    assert np.isnan(some[1])


def test_a_night_shows_its_strays_and_alarms() -> None:
    """A bar for every stray that touches it, from its start to its end, cut at the night's edges; a tick for each alarm."""
    findings, trial = found()
    picture = night.one_night(findings, trial, midnight())
    start, end = midnight() - night.BEFORE, midnight() + night.AFTER
    expected = []
    for sensor in findings.sensors:
        for stray in sensor.strays:
            first, last = night.instant(stray.start), night.instant(stray.end) if stray.end else end
            if first < end and last > start:
                expected.append((max(first, start), min(last, end)))
    bars = [tuple(bar.get_xdata()) for bar in lines(picture.figure, "stray")]
    assert sorted(bars) == sorted(expected)
    sounds = sum(
        start <= night.instant(one.at) < end
        for sensor in findings.sensors
        for one in sensor.alarms.rehearsed.each
    )
    assert len(lines(picture.figure, "alarm")) == sounds
    assert all(stray.source == "reconstruction" for sensor in findings.sensors for stray in sensor.strays)


def test_the_worst_night_comes_first() -> None:
    """By how long and how far: a long large stray outweighs a short small one."""
    findings, trial = found()
    first, second = findings.sensors
    start = midnight()

    def at(instant: int) -> str:
        return datetime.fromtimestamp(
            instant,
            tz=datetime.fromisoformat(
                first.strays[0].start if first.strays else second.strays[0].start
            ).tzinfo,
        ).isoformat()

    def one(day: int, hours: float, size: float) -> Stray:
        begin = start + day * 86400 + 3600
        return Stray(
            1, at(begin), at(begin + round(hours * 3600)), size, size, "alone", 0.99, "reconstruction"
        )

    made = structs.replace(
        findings,
        sensors=(
            structs.replace(first, strays=(one(0, 1.0, 30.0), one(1, 5.0, 60.0))),
            structs.replace(second, strays=()),
        ),
    )
    astray = night.nights(made, trial)
    assert astray[0] == start + 86400
    assert start in astray
    assert "5 h 00 min" in night.night_title(made, trial, astray[0])


def test_a_quiet_night_says_so() -> None:
    """A night without a stray can be drawn, and its title says that none is shown."""
    findings, trial = found()
    calm = structs.replace(
        findings, sensors=tuple(structs.replace(sensor, strays=()) for sensor in findings.sensors)
    )
    assert night.nights(calm, trial) == []
    assert "no sensor is shown to have strayed" in night.one_night(calm, trial, midnight()).title


def test_no_night_without_a_trusted_line() -> None:
    """Nothing is drawn between the sticks where it is not trusted: traces stay as they were."""
    findings, trial = untrusted(), invented().trial
    with pytest.raises(ValueError, match="trusted"):
        night.one_night(findings, trial, midnight())
    plain_traces = traces(findings, trial)
    assert not [one for one in plain_traces.figure.findobj(PolyCollection) if one.get_gid() == "band"]
    assert "estimate" not in plain_traces.alternative
    assert band.blood_line(findings) is None


def test_traces_carry_the_band_and_name_it() -> None:
    """Where trusted, the traces of the whole trial stand over the band, and the key names it."""
    picture = traces(*found())
    assert [one for one in picture.figure.findobj(PolyCollection) if one.get_gid() == "band"]
    assert any("estimate between sticks" in text.get_text() for text, _ in boxes(picture.figure))
    assert "best estimate of blood glucose between them" in picture.alternative


def test_the_time_line_is_told_by_more_than_hue() -> None:
    """As many stretches of each state as the findings hold; strayed thick, unproven dotted, held thin and whole."""
    findings, trial = found()
    picture = time_line(findings, trial)
    every = [part for sensor in findings.sensors for part in sensor.against_reconstruction.time_line]
    for state in ("held", "strayed", "unproven"):
        assert len(lines(picture.figure, state)) == sum(part.state == state for part in every)
    strayed, held = lines(picture.figure, "strayed")[0], lines(picture.figure, "held")[0]
    assert strayed.get_linewidth() > 3 * held.get_linewidth()
    assert all(one.get_linestyle() != "-" for one in lines(picture.figure, "unproven"))
    assert len(lines(picture.figure, "parted")) == len(findings.reconstruction.parted)


def test_partings_that_nobody_won_are_rings() -> None:
    """Hollow where no sensor is named, filled with the sensor's mark where one is."""
    findings, trial = found()
    marks = lines(time_line(findings, trial).figure, "parted")
    for one, mark in zip(findings.reconstruction.parted, marks, strict=True):
        assert (mark.get_markerfacecolor() == "none") == (one.right is None)


def test_the_time_lines_title_names_who_held_least() -> None:
    """The sensor with the smallest share that held, then the others; alike where they are."""
    findings, _ = found()
    title = line_title(findings)
    assert title.endswith("of its time") or "%" in title
    assert line_title(untrusted()) == "Nothing can be said of the time between the sticks"
    first = findings.sensors[0]
    twins = structs.replace(findings, sensors=(first, structs.replace(first, name="Slate")))
    assert "alike" in line_title(twins)


def test_alarms_stand_at_their_probability() -> None:
    """Each rehearsed alarm at its time and as high as blood was probably low; filled where a stick was near."""
    findings, trial = found()
    picture = alarms.alarms(findings, trial)
    for sensor in findings.sensors:
        each = sensor.alarms.rehearsed.each
        marks = lines(picture.figure, f"alarm-{sensor.name}")
        assert [(mark.get_xdata()[0], mark.get_ydata()[0]) for mark in marks] == [
            (night.instant(one.at), one.chance) for one in each
        ]
        filled = [mark.get_markerfacecolor() != LIGHT.ground for mark in marks]
        assert filled == [one.stick is not None for one in each]
    false = sum((one.chance or 0) < 0.5 for _, each in alarms.judged(findings) for one in each)
    total = sum(len(each) for _, each in alarms.judged(findings))
    assert total >= false
    assert "Low alarms that were probably false" in picture.title


def test_lags_are_points_with_intervals() -> None:
    """One point a lag that has a value, with its interval where there is one; the title rounds the lag to blood."""
    findings, trial = found()
    rows = alarms.lag_rows(findings)
    picture = alarms.lags(findings, trial)
    assert [mark.get_xdata()[0] for mark in lines(picture.figure, "lag")] == [est.value for _, _, est in rows]
    ends = [tuple(one.get_xdata()) for one in lines(picture.figure, "interval")]
    assert ends == [(est.low, est.high) for _, _, est in rows if est.low is not None]
    assert str(round(findings.reconstruction.lag_minutes.value)) in picture.title
    assert (
        alarms.lag_title(structs.replace(untrusted(), sensors=()))
        == "How far the sensors trail cannot be said"
    )


def test_dark_and_light_draw_the_same() -> None:
    """Only colours differ."""
    findings, trial = found()
    light, dark = (time_line(findings, trial, palette=palette) for palette in (LIGHT, DARK))
    assert light.alternative == dark.alternative
    assert len(lines(light.figure, "held")) == len(lines(dark.figure, "held"))
    assert lines(light.figure, "held")[0].get_color() != lines(dark.figure, "held")[0].get_color()
