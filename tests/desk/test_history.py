"""Looking back and making safe, as the desk does it."""

from pathlib import Path

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.history import backup, check, history, undo
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.sticks import StickSaid, log_stick, understood_value
from evenhand.errors import NothingToUndo
from evenhand.store import file as store


@pytest.fixture
def path(tmp_path):
    """A trial with two sticks."""
    now = Frozen()
    make_trial(tmp_path / "x.trial", TrialSaid(("Fern",)), now)
    for text in ("110", "120"):
        now.tick(60)
        trial = store.read(tmp_path / "x.trial", readings=False)
        log_stick(tmp_path / "x.trial", trial, understood_value(text, trial), StickSaid(), now)
    return tmp_path / "x.trial"


def test_history_is_in_order_with_its_zones(path):
    """Numbers from 1, times that grow, and the zones to tell them in."""
    found = history(path)
    assert [line.number for line in found.changes] == [1, 2, 3]
    assert [line.at for line in found.changes] == sorted(line.at for line in found.changes)
    assert found.zones.home == "Europe/Lisbon"


def test_undo_is_dated_by_the_clock_it_is_given(path):
    """The undoing is a change of its own, at the moment it was done."""
    now = Frozen("2026-03-05 09:00")
    made = undo(path, None, now)
    assert (made.number, made.at) == (4, now.now)
    assert history(path).changes[2].undone_by == 4
    undo(path, 2, now)
    with pytest.raises(NothingToUndo):
        undo(path, None, now)


def test_a_backup_beside_the_trial_can_be_opened(path):
    """It holds the same records, and the trial is whole before and after."""
    copy = backup(path, None, Frozen())
    assert copy.parent.name == "x.trial.backups"
    assert store.read(copy).sticks == store.read(path).sticks
    assert check(path).sound
    assert check(copy).sound


def test_a_backup_goes_where_it_is_sent(path, tmp_path):
    """A named place is used as it is."""
    assert backup(path, tmp_path / "safe.trial", Frozen()) == Path(tmp_path / "safe.trial")
