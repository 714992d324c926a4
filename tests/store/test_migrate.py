"""Versions of the trial file, old and new."""

import shutil
import sqlite3
from pathlib import Path

import pytest
from tests.files import make_v1, make_v2
from tests.store.making import T0, add_stick, beginning, header, same_readings

from evenhand import __version__
from evenhand.errors import BadRecord, TrialFileTooNew
from evenhand.records.change import Change
from evenhand.records.plan import Plan
from evenhand.store import backups, file, migrate
from evenhand.store.connect import APPLICATION
from evenhand.store.migrate import Step

FILES = Path(__file__).parents[1] / "files"
NEXT = migrate.NEWEST + 1
STEP_NEXT = Step(
    NEXT, "CREATE TABLE remark (text TEXT NOT NULL) STRICT;\nINSERT INTO remark VALUES ('two');\n"
)
BROKEN_AFTER = Step(NEXT + 1, "CREATE TABLE later (text TEXT) STRICT;\nINSERT INTO nowhere VALUES (1);\n")


@pytest.fixture
def old(tmp_path):
    """A copy of the kept file of version 1."""
    return Path(shutil.copy(FILES / "v1.trial", tmp_path / "old.trial"))


def raw(path, sql):
    connection = sqlite3.connect(path)
    try:
        found = connection.execute(sql).fetchall()
        connection.commit()
        return found
    finally:
        connection.close()


def newer(monkeypatch, *steps):
    """Lets this Evenhand know further versions."""
    everything = (*migrate.steps(), *steps)
    monkeypatch.setattr(migrate, "steps", lambda: everything)
    monkeypatch.setattr(migrate, "NEWEST", everything[-1].version)


def test_the_file_of_version_1_is_read_whole():
    """Every record, reading, fate and change of the kept file is what was written when it was made."""
    path = FILES / "v1.trial"
    trial = file.read(path)
    found = {
        *trial.sensors,
        *trial.wears,
        *trial.sticks,
        *trial.events,
        trial.question,
        *trial.openings,
        *trial.files,
        *trial.keys,
    }
    assert found == make_v1.HELD
    assert trial.header == make_v1.HEADER
    assert same_readings(trial.readings["s-1"], make_v1.READINGS)
    assert file.ledger(path) == make_v1.LEDGER
    assert [line.what for line in file.history(path)][:6] == [change.what for change in make_v1.CHANGES]
    assert file.history(path)[5].undone_by == 7
    assert file.get_findings(path, "e" * 64) == b'{"evenhand": "0.1.0"}'
    assert file.check(path).sound


def test_the_file_of_version_1_can_be_written(old):
    """A write to it works, and brings it to the newest version."""
    assert file.write(old, add_stick(9)) == 8
    assert raw(old, "PRAGMA user_version") == [(migrate.NEWEST,)]
    assert "k-0009" in {made.id for made in file.read(old).sticks}


def test_the_script_beside_it_still_makes_the_same_trial(tmp_path):
    """What the script writes today reads the same as the kept file. (The edition is another one: what is written today
    names every field that a record has by now.)"""
    made = tmp_path / "again.trial"
    make_v1.make(made)
    assert file.read(made, readings=False) == file.read(FILES / "v1.trial", readings=False)


def test_a_new_file_says_what_it_is(tmp_path):
    """Application id, version, and which Evenhand made each version."""
    path = tmp_path / "a.trial"
    file.create(path, header(), beginning())
    assert raw(path, "PRAGMA application_id") == [(APPLICATION,)]
    assert raw(path, "SELECT version, made_by FROM migration") == [
        (version, __version__) for version in range(1, NEXT)
    ]
    assert path.read_bytes()[68:72] == b"EvNH"


def test_reading_an_older_file_does_not_touch_it(old, monkeypatch):
    """It is brought up in memory: readable where it may not be written, and by the older Evenhand still."""
    before, edition = old.read_bytes(), file.read(old).edition
    newer(monkeypatch, STEP_NEXT)
    assert file.read(old).edition == edition
    assert file.check(old).sound
    assert old.read_bytes() == before
    assert not backups.folder_of(old).exists()


def test_the_first_write_brings_an_older_file_up_after_a_copy(old, monkeypatch):
    """A copy of the older file is made first; then the step, its record and the version, and the change."""
    edition = file.read(old).edition
    newer(monkeypatch, STEP_NEXT)
    file.write(old, add_stick(9))
    assert raw(old, "PRAGMA user_version") == [(NEXT,)]
    assert raw(old, "SELECT text FROM remark") == [("two",)]
    assert raw(old, "SELECT version FROM migration ORDER BY version") == [
        (version,) for version in range(1, NEXT + 1)
    ]
    copy = backups.folder_of(old) / "before leaving version 1.trial"
    assert raw(copy, "PRAGMA user_version") == [(1,)]
    monkeypatch.undo()
    assert file.read(copy).edition == edition


def test_a_migration_that_fails_leaves_the_last_good_version(old, monkeypatch):
    """Each step is whole or not at all: the failing one leaves nothing, those before it stand."""
    newer(monkeypatch, STEP_NEXT, BROKEN_AFTER)
    with pytest.raises(Exception, match="no such table: nowhere"):
        file.write(old, add_stick(9))
    assert raw(old, "PRAGMA user_version") == [(NEXT,)]
    assert raw(old, "SELECT count(*) FROM sqlite_master WHERE name = 'later'") == [(0,)]
    assert raw(old, "SELECT count(*) FROM change") == [(7,)]
    assert (backups.folder_of(old) / "before leaving version 1.trial").exists()


def test_a_newer_file_is_refused_with_the_version_needed(old, monkeypatch):
    """Neither read nor written; the Evenhand that can is named from the file itself."""
    with monkeypatch.context() as patch:
        newer(patch, STEP_NEXT)
        patch.setattr(migrate, "__version__", "7.3.0")
        file.write(old, add_stick(9))
    before = old.read_bytes()
    for call in (file.read, file.check, file.history, lambda path: file.write(path, add_stick(1)), lambda path: file.undo(path, None, T0), lambda path: file.backup(path, None, T0)):  # fmt: skip
        with pytest.raises(
            TrialFileTooNew,
            match=rf"old\.trial: .*file version {NEXT}; this one reads up to {NEXT - 1}.*Install Evenhand 7\.3\.0 or newer",
        ):
            call(old)
    assert old.read_bytes() == before


def test_a_much_newer_file_without_the_table_is_refused_too(old):
    """Where a far later file no longer says which Evenhand is needed, its file version is told."""
    raw(old, "DROP TABLE migration")
    raw(old, "PRAGMA user_version = 40")
    with pytest.raises(TrialFileTooNew, match="with file version 40 or newer"):
        file.read(old)


def test_every_shipped_step_has_a_kept_file():
    """One small file of every version stays in tests/files, with the script that made it."""
    for version in range(1, migrate.NEWEST + 1):
        assert (FILES / f"v{version}.trial").is_file()
        assert (FILES / f"make_v{version}.py").is_file()
    assert [step.version for step in migrate.steps()] == list(range(1, migrate.NEWEST + 1))


def test_the_file_of_version_2_is_read_whole():
    """The kept file of version 2 holds the plan that was written when it was made, beside all of version 1."""
    path = FILES / "v2.trial"
    trial = file.read(path)
    assert trial.plan == make_v2.PLAN
    assert (trial.header, trial.question) == (make_v1.HEADER, make_v1.QUESTION)
    assert file.check(path).sound


def test_a_plan_is_part_of_the_edition_and_there_is_one_at_most(old):
    """A judgement is made from the plan too, and a second plan is refused."""
    before = file.read(old)
    assert before.plan == Plan()
    file.write(old, make_v2.PLANNED)
    assert file.read(old).edition != before.edition
    with pytest.raises(BadRecord, match="A trial has one plan"):
        file.write(old, Change("a second", T0, (Plan(id="other"),)))
