"""Copies of a trial file: one before each day's first write, one before each migration, one when asked for.

They lie in NAME.trial.backups beside the file. The daily ones are called by their date and the newest seven
are kept; the others stay until someone deletes them.
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from evenhand.clock import Stamp
from evenhand.errors import TrialFileExists
from evenhand.store.connect import connect, damaged, place, plain_words, refuse_cut_short, transaction

KEPT = 7
_DAILY = re.compile(r"\d{4}-\d{2}-\d{2}\.trial", re.ASCII)


def folder_of(real: Path) -> Path:
    """Where the copies of a trial file lie.

    >>> folder_of(Path("spring.trial")).name
    'spring.trial.backups'
    """
    return real.with_name(f"{real.name}.backups")


def daily(real: Path, at: int, zone: str) -> None:
    """Makes the day's copy where there is none yet; called with the write lock held, before the first write.

    The copy is checked before an older one is dropped, so that damage can never push out the good copies.
    """
    day = Stamp.at(at, zone).day.isoformat()
    folder = folder_of(real)
    target = folder / f"{day}.trial"
    if target.exists():
        return
    with plain_words(folder):
        folder.mkdir(exist_ok=True)
    copy(real, target, replace=True)
    with plain_words(folder):
        others = sorted(old for old in folder.iterdir() if _DAILY.fullmatch(old.name) and old != target)
        for old in others[: max(0, len(others) - (KEPT - 1))]:
            old.unlink(missing_ok=True)


def before_migration(real: Path, version: int) -> None:
    """Makes the copy of a file that is about to be brought from `version` to a newer one."""
    folder = folder_of(real)
    with plain_words(folder):
        folder.mkdir(exist_ok=True)
    copy(real, folder / f"before leaving version {version}.trial", replace=True)


def on_request(real: Path, to: Path | None, at: int, zone: str) -> Path:
    """A copy at `to` (a new file, or a folder that is there), or among the others; where it lies."""
    moment = Stamp.at(at, zone).wall.strftime("%Y-%m-%d at %H.%M.%S")
    if to is None:
        to = folder_of(real)
        with plain_words(to):
            to.mkdir(exist_ok=True)
        target = to / f"{moment}.trial"
    else:
        target = to / f"{real.stem} {moment}.trial" if to.is_dir() else to
    copy(real, target, replace=False)
    return target


def copies(real: Path) -> tuple[Path, ...]:
    """Every copy of a trial file, whole or not, by name."""
    folder = folder_of(real)
    return tuple(sorted(folder.glob("[!.]*.trial"))) if folder.is_dir() else ()


def copy(real: Path, target: Path, *, replace: bool) -> None:
    """A copy of the file as last committed, checked, then put in place in one step."""
    part = target.with_name(f".{target.name}.part")
    try:
        with plain_words(target):
            discard(part)
            with closing(connect(part, "rwc")) as to:
                with plain_words(real), closing(connect(real)) as source, transaction(source, "DEFERRED"):
                    refuse_cut_short(source, real)  # from here on nobody can write, and the copy never waits
                    with plain_words(target):
                        source.backup(to)
                _check(to, real)
        publish(part, target, replace=replace)
    finally:
        with suppress(OSError):
            discard(part)


def _check(copied: sqlite3.Connection, real: Path) -> None:
    found = [row[0] for row in copied.execute("PRAGMA quick_check(1)")]
    if found != ["ok"]:
        raise damaged(real, f"The trial file is damaged ({found[0]}). Nothing was written.")


def discard(part: Path) -> None:
    """Removes an unfinished file and what SQLite may have left beside it."""
    part.unlink(missing_ok=True)
    journal_of(part).unlink(missing_ok=True)


def journal_of(path: Path) -> Path:
    """Where SQLite keeps what it needs to take back an unfinished transaction."""
    return path.with_name(f"{path.name}-journal")


def publish(part: Path, target: Path, *, replace: bool) -> None:
    """Gives a finished file its name in one step; never over another file unless `replace`."""
    with plain_words(target):
        if replace:
            part.replace(target)
        else:
            refuse_existing(target)
            try:
                os.link(part, target)
            except FileExistsError:
                refuse_existing(target)
                raise
            except OSError:  # a file system without hard links
                part.rename(target)
        _sync_folder(target.parent)


def refuse_existing(target: Path) -> None:
    """Raises where the name is taken, or where a journal would be played into the new file."""
    if os.path.lexists(target):
        raise TrialFileExists(
            "There is a file of that name already.",
            "Choose another name, or move the file away.",
            place(target),
        )
    if os.path.lexists(journal_of(target)):
        raise TrialFileExists(
            "A journal of an unfinished write lies there without its trial file.",
            "Put the trial file back beside it, or move the journal away.",
            place(journal_of(target)),
        )


def _sync_folder(folder: Path) -> None:
    """Makes the new name last through a power cut, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
