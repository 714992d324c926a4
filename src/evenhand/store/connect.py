"""Opening the SQLite file behind a trial, and what its failures mean in plain words.

The file is never opened with `open` while it may be a trial file: on POSIX systems closing any handle drops
every lock that this process holds on the file, SQLite's included.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from evenhand.errors import (
    BadRecord,
    CannotWrite,
    DiskFull,
    EvenhandError,
    NotATrialFile,
    Place,
    TrialFileBusy,
    TrialFileDamaged,
    TrialFileMissing,
    TrialFileReadOnly,
)

APPLICATION = 0x45764E48
"""SQLite's `application_id` of a trial file: 'EvNH'."""

TIMEOUT = 5.0
"""Seconds to wait for another program that is writing."""

MAGIC = b"SQLite format 3\x00"
OLDEST_SQLITE = (3, 37, 0)


def located(path: str | Path) -> Path:
    """The real path of a trial file, links followed; raises where there is nothing, or nothing in it."""
    given = Path(path)
    real = Path(os.path.realpath(given))
    try:
        size = real.stat().st_size
    except (FileNotFoundError, NotADirectoryError):
        raise TrialFileMissing(
            "There is no such trial file.", "Check the name, or make one with 'evenhand new'.", place(given)
        ) from None
    except OSError as error:
        raise meaning_of_os(error, given) from error
    if not real.is_file():
        raise NotATrialFile("This is not a file.", "Name a file that ends in .trial.", place(given))
    if size == 0:
        raise NotATrialFile(
            "The file is empty (0 bytes).",
            f"If it was a trial file, take a copy from '{given.name}.backups'; 'evenhand check' names the newest good one.",
            place(given),
        )
    return real


def connect(real: Path, mode: str = "rw") -> sqlite3.Connection:
    """A connection in autocommit; `mode` is SQLite's: 'rw' for a file that is there, 'rwc' to make one."""
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise EvenhandError(
            f"This Python brings SQLite {sqlite3.sqlite_version}.",
            "Evenhand needs SQLite 3.37 or newer; install a newer Python.",
        )
    connection = sqlite3.connect(
        f"{real.absolute().as_uri()}?mode={mode}", uri=True, timeout=TIMEOUT, isolation_level=None
    )
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA synchronous = EXTRA")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


@contextmanager
def transaction(connection: sqlite3.Connection, how: str = "IMMEDIATE") -> Iterator[None]:
    """One transaction: whole, or not at all."""
    connection.execute(f"BEGIN {how}")
    try:
        yield
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def refuse_cut_short(connection: sqlite3.Connection, real: Path) -> None:
    """SQLite takes a last page that is cut in its middle for a whole one; called inside a transaction."""
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (size,) = connection.execute("PRAGMA page_size").fetchone()
    (mode,) = connection.execute("PRAGMA journal_mode").fetchone()
    if mode != "wal" and real.stat().st_size < pages * size:
        raise damaged(real, "The trial file is cut short.")


@contextmanager
def plain_words(path: Path) -> Iterator[None]:
    """Turns SQLite's and the system's failures into errors a person can act on."""
    try:
        yield
    except sqlite3.Error as error:
        raise meaning(error, path) from error
    except UnicodeEncodeError as error:
        raise BadRecord("A text holds half a character and cannot be kept.", "Write it again.") from error
    except OSError as error:
        raise meaning_of_os(error, path) from error


def place(path: Path) -> Place:
    """The file by its name; never its folder, which may tell more than a reader should see."""
    return Place(file=path.name)


def damaged(path: Path, found: str) -> TrialFileDamaged:
    """The trial file cannot be trusted."""
    return TrialFileDamaged(
        found,
        "Do not write to it. Run 'evenhand check' on it: it names the newest good copy.",
        place(path),
    )


def meaning(error: sqlite3.Error, path: Path) -> Exception:
    """What a failure of SQLite means; the error itself where it is a defect of ours."""
    code = getattr(error, "sqlite_errorcode", None)
    made = _MEANINGS.get(code & 0xFF) if code is not None else None
    return error if made is None else made(error, path)


def _busy(_: sqlite3.Error, path: Path) -> EvenhandError:
    return TrialFileBusy(
        f"Another program was writing to it for more than {TIMEOUT:g} seconds. Nothing was written.",
        "Try again when it has finished.",
        place(path),
    )


def _disk_failed(error: sqlite3.Error, path: Path) -> EvenhandError:
    return CannotWrite(
        f"The disk failed while the file was used ({error}). Nothing was written.",
        "Check the disk and its free room, then try again.",
        place(path),
    )


def _refused(error: sqlite3.Error, path: Path) -> EvenhandError:
    return BadRecord(
        f"The trial file refuses a record ({error}).", "This is a defect; report it.", place(path)
    )


def meaning_of_os(error: OSError, path: Path) -> EvenhandError:
    """What a failure of the system means."""
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return read_only(path)
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return disk_full(path)
    if error.errno == errno.ENOENT:
        return TrialFileMissing("Its folder is not there.", "Make the folder first.", place(path))
    return CannotWrite(
        f"It could not be written ({error.strerror}).", "Check the name and the disk.", place(path)
    )


def read_only(path: Path) -> TrialFileReadOnly:
    """The file, or its folder, may not be written."""
    return TrialFileReadOnly(
        "The file, or its folder, may not be written. Nothing was written.",
        "Allow writing to both, or copy the file to a folder of yours and use the copy.",
        place(path),
    )


def disk_full(path: Path) -> DiskFull:
    """There is no room."""
    return DiskFull(
        "The disk is full. Nothing was written, and nothing is lost.",
        "Make room, then try again.",
        place(path),
    )


def not_a_database(path: Path) -> EvenhandError:
    """What a file is that SQLite cannot use: a damaged trial file, or none."""
    try:
        with path.open("rb") as file:
            ours = file.read(len(MAGIC)) == MAGIC
    except OSError as error:
        return meaning_of_os(error, path)
    if ours:
        return damaged(path, "The trial file is cut short, or its beginning is damaged.")
    return NotATrialFile(
        "This is not a trial file of Evenhand.", "Name a file made with 'evenhand new'.", place(path)
    )


_MEANINGS: dict[int, Callable[[sqlite3.Error, Path], EvenhandError]] = {
    sqlite3.SQLITE_BUSY: _busy,
    sqlite3.SQLITE_LOCKED: _busy,
    sqlite3.SQLITE_READONLY: lambda _, path: read_only(path),
    sqlite3.SQLITE_CANTOPEN: lambda _, path: read_only(path),
    sqlite3.SQLITE_PERM: lambda _, path: read_only(path),
    sqlite3.SQLITE_FULL: lambda _, path: disk_full(path),
    sqlite3.SQLITE_NOTADB: lambda _, path: not_a_database(path),
    sqlite3.SQLITE_CORRUPT: lambda _, path: damaged(path, "The trial file is damaged or cut short."),
    sqlite3.SQLITE_IOERR: _disk_failed,
    sqlite3.SQLITE_CONSTRAINT: _refused,
    sqlite3.SQLITE_ERROR: lambda error, path: damaged(
        path, f"The trial file lacks something it must have ({error})."
    ),
}
"""By SQLite's primary result code."""
