"""A folder with a frozen world for every test of a command."""

import pytest
from tests.cli.running import Desk
from tests.desk.frozen import Frozen


@pytest.fixture
def desk(tmp_path, monkeypatch, capsys):
    """An empty folder at 8 in the morning of Sunday 1 March 2026, in Lisbon."""
    monkeypatch.chdir(tmp_path)
    return Desk(tmp_path, Frozen(), capsys)


@pytest.fixture
def trial(desk):
    """The same, holding spring.trial with the sensors Fern and Slate, in mmol/L."""
    desk.done("new", "spring.trial", "--sensor", "Fern", "--sensor", "Slate", "--unit", "mmol/L")
    return desk
