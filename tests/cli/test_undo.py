"""`evenhand undo`, `check` and `backup`."""

from pathlib import Path

from evenhand.store import file as store


def test_the_last_change_is_taken_back_and_can_come_back(trial):
    """Undo takes back the last stick; undoing that brings it back."""
    trial.done("stick", "6.1")
    said = trial.done("undo")
    assert "took back change 2" in said.flat
    assert "'evenhand undo 3' brings it back" in said.flat
    assert store.read("spring.trial").sticks == ()
    trial.done("undo", "3")
    assert len(store.read("spring.trial").sticks) == 1


def test_a_change_is_taken_back_by_its_number(trial):
    """The one before the last, by number, with the file named."""
    trial.done("stick", "6.1")
    trial.done("stick", "7.2")
    trial.done("undo", "spring.trial", "2")
    assert [stick.glucose.value for stick in store.read("spring.trial").sticks] == [7.2]


def test_the_list_says_what_was_done_and_takes_nothing_back(trial):
    """Number, time and what, oldest first, with what was taken back."""
    trial.done("stick", "6.1")
    trial.done("undo")
    said = trial.done("undo", "--list")
    lines = said.out.splitlines()
    assert [line.split()[0] for line in lines if not line.startswith(" " * 6)] == ["1", "2", "3"]
    assert "08:00 today, Sunday 1 March: made the trial" in lines[0]
    assert "2026-03-01T08:00:00+00:00 (taken back by 3)" in said.flat
    assert max(map(len, lines)) <= 80
    assert store.read("spring.trial").change == 3


def test_what_cannot_be_taken_back_is_refused(trial):
    """No such change, not a number, nothing left."""
    assert (trial("undo", "7").code, trial("undo", "x").code, trial("undo").code) == (1, 2, 1)
    assert "not the number of a change" in trial("undo", "x").err


def test_a_whole_file_is_said_to_be_whole(trial):
    """`check` counts what it read."""
    trial.done("stick", "6.1")
    assert trial.done("check").flat == "spring.trial is whole: 2 changes, 3 records, 0 readings."


def test_a_damaged_file_names_its_newest_good_copy(trial):
    """A truncated file: exit code 1, the problem, and where a good copy lies."""
    trial.done("stick", "6.1")
    trial.done("backup")
    whole = Path("spring.trial").read_bytes()
    Path("spring.trial").write_bytes(whole[: len(whole) // 2])
    said = trial("check")
    assert said.code == 1
    assert "is not whole" in said.flat
    assert "spring.trial.backups" in "".join(said.out.split())
    assert "6.1" not in trial("export", "sticks").out


def test_a_damaged_file_without_a_copy_says_so(trial):
    """Nothing is promised that is not there."""
    Path("spring.trial").write_bytes(Path("spring.trial").read_bytes()[:4096])
    said = trial("check")
    assert said.code == 1
    assert "No good copy was found" in said.flat


def test_a_backup_is_the_same_trial(trial):
    """The copy holds what the trial holds; it goes where it is sent, and never over a file."""
    trial.done("stick", "6.1")
    said = trial.done("backup", "spring.trial", "copy.trial")
    assert said.out.strip().endswith("copy.trial")
    assert store.read("copy.trial").sticks == store.read("spring.trial").sticks
    again = trial("backup", "spring.trial", "copy.trial")
    assert again.code == 1
    assert "copy.trial" in again.err
