"""The traces: what is drawn is what was recorded."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from msgspec import structs
from tests.support.fake_findings import base, scenario
from tests.support.fake_trial import START, make_trial
from tests.support.pictures import boxes, lines, texts

from evenhand.charts.look import LIGHT, LINES, MARKS, NARROW, PAGE, PHONE, SLIDE, Size
from evenhand.charts.traces import drawn, gap, traces
from evenhand.clock import HOUR
from evenhand.records.diary import Mark, MarkKind
from evenhand.units import FACTOR


def points(figure, gid: str) -> np.ndarray:
    """All points of the lines with a gid, without the breaks."""
    xy = np.concatenate([np.column_stack(line.get_data()) for line in lines(figure, gid)])
    return xy[~np.isnan(xy[:, 1])]


def test_every_point_drawn_was_recorded():
    """Thinning for drawing invents nothing: each point is a reading, and the extremes are all there."""
    findings, trial = scenario("closer")
    figure = traces(findings, trial).figure
    for sensor in trial.sensors:
        readings = trial.readings[sensor.id]
        recorded = set(zip(readings.instant.tolist(), readings.mg_dl.tolist(), strict=True))
        shown = points(figure, f"trace-{sensor.name}")
        assert {(int(x), y) for x, y in shown} <= recorded
        assert shown[:, 1].min() == readings.mg_dl.min()
        assert shown[:, 1].max() == readings.mg_dl.max()


def test_mmol_traces_are_in_mmol():
    """In a mmol/L trial the scale and the lines are mmol/L."""
    findings, trial = scenario("mmol")
    figure = traces(findings, trial).figure
    shown = points(figure, "trace-Fern")
    assert shown[:, 1].max() == pytest.approx(trial.readings["s0"].mg_dl.max() / FACTOR)
    assert {line.get_ydata()[0] for line in lines(figure, "limit")} == {3.9, 10.0}
    assert {"3.9", "10.0", "mmol/L"} <= {text.get_text() for text in texts(figure)}


def test_gaps_are_left_open():
    """No line joins two readings farther apart than the sensor's gap."""
    findings, trial = scenario("closer")
    figure = traces(findings, trial).figure
    limit = gap(trial.readings["s0"], trial.sensors[0])
    assert limit < 0.3 * 86_400
    for line in lines(figure, "trace-Fern"):
        x, y = (np.asarray(part, float) for part in line.get_data())
        joined = ~np.isnan(y[:-1]) & ~np.isnan(y[1:])
        assert (np.diff(x)[joined] <= max(limit, 3 * HOUR * 0.5)).all()
    hole = points(figure, "trace-Fern")[:, 0]
    assert not ((hole > START + 2.4 * 86_400) & (hole < START + 2.7 * 86_400)).any()


def test_sticks_are_drawn_by_kind():
    """Planned, prompted and calibration sticks differ in mark; each stick is there once."""
    findings, trial = scenario("closer")
    figure = traces(findings, trial).figure
    counts = {kind: len(points(figure, f"sticks-{kind}")) for kind in ("stick", "prompted", "calibration")}
    prompted = sum(stick.reason == "prompted" for stick in trial.sticks)
    assert counts == {"stick": len(trial.sticks) - prompted - 1, "prompted": prompted, "calibration": 1}
    assert lines(figure, "sticks-stick")[0].get_marker() != lines(figure, "sticks-prompted")[0].get_marker()
    assert (
        lines(figure, "sticks-calibration")[0].get_markerfacecolor()
        == lines(figure, "sticks-stick")[0].get_markeredgecolor()
    )


def test_control_solution_is_not_blood():
    """Control solution and strip errors are not drawn as glucose."""
    _, trial = scenario("closer")
    control = replace(trial.sticks[0], marks=(Mark(MarkKind.CONTROL),))
    assert control not in drawn(replace(trial, sticks=(control, *trial.sticks[1:])))


def test_readings_at_the_limit_say_low():
    """LOW stands at the sensor's limit, in words."""
    findings, trial = scenario("closer")
    said = [text for text in texts(traces(findings, trial).figure) if text.get_gid() == "beyond"]
    assert said
    assert {text.get_text() for text in said} <= {"LOW", "HIGH"}
    assert {text.get_position()[1] for text in said if text.get_text() == "LOW"} == {45.0}


def test_every_start_is_shown_with_its_warm_up():
    """Each wear's bar begins at its start and lasts its warm-up."""
    findings, trial = scenario("closer")
    bars = lines(traces(findings, trial).figure, "warm-up")
    starts = sorted(bar.get_xdata()[0] for bar in bars)
    assert starts == sorted(wear.start.instant for wear in trial.wears)
    longest = max(bar.get_xdata()[1] - bar.get_xdata()[0] for bar in bars)
    assert longest == 2 * HOUR


def test_sensors_differ_by_more_than_hue():
    """Line style and mark go with the hue."""
    findings, trial = scenario("three")
    figure = traces(findings, trial).figure
    dashed = [lines(figure, f"trace-{sensor.name}")[0].is_dashed() for sensor in trial.sensors]
    assert dashed == [False, True, True]
    assert len(set(LINES)) == len(set(MARKS)) == 3
    hues = [lines(figure, f"trace-{sensor.name}")[0].get_color() for sensor in trial.sensors]
    assert hues == list(LIGHT.sensors)


@pytest.mark.parametrize("size", [PAGE, NARROW, SLIDE, PHONE], ids=lambda size: size.name)
def test_words_stay_in_the_frame(size: Size):
    """No text leaves the picture; on slide and phone none is below 24 px."""
    findings, trial = scenario("three")
    figure = traces(findings, trial, size=size).figure
    for text, box in boxes(figure):
        assert box.x0 >= -1, text.get_text()
        assert box.x1 <= size.width + 1, text.get_text()
    if size.titled:
        assert min(text.get_fontsize() for text in texts(figure)) >= 24


def test_one_row_a_wear_on_a_phone():
    """At phone width each row is a wear of the first sensor, or a part of one, and says which."""
    findings, trial = scenario("closer")
    said = {text.get_text() for text in texts(traces(findings, trial, size=NARROW).figure)}
    assert {"Fern, wear 1, part 1", "Fern, wear 2, part 2"} <= said


def test_a_long_dense_trial_stays_small():
    """57,600 readings (20 days, 2 sensors, every minute) are a picture of at most 400 kB."""
    trial = make_trial(every=1)
    assert sum(len(part) for part in trial.readings.values()) > 55_000
    assert len(traces(base(trial, ()), trial).svg()) < 400_000


def test_a_trial_without_readings_is_still_drawn():
    """Sticks alone, or nothing at all, are no error."""
    findings, trial = scenario("one")
    bare = replace(trial, readings={})
    figure = traces(structs.replace(findings, head_to_head=()), bare).figure
    assert len(points(figure, "sticks-stick")) > 20
    nothing = traces(findings, replace(bare, sticks=(), wears=()))
    assert nothing.alternative


def test_under_seal_sticks_stand_in_one_line():
    """Who is closer cannot be read off: every stick is drawn at the same height, its time alone is told; the traces
    and the gaps show as ever."""
    findings, trial = scenario("sealed")
    figure = traces(findings, trial).figure
    heights = {
        round(float(y), 6)
        for axes in figure.axes
        for line in axes.lines
        if str(line.get_gid()).startswith("sticks-")
        for y in np.asarray(line.get_ydata(), float)
    }
    assert len(heights) == 1
    assert "when you pricked stands at the top" in traces(findings, trial).title
    assert lines(figure, "trace-Fern")
