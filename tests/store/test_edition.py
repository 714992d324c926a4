"""One number for everything a judgement is made from."""

import itertools
from dataclasses import replace

import pytest
from tests.store.making import (
    DAY,
    T0,
    Change,
    FileKey,
    Question,
    add_stick,
    beginning,
    header,
    intake,
    sensor,
    source,
    stick,
    wear,
)  # fmt: skip

from evenhand.records.files import OpenProposal
from evenhand.store import file
from evenhand.store.connect import located
from evenhand.store.edition import edition_of
from evenhand.store.session import reading
from evenhand.store.state import load


def made(folder, *changes, head=None):
    """The edition after these changes."""
    path = folder / f"{len(list(folder.iterdir()))}.trial"
    file.create(path, head or header(), beginning())
    for change in changes:
        file.write(path, change)
    edition = file.read(path).edition
    assert len(edition) == 64
    return edition


def test_the_order_of_writing_does_not_matter(tmp_path):
    """The same records and readings in any order, at any time, with any words: one edition."""
    changes = (add_stick(1), intake(1), intake(2, name="Slate"), Change("wore", T0, records=(wear(1),)))
    seen = {made(tmp_path, *order) for order in itertools.permutations(changes)}
    later = [replace(change, at=change.at + 3 * DAY, what="otherwise") for change in changes]
    assert seen == {made(tmp_path, *later)}


def test_detours_leave_no_trace(tmp_path):
    """Correcting back, withdrawing what came by mistake, undoing and redoing change nothing."""
    straight = made(tmp_path, add_stick(1), intake(1))
    path = tmp_path / "detour.trial"
    file.create(path, header(), beginning())
    file.write(path, add_stick(1, value=9.9))
    file.write(path, add_stick(2))
    file.write(path, add_stick(1))
    file.write(path, Change("crossed out", T0, withdrawn=("k-0002",)))
    file.write(path, intake(1))
    file.undo(path, None, T0)
    file.undo(path, 7, T0)
    assert file.read(path).edition == straight


@pytest.mark.parametrize(
    "change",
    [
        add_stick(2),
        add_stick(1, value=6.2),
        intake(2),
        Change("x", T0, records=(sensor("Fern", 0, interval=300),)),
        Change("x", T0, records=(Question("question", margin=3.5),)),
        Change("x", T0, records=(replace(source(1), open_proposals=(OpenProposal("clock", "", "", ""),)),)),
        Change("x", T0, records=(wear(1),)),
        Change("x", T0, withdrawn=("b-1",)),
    ],
)
def test_whatever_a_judgement_is_made_from_changes_it(tmp_path, change):
    """A stick, a value, readings, a sensor's interval, the margin, an open proposal, a wear."""
    assert made(tmp_path, add_stick(1), intake(1), change) != made(tmp_path, add_stick(1), intake(1))


def test_one_changed_reading_changes_it(tmp_path):
    """The readings' contents count, not their number."""
    assert made(tmp_path, intake(1, seed=1)) != made(tmp_path, intake(1, seed=2))


def test_how_files_are_read_does_not_change_it(tmp_path):
    """A saved file key is no part of a judgement, nor are findings kept."""
    path = tmp_path / "a.trial"
    file.create(path, header(), beginning())
    before = file.read(path).edition
    file.write(path, Change("x", T0, records=(FileKey("key-1", "csv", ()),)))
    file.put_findings(path, before, b"{}")
    assert file.read(path).edition == before


def test_contract_method_and_seed_are_in_it(tmp_path):
    """Another METHOD, CONTRACT or seed is another edition."""
    assert made(tmp_path) != made(tmp_path, head=header(seed=1))
    path = next(path for path in tmp_path.iterdir() if path.suffix == ".trial")
    with reading(located(path)) as connection:
        state = load(connection, path)
    seen = {edition_of(state, contract, method) for contract in (1, 2) for method in (1, 2)}
    assert len(seen) == 4


def test_the_edition_of_a_known_trial_stays(tmp_path):
    """A frozen value: it may only change together with METHOD, CONTRACT or a field of a record."""
    edition = made(tmp_path, Change("x", T0, records=(stick(1),)))
    assert edition == FROZEN


FROZEN = "10e32c31719ebae1809e8264178197f5f81377e82506c3bfea9deb738ca63469"
