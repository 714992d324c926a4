"""What a week asks for: exports with how far back they reach, and clocks."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.desk.frozen import Frozen

from evenhand.clock import DAY, HOUR, MINUTE, Zones
from evenhand.desk.intaking import IntakeSaid, Source, take_in
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.notes import NoteSaid, log_note
from evenhand.desk.wears import WearSaid, log_wear
from evenhand.desk.weekly import Exported, clock_off, due, exports, reach
from evenhand.errors import BadTime
from evenhand.records.diary import EventKind
from evenhand.store import file as store

NOW = 1_772_350_920  # 07:42 in Lisbon


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "spring.trial"
    make_trial(made, TrialSaid(("Fern", "Slate"), settings=("Slate.exports=no",)), Frozen("2026-03-01 08:00"))
    return made


def export(first, days):
    """A file of a reading an hour, from a date on."""
    start = datetime.fromisoformat(first)
    rows = [f"{start + timedelta(hours=hour):%Y-%m-%d %H:%M},{100 + hour % 50}" for hour in range(24 * days)]
    return Source(f"{first}.csv", ("time,glucose mg/dL\n" + "\n".join(rows) + "\n").encode())


def kinds(path, wall):
    return [(one.kind, one.device) for one in due(path, Frozen(wall).now)]


def test_before_the_first_insertion_a_proof_is_due(path):
    """Of every device that can be exported; a file taken in or a note is one; clocks are asked for too."""
    assert kinds(path, "2026-03-01 08:00")[:2] == [("proof", "Fern"), ("proof", "meter")]
    log_note(path, NoteSaid(EventKind.EXPORTED, of="meter"), Frozen())
    assert ("proof", "meter") not in kinds(path, "2026-03-01 08:00")


def test_a_week_after_the_last_export_the_next_is_due(path):
    """Counted from the day the file was taken in."""
    log_wear(path, "Fern", WearSaid(inserted="2026-02-20 08:00"), Frozen())
    take_in(path, export("2026-02-20 10:00", 8), IntakeSaid("Fern", {}, yes=True), Frozen("2026-03-01 09:00"))
    assert ("export", "Fern") not in kinds(path, "2026-03-08 08:00")
    assert ("export", "Fern") in kinds(path, "2026-03-08 09:00")
    assert ("export", "Slate") not in kinds(path, "2026-04-08 09:00")


def test_a_hole_shows_how_far_back_an_export_goes(path):
    """Two files with days missing between them: the second held no more, and what will be lost is dated."""
    log_wear(path, "Fern", WearSaid(inserted="2026-02-01 08:00"), Frozen())
    take_in(path, export("2026-02-01 10:00", 7), IntakeSaid("Fern", {}, yes=True), Frozen("2026-02-08 12:00"))
    take_in(path, export("2026-02-14 10:00", 7), IntakeSaid("Fern", {}, yes=True), Frozen("2026-02-21 12:00"))
    files = exports(path, store.read(path, readings=False))["Fern"]
    assert len(files) == 2
    (told,) = [
        one
        for one in due(path, Frozen("2026-03-01 08:00").now)
        if one.kind == "export" and one.device == "Fern"
    ]
    assert told.reach.ends
    assert told.reach.seconds == 7 * DAY + 2 * HOUR
    assert told.reach.lost_from == files[1].last
    assert told.reach.by == files[1].last + told.reach.seconds


def test_reach_is_a_least_until_something_is_missing():
    """One file: it went back so far, perhaps farther; a later one that joins on says no more. No file, no reach."""
    one = Exported(7 * DAY, 0, 7 * DAY)
    assert reach([], 0) is None
    assert (reach([one], 8 * DAY).seconds, reach([one], 8 * DAY).ends) == (7 * DAY, False)
    joined = Exported(14 * DAY, 7 * DAY, 14 * DAY)
    assert reach([joined, one], 15 * DAY).ends is False


@given(st.integers(-11 * 60, 11 * 60))
def test_a_clock_is_off_by_what_it_shows(minutes):
    """Any minute within twelve hours either way, back exactly."""
    shown = datetime(2026, 3, 1, 7, 42) + timedelta(minutes=minutes)
    assert clock_off(f"{shown:%H:%M}", NOW, Zones("Europe/Lisbon")) == minutes * MINUTE


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("07:42", 0),
        ("07:42:30", 30),
        ("07:45", 180),
        ("7:40", -120),
        ("06:42", -3600),
        ("2026-02-28 07:42", -86_400),
        ("23:50", -8 * 3600 + 8 * 60),
    ],
)
def test_clocks_as_people_read_them(text, seconds):
    """With or without seconds, with a date where the date is wrong too; around midnight the nearer way."""
    assert clock_off(text, NOW, Zones("Europe/Lisbon")) == seconds


def test_a_minute_that_is_not_over_is_right():
    """A clock without seconds shows 07:42 until 07:43."""
    assert clock_off("07:42", NOW + 59, Zones("Europe/Lisbon")) == 0
    assert clock_off("07:42:00", NOW + 59, Zones("Europe/Lisbon")) == -59


@pytest.mark.parametrize("text", ["soon", "25:00", "two words", ""])
def test_what_is_no_time_is_refused(text):
    """Nothing is guessed."""
    with pytest.raises(BadTime):
        clock_off(text, NOW, Zones("Europe/Lisbon"))


def test_a_clock_is_due_a_week_after_it_was_read(path):
    """Each device for itself."""
    log_note(path, NoteSaid(EventKind.CLOCK, "08:00", "Fern"), Frozen())
    assert ("clock", "Fern") not in kinds(path, "2026-03-08 07:00")
    assert ("clock", "meter") in kinds(path, "2026-03-08 07:00")
    assert ("clock", "Fern") in kinds(path, "2026-03-08 08:00")
