"""Right and present: gaps count, phone gaps once and once not, and only the time both were worn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.compare.present import away, present, right
from evenhand.records.diary import Event, EventKind
from evenhand.units import Beyond


def made(gap=(2 * DAY, 3 * DAY), events=(), values=(110.0, 150.0)):
    """Ten days, sticks of 100 every 6 h; Fern right, Slate wrong; Fern without readings during `gap`."""
    at = np.arange(0, 10 * DAY, 300)
    held = at[(at < gap[0]) | (at >= gap[1])]
    streams = {
        "fern": readings(MIDNIGHT + held, np.full(held.size, values[0])),
        "slate": readings(MIDNIGHT + at, np.full(at.size, values[1])),
    }
    sticks = [stick(MIDNIGHT + when, 100, id=f"s{when}") for when in range(2 * HOUR, 10 * DAY, 6 * HOUR)]
    worn = [wear(name, MIDNIGHT, MIDNIGHT + 10 * DAY) for name in streams]
    return trial([sensor("Fern"), sensor("Slate", 1)], worn, sticks, streams, events)


def note(start, end, of=None):
    return Event("away", EventKind.AWAY, stamp(MIDNIGHT + start), 0, None if end is None else stamp(MIDNIGHT + end), sensor=of)  # fmt: skip


def shares(trial_):
    return present(trial_, lay_out(trial_), (0, 1), 20)


def test_gaps_count_against_a_sensor():
    """Right at every reading, yet a day of ten without any: 36 of 40 sticks found it right and present."""
    fern, slate = shares(made())
    assert fern.all_gaps.value == pytest.approx(90.0)
    assert fern.all_gaps.n == 40
    assert fern.phone_gaps_out.value == pytest.approx(90.0)
    assert slate.all_gaps.value == 0.0


def test_a_phone_left_behind_is_no_fault_once():
    """The gap marked 'phone away' leaves the second number alone, for the sensor it is about."""
    fern, slate = shares(made(events=[note(2 * DAY, 3 * DAY)]))
    assert fern.all_gaps.value == pytest.approx(90.0)
    assert fern.phone_gaps_out.value == 100.0
    assert fern.phone_gaps_out.n == 36
    assert slate.phone_gaps_out.n == 40
    other, _ = shares(made(events=[note(2 * DAY, 3 * DAY, of="slate")]))
    assert other.phone_gaps_out.value == pytest.approx(90.0)


def test_an_open_note_lasts_on():
    """A note without an end covers everything after it; one about another sensor nothing."""
    trial_ = made(events=[note(2 * DAY, None, of="fern")])
    at = MIDNIGHT + np.array([DAY, 2 * DAY, 9 * DAY])
    assert away(trial_, 0, at).tolist() == [False, True, True]
    assert not away(trial_, 1, at).any()


def test_both_beyond_the_same_limit_is_right():
    """A stick beyond the meter's limit beside a reading beyond the sensor's agrees as far as both can tell."""
    trial_ = made()
    high = stick(MIDNIGHT + 5 * DAY, 600, beyond=Beyond.HIGH, id="high")
    stream = trial_.readings["slate"]
    flags = np.where(np.abs(stream.instant - (MIDNIGHT + 5 * DAY)) < 600, 2, 0).astype(np.int8)
    values = np.where(flags == 2, 400.0, stream.value)
    trial_ = replace(
        trial_,
        sticks=tuple(sorted((*trial_.sticks, high), key=lambda each: each.at.instant)),
        readings={**trial_.readings, "slate": replace(stream, value=values, flag=flags)},
    )
    layout = lay_out(trial_)
    row = next(i for i, event in enumerate(layout.events) if event.sticks[0].id == "high")
    assert right(layout, 1, 20)[row] == 1
    assert right(layout, 0, 20)[row] == 0


def test_time_outside_either_wear_does_not_count():
    """A stick while only one was worn says nothing of how the two compare."""
    trial_ = made()
    shorter = tuple(
        replace(each, removed=stamp(MIDNIGHT + 5 * DAY)) if each.sensor == "slate" else each
        for each in trial_.wears
    )
    fern, slate = shares(replace(trial_, wears=shorter))
    assert fern.all_gaps.n == slate.all_gaps.n == 20
