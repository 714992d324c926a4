"""Which version a trial file has, and how an older one is brought to the newest: in order, step by step."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from evenhand import __version__
from evenhand.errors import NotATrialFile, TrialFileTooNew
from evenhand.store.connect import APPLICATION, not_a_database, place, transaction


@dataclass(frozen=True, slots=True)
class Step:
    """One migration: the version it leads to, and its SQL."""

    version: int
    sql: str


def _shipped(version: int) -> Step:
    return Step(version, (Path(__file__).parent / f"v{version}.sql").read_text(encoding="utf-8"))


NEWEST = 2
"""The version this Evenhand writes."""


def steps() -> tuple[Step, ...]:
    """Every migration, oldest first; the first makes the file."""
    return tuple(_shipped(version) for version in range(1, NEWEST + 1))


def version_of(connection: sqlite3.Connection, path: Path) -> int:
    """The file's version; raises where it is no trial file, or one of a newer Evenhand."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION:
        if connection.execute("PRAGMA page_count").fetchone()[0] == 0:
            raise not_a_database(path)
        raise NotATrialFile(
            "This is a database, but no trial file of Evenhand.",
            "Name a file made with 'evenhand new'.",
            place(path),
        )
    if version > NEWEST:
        raise TrialFileTooNew(
            f"It was written by a newer Evenhand (file version {version}; this one reads up to {NEWEST}).",
            f"Install Evenhand {_needed(connection, version)} or newer. The file was not touched.",
            place(path),
        )
    return int(version)


def _needed(connection: sqlite3.Connection, version: int) -> str:
    try:
        row = connection.execute("SELECT made_by FROM migration WHERE version = ?", (version,)).fetchone()
    except sqlite3.Error:
        row = None
    return str(row[0]) if row else f"with file version {version}"


def bring_up(connection: sqlite3.Connection, all_steps: tuple[Step, ...]) -> None:
    """Takes every step that the file has not had; each with its record in one transaction."""
    for step in all_steps:
        with transaction(connection):
            (version,) = connection.execute("PRAGMA user_version").fetchone()
            if version >= step.version:
                continue
            for statement in statements(step.sql):
                connection.execute(statement)
            connection.execute(
                "INSERT INTO migration (version, made_by) VALUES (?, ?)", (step.version, __version__)
            )
            connection.execute(f"PRAGMA application_id = {APPLICATION}")
            connection.execute(f"PRAGMA user_version = {step.version}")


def statements(sql: str) -> Iterator[str]:
    """The single statements of a script (`executescript` would end the transaction).

    >>> list(statements("-- one\\nSELECT 1;\\nSELECT\\n2;\\n"))
    ['-- one\\nSELECT 1;', 'SELECT\\n2;']
    """
    gathered = ""
    for line in sql.splitlines(keepends=True):
        gathered += line
        if sqlite3.complete_statement(gathered):
            yield gathered.strip()
            gathered = ""
