"""Words before the options, with or without the trial file."""

from pathlib import Path

import pytest

from evenhand.cli.arguments import split
from evenhand.errors import TrialFileMissing, WrongUse


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder that holds one trial."""
    monkeypatch.chdir(tmp_path)
    Path("here.trial").write_bytes(b"")
    return tmp_path


@pytest.mark.parametrize(
    ("given", "path", "rest"),
    [
        ((None,), "here.trial", []),
        (("x.trial",), "x.trial", []),
        (("6.1", None), "here.trial", ["6.1"]),
        (("x.trial", "6.1"), "x.trial", ["6.1"]),
        (("x.trial", None), "x.trial", [None]),
        ((None, None), "here.trial", [None]),
        (("meal", "pasta", None), "here.trial", ["meal", "pasta"]),
        (("a/b.trial", "meal", None), "a/b.trial", ["meal", None]),
    ],
)
def test_the_words_are_sorted_out(folder, given, path, rest):
    """A first word that ends in .trial is the file; else the folder's one trial is, and the words move up."""
    assert split(*given) == (Path(path), rest)


def test_one_word_too_many_is_wrong_use(folder):
    """Without a trial among them, all places being taken means one word too many."""
    with pytest.raises(WrongUse, match="'7' is one word too many"):
        split("6.1", "7")
    with pytest.raises(WrongUse):
        split("6.1")


def test_an_empty_folder_has_no_trial(tmp_path, monkeypatch):
    """Then one has to be named."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(TrialFileMissing):
        split("6.1", None)
