"""`evenhand note`."""

import pytest

from evenhand.records.diary import EventKind
from evenhand.store import file as store


def events():
    return store.read("spring.trial", readings=False).events


@pytest.mark.parametrize("kind", [kind for kind in EventKind if kind is not EventKind.TRIP])
def test_every_kind_can_be_noted(trial, kind):
    """Each kind of the contract is kept with its words and said back."""
    said = trial.done("note", kind, "two words")
    assert said.flat.startswith(f"Noted: {kind}, 08:00 today, Sunday 1 March, two words.")
    (event,) = events()
    assert (event.kind, event.text, event.end, event.start.instant) == (
        kind,
        "two words",
        None,
        trial.now.now,
    )


def test_a_note_has_a_sensor_and_a_stretch(trial):
    """--of, --from and --to are kept; a bare end follows the start."""
    said = trial.done("note", "pressure", "--of", "slate", "--from", "yesterday 23:00", "--to", "1:30")
    assert (
        "pressure, 23:00 yesterday, Saturday 28 February, to 01:30 today, Sunday 1 March, of Slate."
        in said.flat
    )
    (event,) = events()
    assert event.end.instant - event.start.instant == 9000
    assert event.sensor == store.read("spring.trial").sensor("Slate").id


def test_a_trip_changes_the_zone_of_what_follows(trial):
    """After a trip began, times without a zone are the trip's, and that is said."""
    trial.done("note", "trip", "Asia/Tokyo", "--from", "yesterday 12:00")
    said = trial.done("stick", "6.1", "--at", "16:30")
    assert "16:30 today, Sunday 1 March (Asia/Tokyo)" in said.flat
    stick = store.read("spring.trial").sticks[0]
    assert stick.at.iso == "2026-03-01T16:30:00+09:00"


def test_coming_home_ends_the_trip(trial):
    """A trip to the trial's own zone only ends the one that was going on."""
    trial.done("note", "trip", "Asia/Tokyo", "--from", "yesterday 12:00")
    said = trial.done("note", "trip", "Europe/Lisbon")
    assert said.flat.startswith("This ends: trip, 12:00 yesterday")
    (trip,) = events()
    assert trip.end.instant == trial.now.now
    assert trial.done("stick", "6.1").out.startswith("6.1 mmol/L at 08:00 today, Sunday 1 March,")


def test_a_second_trip_ends_the_first(trial):
    """Travelling on: one zone at a time."""
    trial.done("note", "trip", "Asia/Tokyo", "--from", "2026-02-20 12:00")
    trial.done("note", "trip", "Asia/Seoul", "--from", "2026-02-25 12:00")
    first, second = events()
    assert first.end.instant == second.start.instant
    assert second.end is None
    assert store.read("spring.trial").zones.at(trial.now.now) == "Asia/Seoul"


def test_a_trip_s_end_is_in_the_trip_s_zone(trial):
    """The return is told by the clock that was shown there."""
    trial.done("note", "trip", "Asia/Tokyo", "--from", "2026-02-20 12:00", "--to", "2026-02-25 12:00")
    assert events()[0].end.iso == "2026-02-25T12:00:00+09:00"


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        ((), 2, "Choose one of meal"),
        (("picnic",), 2, "'picnic' is not a kind of note"),
        (("trip",), 1, "A trip has no time zone"),
        (("trip", "Tokyo"), 1, "'Tokyo' is not a time zone"),
        (("trip", "Europe/Lisbon"), 2, "no trip is going on"),
        (("meal", "--of", "Moss"), 1, "Its sensors are: Fern, Slate."),
        (("meal", "--from", "today 07:00", "--to", "today 06:00"), 1, "ends before it starts"),
        (("meal", "pasta", "and more"), 2, "one word too many"),
    ],
)
def test_what_is_not_understood_is_refused(trial, words, code, told):
    """One message with the cure; nothing is saved."""
    said = trial("note", *words)
    assert (said.code, said.out) == (code, "")
    assert told in " ".join(said.err.split())
    assert events() == ()


def test_overlapping_trips_are_refused(trial):
    """Nobody is in two zones at once; the other trip is named."""
    trial.done("note", "trip", "Asia/Tokyo", "--from", "2026-02-20 12:00", "--to", "2026-02-25 12:00")
    said = trial("note", "trip", "Asia/Seoul", "--from", "2026-02-22 12:00", "--to", "2026-02-27 12:00")
    assert said.code == 1
    assert "Another trip, to Asia/Tokyo" in said.err
    assert len(events()) == 1


def test_an_illness_lasts_until_it_is_ended(trial):
    """Noted without an end it pauses the trial, and says so; an end without a beginning ends it."""
    said = trial.done("note", "ill", "fever")
    assert "While you are ill there is no trial task" in said.flat
    assert "Your sick-day rules and your care team come first." in said.flat
    trial.now.tick(86_400)
    said = trial.done("note", "ill", "--to", "now")
    assert said.flat.startswith("This ends: ill, 08:00 yesterday")
    (ill,) = events()
    assert ill.end.instant - ill.start.instant == 86_400


def test_an_end_without_anything_going_on_is_a_note_of_its_own(trial):
    """Nothing is open: a stretch from now to then, as ever."""
    trial.done("note", "ill", "--from", "yesterday 10:00", "--to", "yesterday 20:00")
    assert len(events()) == 1


@pytest.mark.parametrize(
    ("shown", "told"),
    [
        ("08:00", "The clock of Fern is right to the minute."),
        ("08:04", "The clock of Fern is 4 min ahead."),
        ("07:00", "1 h behind."),
        ("20:00", "12 h"),
    ],
)
def test_what_a_clock_shows_is_held_against_now(trial, shown, told):
    """And kept with how far it is off."""
    assert told in trial.done("note", "clock", shown, "--of", "Fern").flat


def test_the_meters_clock_is_noted_as_the_meters(trial):
    """--of meter, as for files."""
    assert (
        "The clock of the meter is 2 min behind."
        in trial.done("note", "clock", "07:58", "--of", "meter").flat
    )
    (one,) = events()
    assert (one.sensor, one.off) == (None, -120)


def test_a_trip_says_whose_clocks_changed_by_themselves(trial):
    """Kept by device; 'none' is an answer; left out, it is asked for; of anything else it is wrong use."""
    said = trial.done("note", "trip", "Asia/Tokyo", "--clocks", "Fern, meter")
    assert "clocks that changed by themselves: Fern and meter" in said.flat
    assert events()[0].clocks == (store.read("spring.trial").sensor("Fern").id, "meter")
    trial.now.tick(3600)
    trial.done("note", "trip", "Asia/Seoul", "--clocks", "none")
    assert events()[1].clocks == ()
    trial.now.tick(3600)
    assert "Which clocks changed by themselves?" in trial.done("note", "trip", "Europe/Paris").flat
    assert trial("note", "meal", "--clocks", "Fern").code == 2
    assert "no sensor 'Moss'" in trial("note", "trip", "Asia/Tokyo", "--clocks", "Moss").err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("low, right", None),
        ("woke me", "For a low or a high?"),
        ("high", "Whether it was right is not said."),
    ],
)
def test_an_alarm_is_for_something_and_right_or_not(trial, text, told):
    """What is missing is asked for, once, after it is kept."""
    said = trial.done("note", "alarm", text, "--of", "Fern", "--from", "02:10")
    assert (told in said.flat) if told else said.flat.endswith(f"{text}.")
