"""The morning round, as somebody at the keyboard meets it."""

import pytest
from tests.cli.typing_in import typed

from evenhand.records.diary import EventKind, Reason
from evenhand.store import file as store

LOW, VERY_LOW = "Treat first. This can wait.", "Serious low. Treat now; get help if you need it."


@pytest.fixture
def worn(trial):
    """Both sensors on since yesterday, everything exported and every clock read this morning: nothing weekly is due."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "yesterday 10:00")
    trial.done("wear", "--sensor", "Slate", "--inserted", "yesterday 11:00")
    for device in ("Fern", "Slate", "meter"):
        trial.done("note", "clock", "08:00", "--of", device)
        trial.done("note", "exported", "--of", device)
    return trial


def held():
    return store.read("spring.trial", readings=False)


def notes(kind):
    return [event for event in held().events if event.kind is kind]


def test_a_night_typed_in_seconds(worn, monkeypatch):
    """A line a stick, a key for why, one line for both screens; then alarms and the sensor slept on."""
    typed(
        monkeypatch,
        "02:10 4.1",
        "h",
        "5.0 -",
        "06:40 6.2 alarm, woke me",
        "",
        "",
        "Fern 02:05 low right",
        "",
        "Slate 03:00-04:30",
        "",
    )
    said = worn.done("stick")
    first, second = held().sticks
    assert (first.reason, first.glucose.value, first.at.iso) == (
        Reason.HABIT,
        4.1,
        "2026-03-01T02:10:00+00:00",
    )
    assert [(one.sensor, one.glucose.value) for one in first.shown] == [(held().sensor("Fern").id, 5.0)]
    assert (second.reason, second.stated, second.shown) == (Reason.PROMPTED, True, ())
    (alarm,) = notes(EventKind.ALARM)
    assert (alarm.text, alarm.start.iso) == ("low right", "2026-03-01T02:05:00+00:00")
    (pressed,) = notes(EventKind.PRESSURE)
    assert pressed.end.instant - pressed.start.instant == 90 * 60
    assert notes(EventKind.OTHER)[0].text == "alarm, woke me"
    assert said.out.rstrip().endswith("Done.")


def test_values_shown_are_asked_only_after_the_stick_is_saved(worn, monkeypatch):
    """Leaving at the question about the screens loses no stick."""
    typed(monkeypatch, "02:10 4.1", "p")
    said = worn.done("stick")
    assert said.out.index("4.1 mmol/L at 02:10") < said.out.index(
        "The screens then, in this order: Fern Slate."
    )
    assert held().sticks[0].reason is Reason.PLAN
    assert "Stopped. What was typed is saved." in said.out


def test_a_low_of_this_moment_ends_the_round(worn, monkeypatch):
    """Nothing is asked of somebody who is low: the line is the last thing on the screen."""
    typed(monkeypatch, "07:55 2.8", "h", "")
    said = worn.done("stick")
    assert said.out.splitlines()[-1] == VERY_LOW
    assert "Why?" not in said.out
    assert len(held().sticks) == 1


def test_a_low_of_the_night_has_its_line_and_the_round_goes_on(worn, monkeypatch):
    """Its line comes next; why it was taken is asked at the end, with what else has no reason."""
    typed(monkeypatch, "02:10 3.4", "03:00 5.0", "h", "", "", "a", "", "")
    said = worn.done("stick")
    lines = said.out.splitlines()
    place = next(
        place for place, line in enumerate(lines) if line.endswith("no reason given") and "3.4" in line
    )
    assert lines[place + 1] == LOW
    assert [stick.reason for stick in held().sticks] == [Reason.PROMPTED, Reason.HABIT]


def test_what_cannot_be_read_is_asked_again(worn, monkeypatch):
    """A slip costs one line: the reason, and the prompt again."""
    typed(
        monkeypatch,
        "banana",
        "02:10 110",
        "25:10 4.1",
        "02:10 4.1",
        "h",
        "9 9 9",
        "",
        "",
        "Moss 02:00 low",
        "",
        "",
    )
    said = worn.done("stick")
    assert "'banana' is not a time and a value." in said.err
    assert "write '110 mmol" not in said.err
    assert "write '110 mg/dL'" in said.err
    assert "more values than there are sensors" in said.err
    assert "does not begin with a sensor's name" in said.err
    assert len(held().sticks) == 1


def test_a_calibration_is_asked_into_which(worn, monkeypatch):
    """By the sensor's number."""
    typed(monkeypatch, "07:10 5.9", "c", "2", "", "", "", "")
    worn.done("stick")
    (stick,) = held().sticks
    assert (stick.reason, stick.into) == (Reason.CALIBRATION, held().sensor("Slate").id)


def test_the_meters_file_can_be_dropped_in(worn, monkeypatch):
    """A path, with the quotes a terminal puts around it: taken in, then each stick is asked about once by a key."""
    (worn.folder / "meter memory.csv").write_text("time,mmol/L\n2026-03-01 02:10,4.1\n2026-03-01 06:30,6.6\n")
    typed(monkeypatch, "'meter memory.csv'", "", "h", "p", "", "")
    said = worn.done("stick")
    assert "2 sticks taken in from meter memory.csv." in said.flat
    assert [stick.reason for stick in held().sticks] == [Reason.HABIT, Reason.PLAN]
    typed(monkeypatch, "meter memory.csv", "", "", "")
    again = worn.done("stick")
    assert "Everything in it is held already." in again.out
    assert "without a reason" not in again.out


def test_a_reason_is_asked_once(worn, monkeypatch):
    """'Not known' is an answer: the next round does not ask again; Enter leaves it for later."""
    worn.done("stick", "6.1", "--at", "06:00")
    worn.done("stick", "6.3", "--at", "06:30")
    typed(monkeypatch, "", "n", "", "", "")
    worn.done("stick")
    first, second = held().sticks
    assert (first.stated, second.stated) == (True, False)
    typed(monkeypatch, "", "h", "", "")
    assert "1 of the last day and a half without a reason." in worn.done("stick").flat
    assert held().sticks[1].reason is Reason.HABIT


def test_once_a_week_clocks_and_exports(worn, monkeypatch):
    """Eight days later every clock is asked for and every export called for, and a reading of a clock is said back."""
    worn.now.tick(8 * 86_400)
    typed(monkeypatch, "", "", "", "08:03", "soon", "07:58", "08:00")
    said = worn.done("stick")
    assert (
        "Fern was exported 8 days ago: export it now, and always before a sensor is thrown away." in said.flat
    )
    assert "The meter was exported 8 days ago" in said.flat
    assert "The clock of Fern is 3 min ahead." in said.flat
    assert "Write it as 07:45." in said.flat
    assert "The clock of Slate is 2 min behind." in said.flat
    assert "The clock of the meter is right to the minute." in said.flat
    assert [event.off for event in notes(EventKind.CLOCK)][3:] == [180, None, -120, 0]


def test_nothing_weekly_is_asked_of_somebody_ill(worn, monkeypatch):
    """No trial task on a sick day."""
    worn.now.tick(8 * 86_400)
    worn.done("note", "ill", "fever")
    typed(monkeypatch, "", "", "")
    said = worn.done("stick")
    assert "export" not in said.out
    assert "clock" not in said.out


def test_before_the_first_insertion_a_proof_of_each_export_is_asked_for(trial, monkeypatch):
    """That every device can be exported is known before the first sensor goes in; nothing else is asked yet."""
    typed(monkeypatch, "", "", "")
    said = trial.done("stick")
    assert "Before the first insertion: export Fern once" in said.flat
    assert "alarm" not in said.out.lower()
    trial.done("note", "exported", "--of", "Fern")
    typed(monkeypatch, "")
    assert "export Fern once" not in trial.done("stick").flat


def test_the_round_fits_a_terminal(worn, monkeypatch):
    """Nothing it says of its own is wider than 80 columns."""
    worn.done("stick", "6.1", "--at", "06:00")
    typed(monkeypatch, "02:10 4.1", "h", "", "", "h", "", "")
    assert max(map(len, worn.done("stick").out.splitlines())) <= 80
