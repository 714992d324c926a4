"""The rules between records."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenhand.clock import Stamp, ZoneOrigin
from evenhand.errors import ContradictingRecords, Problems, UnknownName
from evenhand.records.diary import Event, EventKind, Reason, Shown, Stick
from evenhand.records.sensors import Sensor, Wear
from evenhand.records.trial import Header, Trial
from evenhand.units import Glucose, Unit

HEADER = Header("t", "spring", "Europe/Lisbon", ZoneOrigin.GIVEN, Unit.MG_DL, "meter", 7, 0)
FERN, SLATE = Sensor("s1", "Fern", 0), Sensor("s2", "Slate", 1)


def at(instant: int) -> Stamp:
    return Stamp.at(instant, "Europe/Lisbon")


def test_a_sensor_is_found_by_its_name_in_any_case() -> None:
    """People type names carelessly."""
    trial = Trial(HEADER, (FERN, SLATE))
    assert trial.sensor(" fern ") is FERN
    with pytest.raises(UnknownName, match="Fern, Slate"):
        trial.sensor("Moss")


def test_wears_of_a_sensor_come_by_start() -> None:
    """Whatever the order in which they were logged."""
    late, early = Wear("w2", "s1", inserted=at(5000)), Wear("w1", "s1", inserted=at(0), removed=at(4000))
    trial = Trial(HEADER, (FERN, SLATE), wears=(late, early, Wear("w3", "s2", inserted=at(10))))
    assert trial.wears_of("s1") == (early, late)


def test_wears_may_overlap_between_insertion_and_start_only() -> None:
    """The next sensor may settle under the skin while the old one still runs."""
    old = Wear("w1", "s1", inserted=at(0), removed=at(100_000))
    settling = Wear("w2", "s1", inserted=at(50_000), started=at(100_000))
    Trial(HEADER, (FERN,), wears=(old, settling)).check()
    with pytest.raises(ContradictingRecords, match="ran at once"):
        Trial(HEADER, (FERN,), wears=(old, replace(settling, started=at(99_999)))).check()


def test_wears_of_different_sensors_run_side_by_side() -> None:
    """That is what a trial is for."""
    Trial(
        HEADER, (FERN, SLATE), wears=(Wear("w1", "s1", inserted=at(0)), Wear("w2", "s2", inserted=at(0)))
    ).check()


def test_all_contradictions_are_told_at_once() -> None:
    """Twice the same name, a wear of nothing, a stick shown by nothing: three problems, one error."""
    shown = (Shown("gone", Glucose(100, Unit.MG_DL, "100"), 0),)
    stick = Stick("k", at(0), Glucose(100, Unit.MG_DL, "100"), Reason.PLAN, 0, shown=shown)
    trial = Trial(
        HEADER, (FERN, Sensor("s2", "FERN", 1)), wears=(Wear("w", "gone", inserted=at(0)),), sticks=(stick,)
    )
    with pytest.raises(Problems) as caught:
        trial.check()
    assert len(caught.value.each()) == 3


def test_trips_set_the_zone() -> None:
    """During a trip the wearer's wall shows the zone travelled to."""
    trip = Event("e", EventKind.TRIP, at(1000), 0, end=at(2000), text="Asia/Tokyo")
    zones = Trial(HEADER, (FERN,), events=(trip,)).zones
    assert [zones.at(instant) for instant in (999, 1000, 1999, 2000)] == [
        "Europe/Lisbon", "Asia/Tokyo", "Asia/Tokyo", "Europe/Lisbon",
    ]  # fmt: skip
