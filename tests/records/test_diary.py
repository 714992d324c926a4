"""Sticks and diary entries."""

from __future__ import annotations

import pytest

from evenhand.clock import Stamp
from evenhand.errors import BadRecord
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Stick
from evenhand.units import Glucose, Unit

NOON = Stamp.at(1772366400, "Europe/Lisbon")
SIX = Glucose(6.0, Unit.MMOL_L, "6.0")


def test_a_plain_stick_carries_nothing_it_was_not_told() -> None:
    """Value and time are enough."""
    stick = Stick("k", NOON, SIX, Reason.UNKNOWN, logged=NOON.instant)
    assert stick.marks == ()
    assert stick.shown == ()
    assert not stick.stated


def test_marks_are_found_by_kind_with_when_they_were_set() -> None:
    """A mark set later is told from one set with the value."""
    stick = Stick("k", NOON, SIX, Reason.HABIT, 0, marks=(Mark(MarkKind.UNWASHED, early=False),))
    found = stick.marked(MarkKind.UNWASHED)
    assert found is not None
    assert not found.early
    assert stick.marked(MarkKind.CONTROL) is None


@pytest.mark.parametrize("reason", [reason for reason in Reason if reason is not Reason.CALIBRATION])
def test_typing_a_value_into_a_sensor_is_a_calibration(reason: Reason) -> None:
    """`into` without the reason calibration contradicts itself."""
    with pytest.raises(BadRecord, match="not a calibration"):
        Stick("k", NOON, SIX, reason, 0, into="s1")
    assert Stick("k", NOON, SIX, Reason.CALIBRATION, 0, into="s1").into == "s1"


def test_a_calibration_is_no_planned_repeat() -> None:
    """Repeats measure the meter; a calibration sets a sensor."""
    with pytest.raises(BadRecord, match="repeat"):
        Stick("k", NOON, SIX, Reason.CALIBRATION, 0, repeat=True)


def test_an_event_cannot_end_before_it_starts() -> None:
    """From and to in the wrong order are refused; a moment is allowed."""
    earlier = Stamp.at(NOON.instant - 60, "Europe/Lisbon")
    with pytest.raises(BadRecord, match="ends before"):
        Event("e", EventKind.AWAY, NOON, 0, end=earlier)
    assert Event("e", EventKind.MEAL, NOON, 0, end=NOON).end == NOON


def test_a_trip_names_its_zone() -> None:
    """Without a zone, nobody could tell what the clocks showed."""
    with pytest.raises(BadRecord, match="time zone"):
        Event("e", EventKind.TRIP, NOON, 0)


def test_alarms_in_plain_words():
    """Level and verdict wherever they stand; a denial turns the verdict; what is not said is not known."""
    from evenhand.records.diary import alarm_of

    assert alarm_of("low right") == ("low", True)
    assert alarm_of("Low, it was WRONG") == ("low", False)
    assert alarm_of("high: not true") == ("high", False)
    assert alarm_of("not wrong, a low") == ("low", True)
    assert alarm_of("urgent") == (None, None)
    assert alarm_of("") == (None, None)


def test_ill_until_it_ends():
    """From its start to its end, the end not included; without an end for good; other notes are no illness."""
    from evenhand.records.diary import ill_at

    start, end = Stamp.at(1000, "UTC"), Stamp.at(2000, "UTC")
    ill = Event("e", EventKind.ILL, start, 0, end)
    assert [ill_at((ill,), at) is ill for at in (999, 1000, 1999, 2000)] == [False, True, True, False]
    open_ = Event("e", EventKind.ILL, start, 0)
    assert ill_at((open_,), 10**9) is open_
    assert ill_at((Event("m", EventKind.MEAL, start, 0),), 1000) is None
