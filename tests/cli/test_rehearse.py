"""`evenhand rehearse`."""

from pathlib import Path

from evenhand.store import file as store


def test_an_invented_trial_says_that_it_is_one(desk):
    """Where trial, files and truth are, and with which seed; twice makes two folders."""
    said = desk.done("rehearse", "--days", "2", "--wears", "1", "--sticks", "4", "--seed", "3")
    assert "Invented with seed 3: nobody's readings" in said.flat
    for label in ("Trial", "Files", "Truth"):
        place = next(line for line in said.out.splitlines() if line.startswith(f"{label}: "))
        assert Path(place.partition(": ")[2]).exists()
    assert store.check("rehearsal/rehearsed.trial").sound
    desk.done("rehearse", "--days", "2", "--wears", "1", "--seed", "3", "--out", "rehearsal")
    assert Path("rehearsal-2/rehearsed.trial").exists()


def test_what_cannot_be_invented_is_refused(desk):
    """No days, no number: the right exit code, nothing made."""
    assert desk("rehearse", "--days", "0").code == 1
    assert desk("rehearse", "--days", "many").code == 2
    assert not list(desk.folder.iterdir())
