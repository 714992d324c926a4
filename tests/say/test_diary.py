"""What is said after a note or a wear."""

from __future__ import annotations

import pytest

from evenhand.clock import DAY, Stamp, Zones
from evenhand.desk.weekly import Reach
from evenhand.records.diary import Event, EventKind
from evenhand.say import diary

ZONES = Zones("Europe/Lisbon")
AT = Stamp.at(1_772_352_000, "Europe/Lisbon")


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0, "right to the minute"),
        (60, "1 min ahead"),
        (-90, "1 min behind"),
        (3660, "1 h 1 min ahead"),
        (-43_200, "12 h behind"),
        (-20, "20 s behind"),
    ],
)
def test_how_far_a_clock_is_off(seconds, told):
    """In hours and minutes, each way; below a minute in seconds."""
    assert diary.off(seconds) == told


def test_only_what_needs_a_word_gets_one():
    """A meal is a meal."""
    assert diary.after_note(Event("e", EventKind.MEAL, AT, 0), "Fern") is None
    assert diary.after_note(Event("e", EventKind.CLOCK, AT, 0, text="soon"), "Fern") is None
    assert diary.after_note(Event("e", EventKind.ILL, AT, 0, AT), "Fern") is None


@pytest.mark.parametrize(
    "text", [diary.SICK, diary.SICK_OVER, diary.PUMP_OFF, diary.unguarded("09:00", "09:30")]
)
def test_nothing_recommends_a_treatment(text):
    """It points to the meter and to the care team; it names no dose, no food, no drug."""
    assert not any(
        word in text.lower() for word in ("dose of", "units", "eat", "drink", "correct with", "glucagon")
    )


@pytest.mark.parametrize(
    ("reach", "told"),
    [
        (None, "export it now, and always before a sensor is thrown away."),
        (Reach(9 * DAY, ends=False), "Its export went back 9 days so far."),
        (Reach(14 * DAY, ends=True), "Its export goes back 14 days."),
        (
            Reach(8 * DAY, True, AT.instant, AT.instant + 8 * DAY),
            "It goes back 8 days only: what it read from 1 March, 08:00 on is lost after 9 March, 08:00.",
        ),
    ],
)
def test_how_far_back_an_export_reaches(reach, told):
    """What is known is said, and by when something is lost."""
    said = diary.export_due("Fern", "export", 9, reach, ZONES)
    assert said.startswith("Fern was exported 9 days ago")
    assert said.endswith(told)


def test_the_first_export_is_a_proof():
    """Before anything is inserted; afterwards 'never' is said plainly."""
    assert "Before the first insertion: export the meter once" in diary.export_due(
        "meter", "proof", None, None, ZONES
    )
    assert diary.export_due("meter", "export", None, None, ZONES).startswith("The meter was never exported")
