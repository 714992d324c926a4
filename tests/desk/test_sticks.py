"""Marks are early only while nothing of that time could be known."""

import numpy as np
import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.sticks import StickSaid, log_stick, understood_value
from evenhand.records.change import Change
from evenhand.records.diary import MarkKind
from evenhand.records.files import SourceFile
from evenhand.records.readings import Batch, Readings
from evenhand.store import file as store


@pytest.fixture
def path(tmp_path):
    """A trial of Fern and Slate, into which a file with readings from 06:00 to 07:00 was taken."""
    now = Frozen()
    trial = make_trial(tmp_path / "x.trial", TrialSaid(("Fern", "Slate")), now)
    fern = trial.sensors[0].id
    at = now.now - 7200
    readings = Readings(
        np.array([at, at + 3600], np.int64), np.zeros(2, np.int32), np.array([110.0, 112.0]), np.zeros(2, np.bool_),
        np.zeros(2, np.int8), np.array([2, 3], np.int32), ("110", "112"),
    )  # fmt: skip
    file = SourceFile("f", "fern.csv", "0" * 64, 9, fern, at, 2)
    store.write(
        tmp_path / "x.trial", Change("took in", at, (file,), (Batch("b", "f", None, fern, readings),))
    )
    return tmp_path / "x.trial"


@pytest.mark.parametrize(
    ("at", "shown", "early"),
    [
        ("07:30", (), True),
        ("05:30", (), True),
        ("06:30", (), False),
        ("07:30", ("Fern=112",), False),
        ("06:30", ("Slate=112",), False),
    ],
)
def test_a_mark_is_early_where_no_reading_could_be_known(path, at, shown, early):
    """Set with the value; before a value shown was typed; before a file with readings of that time."""
    trial = store.read(path, readings=False)
    said = StickSaid(at=at, shown=shown, mark=(MarkKind.UNWASHED,))
    logged = log_stick(path, trial, understood_value("108", trial), said, Frozen())
    assert [mark.early for mark in logged.stick.marks] == [early]
    assert store.read(path).sticks[0].marks == logged.stick.marks


def test_every_stick_has_its_own_id(path):
    """Two sticks of one minute are two records."""
    trial = store.read(path, readings=False)
    now = Frozen()
    value = understood_value("108", trial)
    first = log_stick(path, trial, value, StickSaid(), now)
    second = log_stick(path, trial, value, StickSaid(), now)
    assert first.stick.id != second.stick.id
    assert second.change == first.change + 1


def test_the_same_mark_twice_is_one(path):
    """Repeating a mark adds nothing."""
    trial = store.read(path, readings=False)
    said = StickSaid(mark=(MarkKind.UNWASHED, MarkKind.UNWASHED, MarkKind.SAME_DROP))
    logged = log_stick(path, trial, understood_value("108", trial), said, Frozen())
    assert [mark.kind for mark in logged.stick.marks] == [MarkKind.UNWASHED, MarkKind.SAME_DROP]
