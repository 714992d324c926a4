"""Whether a file is whole."""

import sqlite3

import pytest
from tests.store.making import DAY, T0, Change, add_stick, beginning, header, intake, wear

from evenhand.store import backups, file


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    file.write(made, intake(1, 3000))
    file.write(made, add_stick(1, at=T0 + DAY))
    return made


def raw(path, *statements):
    connection = sqlite3.connect(path)
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


def test_a_whole_file_is_sound_and_counted(path):
    """No problem, no copy named, and what is in it."""
    health = file.check(path)
    assert (health.sound, health.problems, health.good_copy) == (True, (), None)
    assert (health.changes, health.records, health.readings) == (3, 4, 3000)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE reading SET value = value + 0.1 WHERE number = 700", "readings 'b-1' are not those that were written"),
        ("UPDATE reading SET text = 'x' WHERE number = 700", "'b-1'"),
        ("DELETE FROM reading WHERE number = 700", "'b-1'"),
        ("UPDATE reading SET instant = 9e15 + number", "'b-1'"),
        ("UPDATE record SET body = replace(body, ':6.1,', ':\"x\",') WHERE kind = 'stick'", "stick k-0001 of change 3: glucose value is 'x'"),
        ("UPDATE record SET kind = 'rune' WHERE kind = 'stick'", "rune k-0001 of change 3: is of a kind"),
        ("DELETE FROM record WHERE kind = 'sensor'", "names 's-fern', which is not there"),
        ("DELETE FROM change WHERE number = 2", "belongs to a change that is not there|Changes are missing"),
        ("UPDATE ledger SET fate = 'eaten'", "ledger cannot be read"),
        ("DELETE FROM header", "header is missing"),
        ("UPDATE header SET body = '[]'", "header of the trial file cannot be read"),
        ("DROP TABLE batch", "lacks something it must have"),
    ],
)  # fmt: skip
def test_whatever_was_altered_behind_our_back_is_found(path, statement, says):
    """A value, a text, a row gone, a record, a change, a fate, the header: told, with the newest good copy."""
    import re

    raw(path, statement)
    health = file.check(path)
    assert not health.sound
    assert any(re.search(says, problem) for problem in health.problems), health.problems
    assert health.good_copy == backups.folder_of(path) / "2026-03-02.trial"
    assert file.check(health.good_copy).sound


def test_contradictions_between_records_are_problems(path):
    """Records that cannot both be true, however they came in, are told."""
    file.write(path, Change("wore", T0 + DAY, records=(wear(1, end=9000),)))
    raw(
        path,
        "INSERT INTO record SELECT 'w-2', change, kind, replace(body, 'w-1', 'w-2') FROM record WHERE kind = 'wear'",
    )
    health = file.check(path)
    assert any("Two wears of Fern ran at once" in problem for problem in health.problems)


def test_the_newest_good_copy_is_the_one_with_the_most_in_it(path):
    """A damaged copy is passed over; of the good ones the fullest counts, whatever its name says."""
    asked = file.backup(path, None, T0 - 300 * DAY)
    (backups.folder_of(path) / "2026-03-09.trial").write_bytes(b"SQLite format 3\x00 and then nothing")
    raw(path, "DELETE FROM header")
    assert file.check(path).good_copy == asked


def test_an_emptied_file_with_copies_is_damaged_and_the_copy_named(path):
    """Zero bytes where copies lie beside it: not 'no trial file' but 'take this copy'."""
    path.write_bytes(b"")
    health = file.check(path)
    assert not health.sound
    assert "empty" in health.problems[0]
    assert health.good_copy == backups.folder_of(path) / "2026-03-02.trial"


def test_a_cut_file_names_its_copy(path):
    """Half a file is damaged, and the way out is named."""
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    health = file.check(path)
    assert not health.sound
    assert health.good_copy == backups.folder_of(path) / "2026-03-02.trial"


def test_without_any_copy_none_is_named(tmp_path):
    """Damage without copies is told all the same."""
    path = tmp_path / "a.trial"
    file.create(path, header(), beginning())
    path.write_bytes(path.read_bytes()[:8192])
    health = file.check(path)
    assert (health.sound, health.good_copy) == (False, None)


def test_a_good_copy_can_simply_take_the_place(path, tmp_path):
    """The named copy, copied back, is the trial again."""
    import shutil

    edition = file.read(path).edition
    copy = file.backup(path, None, T0)
    path.write_bytes(b"")
    shutil.copy(copy, path)
    assert file.read(path).edition == edition
    assert file.write(path, add_stick(2, at=T0 + DAY)) == 4
