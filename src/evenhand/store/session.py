"""One connection per call: opened, used, closed; what an older file needs is done on the way.

Reading never changes the file: an older one is brought up in memory. (SQLite itself may finish taking back
a write that was cut off.)
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from evenhand.records.trial import Header
from evenhand.store import backups, migrate, rows
from evenhand.store.connect import connect, damaged, located, plain_words, refuse_cut_short, transaction


@contextmanager
def reading(path: str | Path) -> Iterator[sqlite3.Connection]:
    """A connection that sees one moment of the file and cannot write."""
    given = Path(path)
    real = located(given)
    with plain_words(given), closing(connect(real)) as connection:
        connection.execute("PRAGMA query_only = ON")
        with transaction(connection, "DEFERRED"):
            version = migrate.version_of(connection, given)
            refuse_cut_short(connection, real)
            if version == migrate.NEWEST:
                yield connection
                return
            memory = sqlite3.connect(":memory:", isolation_level=None)
            connection.backup(memory)
        with closing(memory):
            migrate.bring_up(memory, migrate.steps())
            yield memory


@contextmanager
def writing(path: str | Path, at: int | None) -> Iterator[sqlite3.Connection]:
    """A connection inside the one write transaction; committed whole at the end, or not at all.

    `at`: the instant of the change, whose day's copy is made first; None for what is no change.
    """
    given = Path(path)
    real = located(given)
    with plain_words(given), closing(connect(real)) as connection:
        version = migrate.version_of(connection, given)
        connection.execute("PRAGMA journal_mode = DELETE")
        if version < migrate.NEWEST:
            backups.before_migration(real, version)
            migrate.bring_up(connection, migrate.steps())
        with transaction(connection):
            migrate.version_of(connection, given)  # another program may have been quicker
            refuse_cut_short(connection, real)
            if at is not None:
                backups.daily(real, at, header(connection, given).zone)
            yield connection


def header(connection: sqlite3.Connection, path: Path) -> Header:
    """The trial's header; `TrialFileDamaged` where there is none."""
    row = connection.execute("SELECT body FROM header").fetchone()
    if row is None:
        raise damaged(path, "The trial file has no beginning: its header is missing.")
    try:
        return rows.decode(Header, row[0])
    except rows.Undecodable as error:
        raise damaged(path, f"The header of the trial file cannot be read: {error}.") from None
