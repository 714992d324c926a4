"""Progress is shown only on a terminal, and only for what takes longer than a second."""

import io

import pytest
from tests.desk.frozen import Frozen

from evenhand.cli import progress
from evenhand.cli.progress import Bar
from evenhand.cli.world import world


class Terminal(io.StringIO):
    """A standard error that says whether it is a terminal."""

    def __init__(self, terminal):
        super().__init__()
        self.terminal = terminal

    def isatty(self):
        return self.terminal


@pytest.mark.parametrize(
    ("terminal", "seconds", "shown"), [(True, 2.0, True), (True, 0.5, False), (False, 9.0, False)]
)
def test_a_bar_appears_only_where_it_helps(monkeypatch, terminal, seconds, shown):
    """On a terminal after a second: what is being done. Else: nothing at all."""
    stream = Terminal(terminal)
    monkeypatch.setattr("sys.stderr", stream)
    now = Frozen()
    with world(now), Bar() as bar:
        bar(0.0, "laying the trial out")
        now.clock = seconds
        bar(0.5, "comparing the sensors")
    assert ("comparing the sensors" in stream.getvalue()) is shown
    assert "laying" not in stream.getvalue()
    assert bool(stream.getvalue()) is shown


def test_patience_is_a_second():
    """The budget of the issue."""
    assert progress.PATIENCE == 1.0
