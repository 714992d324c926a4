"""A fresh folder every time."""

import pytest

from evenhand.desk.folders import fresh_folder
from evenhand.errors import CannotWrite


def test_the_first_free_name_is_taken(tmp_path):
    """Never into a folder that holds something; numbered instead, any number of times."""
    wanted = tmp_path / "demo"
    made = []
    for _ in range(3):
        made.append(fresh_folder(wanted))
        (made[-1] / "file").write_bytes(b"x")
    assert [folder.name for folder in made] == ["demo", "demo-2", "demo-3"]


def test_an_empty_folder_is_used_as_it_is(tmp_path):
    """Somebody made it for this."""
    (tmp_path / "demo").mkdir()
    assert fresh_folder(tmp_path / "demo") == tmp_path / "demo"


def test_a_file_of_that_name_is_left_alone(tmp_path):
    """The next name is free."""
    (tmp_path / "demo").write_bytes(b"mine")
    assert fresh_folder(tmp_path / "demo").name == "demo-2"
    assert (tmp_path / "demo").read_bytes() == b"mine"


def test_a_place_where_nothing_can_be_made_is_said(tmp_path):
    """Inside a file no folder can be."""
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(CannotWrite, match="could not be made"):
        fresh_folder(tmp_path / "file" / "demo")
