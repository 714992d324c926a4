"""History and undo, against a naive model."""

import itertools
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.store.making import (
    T0,
    Change,
    Event,
    EventKind,
    add_stick,
    beginning,
    header,
    intake,
    sensor,
    stamp,
    stick,
    wear,
)  # fmt: skip

from evenhand.errors import ContradictingRecords, NothingToUndo, UnknownName
from evenhand.records.diary import Reason, Shown
from evenhand.store import file
from evenhand.units import Glucose, Unit


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    return made


def sticks(path):
    return [made.id for made in file.read(path, readings=False).sticks]


def test_the_history_lists_every_change(path):
    """Number, instant and words of every change, oldest first."""
    file.write(path, add_stick(1, at=T0 + 5))
    file.undo(path, None, T0 + 9)
    lines = file.history(path)
    assert [(line.number, line.at, line.undone_by) for line in lines] == [(1, T0, None), (2, T0 + 5, 3), (3, T0 + 9, None)]  # fmt: skip
    assert lines[2].what == "took back change 2: logged stick 1"


def test_undo_without_a_number_walks_back(path):
    """Undo twice takes back two changes, newest first, and never the making of the trial."""
    file.write(path, add_stick(1))
    file.write(path, add_stick(2))
    file.undo(path, None, T0)
    assert sticks(path) == ["k-0001"]
    file.undo(path, None, T0)
    assert sticks(path) == []
    with pytest.raises(NothingToUndo, match="no change left"):
        file.undo(path, None, T0)
    with pytest.raises(NothingToUndo, match="made the trial"):
        file.undo(path, 1, T0)


def test_undoing_the_undo_brings_it_back(path):
    """An undo is a change; undone in turn, all is as before; and again, as often as wanted."""
    file.write(path, add_stick(1))
    there = file.read(path)
    for number in (2, 3, 4, 5):
        made = file.undo(path, number, T0)
        assert made.number == number + 1
        assert sticks(path) == (["k-0001"] if number % 2 else [])
    again = file.read(path)
    assert (again.sticks, again.edition) == (there.sticks, there.edition)
    assert [line.undone_by for line in file.history(path)] == [None, None, 4, None, 6, None]


def test_undoing_a_correction_brings_the_older_version_back(path):
    """A superseded record shows its older version when the newer is taken back."""
    file.write(path, add_stick(1))
    file.write(path, Change("corrected", T0, records=(stick(1, 7.2),)))
    assert file.read(path).sticks[0].glucose.value == 7.2
    file.undo(path, 3, T0)
    assert file.read(path).sticks == (stick(1),)


def test_undoing_a_withdrawal_brings_the_record_back(path):
    """A withdrawn record is gone, not lost."""
    file.write(path, add_stick(1))
    file.write(path, Change("crossed out", T0, withdrawn=("k-0001",)))
    assert sticks(path) == []
    file.undo(path, None, T0)
    assert sticks(path) == ["k-0001"]


def test_undoing_an_intake_takes_everything_of_it(path):
    """Readings, ledger and file record go together, and come back together."""
    file.write(path, intake(1))
    before = file.read(path)
    file.undo(path, None, T0)
    trial = file.read(path)
    assert (trial.readings, trial.files, file.ledger(path), file.batches(path)) == ({}, (), [], [])
    file.undo(path, 3, T0)
    after = file.read(path)
    assert after.edition == before.edition
    assert file.ledger(path) == list(intake(1).ledger)


def test_a_change_another_corrected_is_not_taken_back_alone(path):
    """Where a later change wrote the same record, the refusal names it; nothing is written."""
    file.write(path, add_stick(1))
    file.write(path, Change("typed what Fern showed", T0, records=(replace(stick(1), shown=(Shown("s-fern", Glucose(6.0, Unit.MMOL_L, "6.0"), T0),)),)))  # fmt: skip
    with pytest.raises(
        ContradictingRecords,
        match=r"changed later, by change 3 \(typed what Fern showed\).*take back change 3",
    ):
        file.undo(path, 2, T0)
    assert len(file.history(path)) == 3
    file.undo(path, 3, T0)
    file.undo(path, 2, T0)
    assert sticks(path) == []


@pytest.mark.parametrize(
    "later",
    [
        Change("wore it", T0, records=(wear(1, "Moss"),)),
        Change("calibrated", T0, records=(replace(stick(1), reason=Reason.CALIBRATION, into="s-moss"),)),
        Change("noted", T0, records=(Event("e", EventKind.SKIN, stamp(), T0, sensor="s-moss"),)),
        intake(1, name="Moss"),
    ],
    ids=["wear", "stick", "event", "readings"],
)
def test_what_later_changes_stand_on_is_not_taken_back(path, later):
    """A sensor cannot go while a wear, stick, note or readings of it hold; the refusal names the change."""
    file.write(path, Change("added Moss", T0, records=(sensor("Moss", 2),)))
    file.write(path, later)
    with pytest.raises(
        ContradictingRecords, match=r"\(added Moss\) cannot be taken back alone: change 3 .* builds on it"
    ):
        file.undo(path, 2, T0)
    file.undo(path, 3, T0)
    file.undo(path, 2, T0)
    with pytest.raises(
        ContradictingRecords, match=r"cannot come back alone: it builds on change 2 \(added Moss\)"
    ):
        file.undo(path, 4, T0)
    file.undo(path, 5, T0)
    file.undo(path, 4, T0)
    assert len(file.read(path).sensors) == 3


def test_an_undo_that_would_make_two_wears_overlap_is_refused(path):
    """Taking back a removal that made room for the next wear is refused in the words of the rule."""
    file.write(path, Change("first", T0, records=(wear(1, end=9000),)))
    file.write(path, Change("corrected the removal", T0, records=(wear(1, end=3000),)))
    file.write(path, Change("second", T0, records=(wear(2, start=4000),)))
    with pytest.raises(ContradictingRecords, match="Two wears of Fern ran at once"):
        file.undo(path, 3, T0)
    assert len(file.history(path)) == 4


def test_there_must_be_something_to_undo(path):
    """A number that is not there, or undone already, is refused with what to do instead."""
    with pytest.raises(NothingToUndo, match="no change 7"):
        file.undo(path, 7, T0)
    file.write(path, add_stick(1))
    file.undo(path, 2, T0)
    with pytest.raises(NothingToUndo, match=r"taken back already, by change 3.*take back change 3"):
        file.undo(path, 2, T0)


class Model:
    """The naive twin: keeps whole list of changes and replays the live ones from the start."""

    def __init__(self):
        self.changes = [("put", {})]

    def live(self, number, changes=None):
        changes = self.changes if changes is None else changes
        undoers = [n for n, (kind, what) in enumerate(changes, 1) if kind == "undo" and what == number]
        return not any(self.live(undoer, changes) for undoer in undoers)

    def state(self, changes=None):
        changes = self.changes if changes is None else changes
        now = {}
        for number, (kind, what) in enumerate(changes, 1):
            if kind == "put" and self.live(number, changes):
                now.update(what)
        return {name: value for name, value in now.items() if value is not None}

    def undo(self, number):
        """Whether the undo is allowed; done where it is."""
        if not 1 < number <= len(self.changes) or not self.live(number):
            return False
        root = number
        while self.changes[root - 1][0] == "undo":
            root = self.changes[root - 1][1]
        after = [*self.changes, ("undo", number)]
        if self.live(root) == self.live(root, after):
            return False
        touched = set(self.changes[root - 1][1])
        for later in range(root + 1, len(self.changes) + 1):
            kind, what = self.changes[later - 1]
            if kind == "put" and self.live(later) and touched & set(what):
                return False
        self.changes = after
        return True


IDS = st.sampled_from([1, 2, 3])
STEPS = st.one_of(
    st.tuples(st.just("put"), st.dictionaries(IDS, st.integers(30, 200).map(lambda tenth: tenth / 10), max_size=2)),
    st.tuples(st.just("withdraw"), IDS),
    st.tuples(st.just("undo"), st.integers(1, 12)),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(STEPS, max_size=12))
def test_any_sequence_of_changes_equals_the_naive_model(steps):
    """Put, supersede, withdraw, undo, redo in any order: what holds is what a replay of live changes gives."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.trial"
        file.create(path, header(), beginning())
        model = Model()
        for kind, what in steps:
            step(path, model, kind, what)
            held = {int(made.id[2:]): made.glucose.value for made in file.read(path, readings=False).sticks}
            assert held == model.state()
        undone = [line.undone_by is not None for line in file.history(path)]
        assert undone == [not model.live(number) for number in range(1, len(model.changes) + 1)]
        assert file.check(path).sound


def step(path, model, kind, what):
    """One step on both; both refuse or both do it."""
    if kind == "put":
        file.write(path, Change("put", T0, records=tuple(stick(n, value) for n, value in what.items())))
        model.changes.append(("put", what))
    elif kind == "withdraw":
        change = Change("withdrew", T0, withdrawn=(f"k-{what:04d}",))
        if what in model.state():
            file.write(path, change)
            model.changes.append(("put", {what: None}))
        else:
            with pytest.raises(UnknownName):
                file.write(path, change)
    elif model.undo(what):
        file.undo(path, what, T0)
    else:
        with pytest.raises((NothingToUndo, ContradictingRecords)):
            file.undo(path, what, T0)


def test_undoing_everything_in_any_order_that_is_allowed_ends_at_the_beginning(tmp_path):
    """Three independent changes undone in every order leave the trial as it was made."""
    for place, order in enumerate(itertools.permutations((2, 3, 4))):
        path = tmp_path / f"{place}.trial"
        file.create(path, header(), beginning())
        empty = file.read(path).edition
        for change in (add_stick(1), intake(1), Change("wore", T0, records=(wear(1),))):
            file.write(path, change)
        for number in order:
            file.undo(path, number, T0)
        assert file.read(path).edition == empty
