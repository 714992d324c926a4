"""Output files are written whole or not at all."""

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.replacing import replace_file
from evenhand.errors import CannotWrite


def test_what_was_there_is_replaced(tmp_path):
    """The new bytes stand there, and nothing else is left in the folder."""
    target = tmp_path / "page.html"
    target.write_bytes(b"old")
    replace_file(target, b"new", Frozen())
    assert target.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_that_is_not_there_is_said(tmp_path):
    """The place is named, with the reason and the cure."""
    with pytest.raises(CannotWrite, match=r"page\.html' could not be written \(no such file.*--out"):
        replace_file(tmp_path / "gone" / "page.html", b"new", Frozen())


def test_what_cannot_be_replaced_stays_as_it_was(tmp_path):
    """A folder of that name is not removed, and no half file is left beside it."""
    target = tmp_path / "page.html"
    target.mkdir()
    (target / "kept").write_bytes(b"kept")
    with pytest.raises(CannotWrite):
        replace_file(target, b"new", Frozen())
    assert (target / "kept").read_bytes() == b"kept"
    assert list(tmp_path.iterdir()) == [target]
