"""What a trial file holds now."""

import pytest
from tests.store.making import T0, header, sensor, stick, wear

from evenhand.errors import TrialFileDamaged
from evenhand.store import rows
from evenhand.store.state import Entry, Version, contradictions, holding, records_of, trial_of, undoers


def entries(*undoes):
    return [Entry(number, T0, "", what) for number, what in enumerate(undoes, 1)]


@pytest.mark.parametrize(
    ("undoes", "expected"),
    [
        ((None, None), {}),
        ((None, None, 2), {2: 3}),
        ((None, None, 2, 3), {3: 4}),
        ((None, None, 2, 3, 4), {4: 5, 2: 3}),
        ((None, None, 2, 3, 2), {3: 4, 2: 5}),
        ((None, None, None, 2, 3, 4), {4: 6, 3: 5}),
    ],
)
def test_an_undo_that_is_undone_undoes_nothing(undoes, expected):
    """Chains of undoes, worked out by hand."""
    assert undoers(entries(*undoes)) == expected


def test_the_newest_version_that_is_not_undone_holds():
    """Whatever order the versions are read in; a withdrawal that holds takes the record out."""
    versions = [
        Version("a", 3, "k", "3"),
        Version("a", 1, "k", "1"),
        Version("b", 1, "k", "1"),
        Version("b", 2, "k", None),
    ]
    assert {name: version.body for name, version in holding(versions, {}).items()} == {"a": "3"}
    assert {name: version.body for name, version in holding(versions, {3: 4}).items()} == {"a": "1"}
    assert {name: version.body for name, version in holding(versions, {2: 4}).items()} == {"a": "3", "b": "1"}
    assert holding(versions, {1: 4, 3: 4}) == {}


def test_the_trial_is_in_the_order_it_promises():
    """Sensors by place, wears by insertion, sticks in time, whatever their ids and the order they came in."""
    records = [
        stick(2),
        wear(1, start=500),
        sensor("Slate", 1),
        stick(1),
        wear(2, start=100),
        sensor("Fern", 0),
    ]
    trial = trial_of(header(), records, 5)
    assert [made.name for made in trial.sensors] == ["Fern", "Slate"]
    assert [made.id for made in trial.wears] == ["w-2", "w-1"]
    assert [made.id for made in trial.sticks] == ["k-0001", "k-0002"]
    assert trial.change == 5
    assert contradictions(trial) == ()


def test_contradictions_come_one_by_one():
    """Each can be told from those that were there before."""
    trial = trial_of(header(), [wear(1, "Moss"), wear(2, "Reed"), sensor()], 1)
    assert len(contradictions(trial)) == 2


def test_all_unreadable_records_are_named_at_once(tmp_path):
    """Damage is told whole."""
    now = {
        "a": Version("a", 2, "stick", "{}"),
        "b": Version("b", 3, "wear", "[1]"),
        "c": Version("c", 1, "sensor", rows.encode(sensor())),
    }
    with pytest.raises(TrialFileDamaged, match=r"stick a of change 2: lacks a field.*; wear b of change 3"):
        records_of(now, tmp_path)
