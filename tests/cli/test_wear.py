"""`evenhand wear`."""

import pytest

from evenhand.records.sensors import Ending, Side
from evenhand.store import file as store


def wears(name="Fern"):
    trial = store.read("spring.trial", readings=False)
    return trial.wears_of(trial.sensor(name).id)


def test_a_wear_is_logged_and_said_back(trial):
    """Everything told is kept and said."""
    said = trial.done(
        "wear", "--sensor", "fern", "--inserted", "yesterday 08:00", "--started", "yesterday 08:30", "--site",
        "upper arm", "--side", "left", "--lot", "L1", "--serial", "S1", "--expires", "2027-02", "--drives",
    )  # fmt: skip
    assert said.flat == (
        "Logged: Fern, inserted 08:00 yesterday, Saturday 28 February, started 08:30 yesterday, Saturday 28 "
        "February, still worn, left side, site upper arm, lot L1, serial S1, expires 2027-02-28, drives insulin."
    )
    (wear,) = wears()
    assert (wear.site, wear.side, wear.lot, wear.serial, wear.drives) == (
        "upper arm",
        Side.LEFT,
        "L1",
        "S1",
        True,
    )
    assert wear.started.instant - wear.inserted.instant == 1800


def test_the_same_insertion_supersedes(trial):
    """Same sensor, same --inserted: the wear is completed, not doubled; what was there is said too."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "yesterday 08:00", "--site", "arm")
    said = trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28T08:00", "--side", "right")
    assert "Before: Fern, inserted 08:00 yesterday, Saturday 28 February, still worn, site arm." in said.flat
    (wear,) = wears()
    assert (wear.site, wear.side) == ("arm", Side.RIGHT)
    trial.done("undo")
    assert wears()[0].side is None


def test_the_open_wear_is_meant_without_an_insertion(trial):
    """'wear --sensor Fern --removed ...' ends the one that is on."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00")
    trial.done("wear", "--sensor", "Fern", "--removed", "07:30", "--ending", "end")
    (wear,) = wears()
    assert (wear.removed.iso, wear.ending) == ("2026-03-01T07:30:00+00:00", Ending.END)


def test_without_an_open_wear_the_insertion_is_asked_for(trial):
    """Nothing is guessed where nothing is worn; a start alone makes a wear."""
    said = trial("wear", "--sensor", "Fern", "--removed", "07:30")
    assert said.code == 2
    assert "--inserted TIME" in said.err
    assert wears() == ()
    trial.done("wear", "--sensor", "Fern", "--started", "07:00")
    assert wears()[0].inserted is None


def test_two_open_wears_are_told_apart_by_their_insertion(trial):
    """Where two are open, which is meant must be said; the other is pointed out when it is logged."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00")
    said = trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-27 08:00")
    assert "Another wear of Fern" in said.flat
    assert "--inserted 2026-02-20T08:00 --removed TIME" in said.flat
    assert "2 open wears" in trial("wear", "--sensor", "Fern", "--removed", "07:00").err
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20T08:00", "--removed", "2026-02-27 07:00")
    assert [wear.removed is None for wear in wears()] == [False, True]


def test_a_replacement_names_what_it_replaces(trial):
    """--replaces takes the time at which the earlier one began."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00", "--removed", "2026-02-21 08:00", "--ending", "failed")  # fmt: skip
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-21 09:00", "--replaces", "2026-02-20 08:00")
    first, second = wears()
    assert second.replaces == first.id
    said = trial(
        "wear", "--sensor", "Fern", "--inserted", "2026-02-27 09:00", "--replaces", "2026-02-01 08:00"
    )
    assert said.code == 1
    assert "It has: 2026-02-20T08:00:00+00:00, 2026-02-21T09:00:00+00:00." in said.err


def test_nothing_new_writes_nothing(trial):
    """The same once more is said to be nothing new, and makes no change."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00", "--site", "arm")
    before = store.read("spring.trial").change
    said = trial.done("wear", "--sensor", "Fern", "--site", "arm")
    assert said.out.startswith("Nothing new: Fern")
    assert store.read("spring.trial").change == before


def test_an_ending_without_a_removal_is_pointed_out(trial):
    """The ending is kept; the missing time is asked for."""
    said = trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00", "--ending", "failed")
    assert "add --removed TIME" in said.flat


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("--sensor", "Moss", "--inserted", "07:00"), 1, "Its sensors are: Fern, Slate."),
        (("--inserted", "07:00"), 2, "--sensor is missing"),
        (("--sensor", "Fern", "--inserted", "2026-03-02 07:00"), 1, "has not come yet"),
        (("--sensor", "Fern", "--inserted", "07:00", "--removed", "06:00"), 1, "out of order"),
        (("--sensor", "Fern", "--inserted", "07:00", "--expires", "soon"), 1, "2027-03-31 or 2027-03"),
        (("--sensor", "Fern", "--inserted", "07:00", "--expires", "2027-13"), 1, "is not a date"),
        (("--sensor", "Fern", "--inserted", "07:00", "--side", "front"), 2, "Possible: left, right."),
        (("--sensor", "Fern", "--inserted", "07:00", "--ending", "lost"), 2, "never-started"),
        (("arm", "--sensor", "Fern"), 2, "one word too many"),
    ],
)
def test_what_is_not_understood_is_refused(trial, words, code, told):
    """One message with the cure; nothing is saved."""
    said = trial("wear", *words)
    assert (said.code, said.out) == (code, "")
    assert told in said.err
    assert wears() == ()


def test_two_wears_of_one_sensor_cannot_run_at_once(trial):
    """A contradiction between records is refused with both times."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 08:00", "--removed", "2026-02-25 08:00")
    said = trial("wear", "--sensor", "Fern", "--inserted", "2026-02-24 08:00")
    assert said.code == 1
    assert "ran at once" in said.err
    assert len(wears()) == 1


def test_an_insertion_time_can_be_corrected(trial):
    """--was names it as it was logged; everything else of the wear stays."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28 10:00", "--lot", "A1")
    said = trial.done(
        "wear", "--sensor", "Fern", "--was", "2026-02-28 10:00", "--inserted", "2026-02-28 09:15"
    )
    assert "Changed: Fern, inserted 09:15 yesterday" in said.flat
    (wear,) = store.read("spring.trial", readings=False).wears
    assert (wear.inserted.iso, wear.lot) == ("2026-02-28T09:15:00+00:00", "A1")
    assert (
        "no wear of Fern began"
        in trial("wear", "--sensor", "Fern", "--was", "2026-02-20 10:00", "--inserted", "09:00").err
    )
    assert trial("wear", "--sensor", "Fern", "--was", "2026-02-28 09:15").code == 2


def warming(trial):
    """Warm-ups of an hour and of half an hour."""
    for one in ("Fern.warm_up=1h", "Slate.warm_up=30min"):
        trial.done("declare", "--set", one)


def test_while_nothing_guards_it_is_said(trial):
    """The first sensor warms up alone; the second beside one that reads does not; both at once does, until the first reads."""
    warming(trial)
    said = trial.done("wear", "--sensor", "Fern", "--inserted", "07:50")
    assert (
        "From 07:50 today, Sunday 1 March, until 08:50 no sensor is past its warm-up: no alarm guards you then."
        in said.flat
    )
    said = trial.done("wear", "--sensor", "Slate", "--inserted", "07:55")
    assert "until 08:25 no sensor is past its warm-up" in said.flat
    trial.now.tick(3 * 3600)
    trial.done("wear", "--sensor", "Slate", "--removed", "now")
    said = trial.done("wear", "--sensor", "Slate", "--inserted", "now")
    assert "warm-up" not in said.out


def test_what_is_over_warns_of_nothing(trial):
    """A wear logged days later needs no warning about its warm-up."""
    warming(trial)
    assert "guards" not in trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-20 10:00").out


def test_the_sensor_that_drives_is_known_from_the_question(trial):
    """Said once, it holds for every wear of it; when it comes off, that is said in the one line that matters."""
    trial.done("declare", "--set", "driver=pump Fern")
    assert "drives insulin" in trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28 10:00").flat
    assert (
        "drives insulin" not in trial.done("wear", "--sensor", "Slate", "--inserted", "2026-02-28 10:00").flat
    )
    said = trial.done("wear", "--sensor", "Fern", "--removed", "07:30", "--ending", "end")
    assert "It was driving your insulin. Until the next one reads, go by fingersticks" in said.flat


def test_a_failed_sensor_gets_a_claim_sheet(trial):
    """What to type is said; the sheet carries the serial number, and that is said too."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28 10:00", "--serial", "SN-1")
    said = trial.done("wear", "--sensor", "Fern", "--removed", "07:30", "--ending", "failed")
    assert "evenhand wear --sensor Fern --inserted 2026-02-28T10:00 --claim claim.html" in said.flat
    said = trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28T10:00", "--claim", "claim.html")
    assert "Nothing new" not in said.flat
    assert "It carries the serial number; nothing else that Evenhand makes does." in said.flat
    assert "SN-1" in (trial.folder / "claim.html").read_text(encoding="utf-8")
    assert "SN-1" not in trial.done("judge", "--json").out
