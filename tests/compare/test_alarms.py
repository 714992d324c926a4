"""Rehearsed alarms: once an event, after the delay, silent afterwards; real ones from the diary; both against sticks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, wear

from evenhand.compare.alarms import Setting, Sounded, acted_on, by_stick, percent, real, rehearsed, treated
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Event, EventKind, Reason
from evenhand.stats.estimate import Est
from evenhand.stats.proportions import clopper_pearson
from evenhand.units import Unit

MINUTE, STEP = 60, 300
FERN = sensor("Fern", warm_up=0)


def trace(*lows: tuple[int, int], n: int = 288, value: float = 60.0) -> np.ndarray:
    """A day at 120 with stretches (places from, to excluded) at a low value."""
    values = np.full(n, 120.0)
    for first, after in lows:
        values[first:after] = value
    return values


def made(values, sticks=(), events=(), unit=Unit.MG_DL):
    at = MIDNIGHT + STEP * np.arange(values.size)
    return trial(
        [FERN], [wear("fern", MIDNIGHT, MIDNIGHT + DAY)], sticks, {"fern": readings(at, values, unit)}, events
    )


USUAL = Setting()


def sounded(values, setting=USUAL) -> Sounded:
    return rehearsed(lay_out(made(values)).used[0], setting)


def places(found: Sounded) -> list[int]:
    return [int((at - MIDNIGHT) // STEP) for at in found.at]


def test_one_alarm_an_event() -> None:
    """It sounds at the first low reading and not again while the low lasts."""
    found = sounded(trace((50, 80), (120, 130)))
    assert places(found) == [50, 120]
    assert [int((at - MIDNIGHT) // STEP) for at in found.until] == [79, 129]


def test_the_delay_is_waited_for() -> None:
    """With 15 min of delay it sounds at the fourth reading; a shorter low never sounds."""
    assert places(sounded(trace((50, 80), (120, 123)), Setting(delay=15 * MINUTE))) == [53]


def test_silence_after_an_alarm() -> None:
    """A second low within 30 min waits until the silence is over; with none it sounds at once."""
    lows = trace((50, 52), (54, 70))
    assert places(sounded(lows)) == [50, 56]
    assert places(sounded(lows, Setting(silence=0))) == [50, 54]
    assert places(sounded(trace((50, 52), (54, 56)))) == [50]


def test_the_level_is_a_limit_of_the_unit_recorded() -> None:
    """70 mg/dL and 3.9 mmol/L are not low; 69 and 3.8 are."""
    assert places(sounded(trace((50, 60), value=70.0))) == []
    assert places(sounded(trace((50, 60), value=69.0))) == [50]
    for value, expected in ((3.9, []), (3.8, [50])):
        values = trace((50, 60)) / 18.0156
        values[50:60] = value
        used = lay_out(made(values, unit=Unit.MMOL_L)).used[0]
        assert places(rehearsed(used, Setting())) == expected


def test_another_level() -> None:
    """An alarm at 80 sounds where one at 70 does not."""
    assert places(sounded(trace((50, 60), value=75.0), Setting(level=80.0))) == [50]
    assert places(sounded(trace((50, 60), value=75.0))) == []


def test_a_gap_ends_the_event() -> None:
    """After more than 20 min without readings a low is another one."""
    values = trace((50, 90))
    at = MIDNIGHT + STEP * np.arange(values.size)
    keep = np.ones(values.size, np.bool_)
    keep[60:70] = False
    cut = trial(
        [FERN], [wear("fern", MIDNIGHT, MIDNIGHT + DAY)], (), {"fern": readings(at[keep], values[keep])}
    )
    assert places(rehearsed(lay_out(cut).used[0], Setting())) == [50, 70]


def test_no_low_no_alarm() -> None:
    """Nothing below the level, nothing sounds; no readings neither."""
    assert len(sounded(trace())) == 0
    assert len(rehearsed(lay_out(trial([FERN])).used[0], Setting())) == 0


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.integers(40, 110), min_size=30, max_size=200),
    st.sampled_from([0, 10, 20]),
    st.sampled_from([0, 30, 60]),
)
def test_laws_of_any_trace(values: list[int], delay: int, silence: int) -> None:
    """Every alarm stands at a low reading; two are never closer than the silence; a longer delay never makes more."""
    setting = Setting(delay=delay * MINUTE, silence=silence * MINUTE)
    found = sounded(np.array(values, np.float64), setting)
    assert all(values[place] < 70 for place in places(found))
    assert (np.diff(found.at) >= silence * MINUTE).all()
    assert (found.until >= found.at).all()
    later = sounded(np.array(values, np.float64), replace(setting, delay=(delay + 15) * MINUTE))
    assert len(later) <= len(found) or silence > 0


def note(kind: EventKind, at: int, text: str = "", of: str | None = "fern") -> Event:
    return Event(f"e{at}{kind}", kind, stamp(at), at, text=text, sensor=of)


def test_real_alarms_come_from_the_diary() -> None:
    """Low ones of this sensor, in order, each once; 'high' ones and other sensors' are none; without any, None."""
    events = (
        note(EventKind.ALARM, MIDNIGHT + 5 * HOUR, "low"),
        note(EventKind.ALARM, MIDNIGHT + 2 * HOUR),
        note(EventKind.ALARM, MIDNIGHT + 3 * HOUR, "High 250"),
        note(EventKind.ALARM, MIDNIGHT + 4 * HOUR, "low", of=None),
    )
    found = real(made(trace(), events=events), 0)
    assert found is not None
    assert found.at.tolist() == [MIDNIGHT + 2 * HOUR, MIDNIGHT + 5 * HOUR]
    assert real(made(trace()), 0) is None


def test_sticks_say_whether_an_alarm_was_true() -> None:
    """Of three alarms one is checked low, one checked and not low, one not checked: 1 of 2, exact interval, two thirds
    verified by count."""
    sticks = (
        stick(MIDNIGHT + STEP * 50 + 10 * MINUTE, 62, Reason.PROMPTED),
        stick(MIDNIGHT + STEP * 120 - 5 * MINUTE, 95, Reason.PLAN),
    )
    layout = lay_out(made(trace((50, 60), (120, 130), (200, 210)), sticks))
    found = by_stick(layout, 0, rehearsed(layout.used[0], Setting()), 70.0, np.empty(0, np.int64))
    assert found.checked.tolist() == [True, True, False]
    assert found.true.tolist() == [True, False, False]
    exact = clopper_pearson(1, 2)
    assert found.true_rate.value == pytest.approx(50.0)
    assert found.true_rate.low == pytest.approx(100 * exact.low)
    assert found.true_rate.n == 2


def test_acted_on_is_neither() -> None:
    """An alarm treated within 15 min, with no low stick, leaves the true rate; with a low stick it was true."""
    sticks = (
        stick(MIDNIGHT + STEP * 50, 90, Reason.PROMPTED),
        stick(MIDNIGHT + STEP * 120, 60, Reason.PROMPTED),
    )
    events = (
        note(EventKind.TREATED, MIDNIGHT + STEP * 50 + 5 * MINUTE),
        note(EventKind.TREATED, MIDNIGHT + STEP * 120 + 5 * MINUTE),
    )
    case = made(trace((50, 60), (120, 130)), sticks, events)
    layout = lay_out(case)
    found = by_stick(layout, 0, rehearsed(layout.used[0], Setting()), 70.0, treated(case))
    assert found.acted.tolist() == [True, False]
    assert found.true_rate.value == 100.0
    assert found.true_rate.n == 1
    late = np.array([MIDNIGHT + STEP * 50 + 16 * MINUTE])
    assert acted_on(rehearsed(layout.used[0], Setting()), late).tolist() == [False, False]


def test_detection_asks_the_judging_sticks_alone() -> None:
    """A planned low stick with an alarm near is detected, one without is not; a prompted one is not asked."""
    sticks = (
        stick(MIDNIGHT + STEP * 55, 60, Reason.PLAN),
        stick(MIDNIGHT + STEP * 100, 60, Reason.PLAN),
        stick(MIDNIGHT + STEP * 122, 60, Reason.PROMPTED),
    )
    layout = lay_out(made(trace((40, 60), (120, 130)), sticks))
    found = by_stick(layout, 0, rehearsed(layout.used[0], Setting()), 70.0, np.empty(0, np.int64))
    assert found.events == 2
    assert found.detection.value == pytest.approx(50.0)
    assert (
        by_stick(
            layout, 0, Sounded(np.empty(0, np.int64), np.empty(0, np.int64)), 70.0, np.empty(0, np.int64)
        ).detection.value
        == 0.0
    )


def test_percent_keeps_what_is_missing() -> None:
    """A share becomes a percentage; what is missing stays so."""
    assert percent(Est(0.25, 0.1, 0.5, n=4)).high == 50.0
    assert percent(Est.missing("no-data")).why == "no-data"
