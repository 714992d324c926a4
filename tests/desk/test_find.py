"""Which trial is meant where none is named."""

import pytest

from evenhand.desk.find import find_trial, is_trial_name
from evenhand.errors import TrialFileMissing, WrongUse


def test_the_only_trial_of_the_folder_is_found(tmp_path):
    """Exactly one file that ends in .trial; backups beside it and other files do not count."""
    (tmp_path / "spring.trial").write_bytes(b"")
    (tmp_path / "spring.trial.backups").mkdir()
    (tmp_path / "folder.trial").mkdir()
    (tmp_path / "meter.csv").write_bytes(b"")
    assert find_trial(tmp_path).name == "spring.trial"


def test_none_says_how_to_name_or_make_one(tmp_path):
    """No trial here: refused with both cures."""
    with pytest.raises(TrialFileMissing, match=r"no trial file in this folder.*evenhand new"):
        find_trial(tmp_path)


def test_two_are_listed_and_none_is_chosen(tmp_path):
    """Two trials: wrong use, both named, in order."""
    for name in ("b.trial", "a.trial"):
        (tmp_path / name).write_bytes(b"")
    with pytest.raises(WrongUse, match=r"2 trials \(a\.trial, b\.trial\)"):
        find_trial(tmp_path)


def test_a_first_word_is_a_trial_by_its_ending():
    """A value, a kind of note or nothing is none."""
    assert is_trial_name("folder/x.trial")
    assert not any(is_trial_name(word) for word in ("6.1", "meal", None, "x.trial.csv"))
