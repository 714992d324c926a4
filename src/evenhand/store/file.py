"""The trial file as the rest of Evenhand sees it: one function per thing done with it, nothing held open."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from evenhand.errors import TrialFileChanged, TrialFileMissing
from evenhand.records.change import Change, ChangeLine
from evenhand.records.files import LedgerRow
from evenhand.records.trial import Header, Trial
from evenhand.store import backups, migrate, rows
from evenhand.store import ledger as fates
from evenhand.store.connect import connect, located, place, plain_words, transaction
from evenhand.store.put import put
from evenhand.store.session import header as header_of
from evenhand.store.session import reading, writing
from evenhand.store.state import State, load, records_of, trial_of

if TYPE_CHECKING:
    import sqlite3

    from evenhand.records.readings import Batch, Readings
    from evenhand.store.health import Health

FINDINGS_KEPT = 3
"""How many judgements the file keeps; they can all be made again."""


def create(path: str | Path, header: Header, change: Change) -> None:
    """Makes a trial file with its first change, whole or not at all.

    Raises `TrialFileExists` where the name is taken, `TrialFileMissing` where the folder is not there.
    """
    target = Path(path)
    backups.refuse_existing(target)
    with plain_words(target):
        part = _unfinished(target)
        try:
            with closing(connect(part)) as connection:
                _fill(connection, target, header, change)
            backups.publish(part, target, replace=False)
        finally:
            backups.discard(part)


def _unfinished(target: Path) -> Path:
    """A new empty file beside the target, under a name nothing else has."""
    import os
    import tempfile  # 8 ms that the path of `stick` does without

    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    os.close(handle)
    return Path(name)


def _fill(connection: sqlite3.Connection, target: Path, header: Header, change: Change) -> None:
    migrate.bring_up(connection, migrate.steps())
    with transaction(connection):
        connection.execute("INSERT INTO header (only_one, body) VALUES (1, ?)", (rows.encode(header),))
        put(connection, load(connection, target), change, target)


def read(path: str | Path, readings: bool = True) -> Trial:  # noqa: FBT001
    """The whole trial as it holds now; without `readings` fast and without numpy (and without an edition)."""
    from dataclasses import replace

    with reading(path) as connection:
        state = load(connection, Path(path))
        trial = trial_of(state.header, records_of(state.now, Path(path)), state.last)
        if not readings:
            return trial
        from evenhand.store.edition import edition_of

        return replace(trial, readings=_readings(connection, state), edition=edition_of(state))


def _readings(connection: sqlite3.Connection, state: State) -> dict[str, Readings]:
    from evenhand.store import blocks

    parts: dict[str, list[tuple[str, Readings]]] = {}
    for line in state.batches:
        parts.setdefault(line.sensor, []).append((line.hash, blocks.load(connection, line)))
    return {sensor: blocks.merged(of_sensor) for sensor, of_sensor in sorted(parts.items())}


def edition(path: str | Path) -> str:
    """The edition of what the file holds now, without reading the readings."""
    from evenhand.store.edition import edition_of

    with reading(path) as connection:
        return edition_of(load(connection, Path(path)))


def write(path: str | Path, change: Change, expect: int | None = None) -> int:
    """Writes one change in one transaction; its number. Nothing is written where anything is wrong.

    `expect` is the number of the last change when the caller looked; `TrialFileChanged` where there is a
    newer one. Raises `ContradictingRecords` for what cannot be true beside what is there.
    """
    with writing(path, change.at) as connection:
        state = load(connection, Path(path))
        if expect is not None and state.last != expect:
            since = "; ".join(
                f"change {entry.number}: {entry.what}" for entry in state.entries if entry.number > expect
            )
            raise TrialFileChanged(
                f"The trial was changed after it was read ({since or f'its last change is {state.last}, not {expect}'}). Nothing was written.",
                "Read it again, and compare.",
                place(Path(path)),
            )
        return put(connection, state, change, Path(path))


def history(path: str | Path) -> tuple[ChangeLine, ...]:
    """Every change, oldest first; undoes are changes too."""
    from evenhand.store import history as past

    with reading(path) as connection:
        return past.lines_of(load(connection, Path(path)))


def undo(path: str | Path, number: int | None, at: int) -> ChangeLine:
    """Takes back a whole change, readings and ledger included; the change that this made.

    `number` None: the newest change that still holds and is no undo. The number of an undo brings back what
    it took. Raises `NothingToUndo`, or `ContradictingRecords` naming what stands on the change.
    """
    from evenhand.store import history as past

    with writing(path, at) as connection:
        return past.take_back(connection, load(connection, Path(path)), number, at, Path(path))


def check(path: str | Path) -> Health:
    """Whether the file is whole: database, keys, every record, every reading, and the records between them."""
    from evenhand.store import health

    return health.examine(path)


def backup(path: str | Path, to: str | Path | None, at: int) -> Path:
    """Copies the file as it is to `to` (a new file, or in a folder that is there), or, with None, among its
    daily copies; where the copy lies. `at` is the instant, for its name. Never over another file."""
    real = located(path)
    with reading(path) as connection:
        zone = header_of(connection, Path(path)).zone
    if to is not None and not Path(to).absolute().parent.is_dir():
        raise TrialFileMissing("Its folder is not there.", "Make the folder first.", place(Path(to)))
    return backups.on_request(real, None if to is None else Path(to), at, zone)


def ledger(path: str | Path) -> list[LedgerRow]:
    """The fate of every row of every file that holds now; files as they came, lines in order."""
    with reading(path) as connection:
        return fates.load(connection, load(connection, Path(path)).undone)


def batches(path: str | Path) -> list[Batch]:
    """Every batch of readings that holds now, in order of ids, its readings in the order they were written."""
    from evenhand.records.readings import Batch
    from evenhand.store import blocks

    with reading(path) as connection:
        return [
            Batch(line.id, line.file, line.sheet, line.sensor, blocks.load(connection, line))
            for line in load(connection, Path(path)).batches
        ]


def put_findings(path: str | Path, edition: str, data: bytes) -> None:
    """Keeps a judgement under its edition; the newest three stay. No change: not in the history."""
    with writing(path, None) as connection:
        connection.execute("DELETE FROM findings WHERE edition = ?", (edition,))
        connection.execute(
            "INSERT INTO findings (number, edition, data) SELECT coalesce(max(number), 0) + 1, ?, ? FROM findings",
            (edition, data),
        )
        connection.execute(
            "DELETE FROM findings WHERE number NOT IN (SELECT number FROM findings ORDER BY number DESC LIMIT ?)",
            (FINDINGS_KEPT,),
        )


def get_findings(path: str | Path, edition: str) -> bytes | None:
    """The judgement kept under that edition; None where there is none."""
    with reading(path) as connection:
        row = connection.execute("SELECT data FROM findings WHERE edition = ?", (edition,)).fetchone()
    return None if row is None else bytes(row[0])
