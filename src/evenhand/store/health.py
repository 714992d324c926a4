"""Whether a trial file is whole, and where the newest good copy lies if it is not."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from evenhand.errors import EvenhandError, NotATrialFile, TrialFileDamaged
from evenhand.store import backups, ledger
from evenhand.store.connect import located
from evenhand.store.references import loose
from evenhand.store.session import reading
from evenhand.store.state import State, contradictions, load, records_of, trial_of


@dataclass(frozen=True, slots=True)
class Health:
    """The state of a trial file. `problems` are sentences; `sound` where there is none. `good_copy` is the
    newest copy found whole, looked for only where the file is not sound; None where there is none.
    `changes`, `records` and `readings` count what could be read; undone and superseded ones included in
    `changes` and `readings`, not in `records`."""

    sound: bool
    problems: tuple[str, ...] = ()
    good_copy: Path | None = None
    changes: int = 0
    records: int = 0
    readings: int = 0


def examine(path: str | Path) -> Health:
    """The health of a trial file, with the newest good copy where it is damaged.

    Raises for a missing file, one of a newer Evenhand, and for what never was a trial file (no copies).
    """
    given = Path(path)
    try:
        found = _examine(given)
    except TrialFileDamaged as error:
        found = Health(sound=False, problems=(error.found,))
    except NotATrialFile as error:
        if not backups.copies(_real(given)):
            raise
        found = Health(sound=False, problems=(error.found,))
    return found if found.sound else replace(found, good_copy=_newest_good(_real(given)))


def _real(given: Path) -> Path:
    try:
        return located(given)
    except NotATrialFile:
        return given.resolve()


def _newest_good(real: Path) -> Path | None:
    """The good copy with the most changes in it."""
    good: list[tuple[int, str, Path]] = []
    for copy in backups.copies(real):
        try:
            found = _examine(copy)
        except EvenhandError:
            continue
        if found.sound:
            good.append((found.changes, copy.name, copy))
    return max(good)[2] if good else None


def _examine(path: Path) -> Health:
    with reading(path) as connection:
        problems = list(_of_the_database(connection))
        try:
            state = load(connection, path)
            records = records_of(state.now, path)
        except EvenhandError as error:
            return Health(sound=False, problems=(*problems, *(single.found for single in error.each())))
        problems += _of_the_records(state)
        problems += [str(problem) for problem in contradictions(trial_of(state.header, records, state.last))]
        problems += _of_the_readings(connection, state)
        try:
            ledger.load(connection, state.undone)
        except ValueError as error:
            problems.append(f"The ledger cannot be read: {error}.")
    return Health(
        sound=not problems,
        problems=tuple(problems),
        changes=len(state.entries),
        records=len(records),
        readings=sum(line.rows for line in state.lines),
    )


def _of_the_database(connection: sqlite3.Connection) -> Iterator[str]:
    for (found,) in connection.execute("PRAGMA integrity_check(20)"):
        if found != "ok":
            yield f"The file is damaged: {found}."
    for table, *_ in connection.execute("PRAGMA foreign_key_check"):
        yield f"A row of '{table}' belongs to a change that is not there."


def _of_the_records(state: State) -> Iterator[str]:
    numbers = [entry.number for entry in state.entries]
    if numbers != list(range(1, len(numbers) + 1)):
        yield "Changes are missing."
    for name, other in sorted(loose(state.now, state.lines)):
        yield f"The {state.now[name].kind} '{name}' names '{other}', which is not there."


def _of_the_readings(connection: sqlite3.Connection, state: State) -> Iterator[str]:
    if not state.lines:
        return
    from evenhand.store import blocks

    for line in state.lines:
        try:
            found = blocks.content_hash(blocks.load(connection, line))
        except (EvenhandError, ValueError, OverflowError) as error:
            found = str(error)
        if found != line.hash:
            yield f"The readings '{line.id}' are not those that were written."
