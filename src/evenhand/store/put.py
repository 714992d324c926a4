"""A change written into the trial file, after it has been held against what is there."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from evenhand.errors import BadRecord, ContradictingRecords, EvenhandError, UnknownName, raise_all
from evenhand.records.change import Change, Record
from evenhand.store import ledger, rows
from evenhand.store.references import loose
from evenhand.store.state import BatchLine, State, Version, contradictions, records_of, trial_of

DEFECT = "This is a defect; report it."

ALONE = frozenset(("stick", "event", "opening", "deviation", "file", "key"))
"""Kinds that `Trial.check` holds against sensors and wears, never against others of their kind: a change is
checked without the old ones, so that a stick is as quick in the ninetieth day as on the first."""


def put(connection: sqlite3.Connection, state: State, change: Change, path: Path) -> int:
    """Writes one change inside the open transaction; its number.

    Raises, all problems at once, where it contradicts itself or what is there; contradictions that were
    there before do not stand in the way.
    """
    number = state.last + 1
    versions = [Version(record.id, number, rows.kind_of(record), _body(record)) for record in change.records]
    versions += [Version(name, number, _kind(state, name), None) for name in change.withdrawn]
    raise_all(_refused(state, change, versions))
    raise_all(_contradicted(state, change, versions, path))
    connection.execute(
        "INSERT INTO change (number, at, what) VALUES (?, ?, ?)", (number, change.at, storable(change.what))
    )
    connection.executemany(
        "INSERT INTO record (id, change, kind, body) VALUES (?, ?, ?, ?)",
        ((version.id, number, version.kind, version.body) for version in versions),
    )
    if change.batches:
        from evenhand.store import blocks

        for batch in change.batches:
            blocks.insert(connection, batch, number)
    ledger.insert(connection, change.ledger, number)
    return number


def storable(text: str) -> str:
    """Text that SQLite can hold: half characters (from odd file names) as escapes.

    >>> storable("caf\\udce9.csv")
    'caf\\\\udce9.csv'
    """
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def _body(record: Record) -> str:
    try:
        return rows.encode(record)
    except ValueError as error:
        raise BadRecord(f"A {rows.kind_of(record)} cannot be kept: {error}.", DEFECT) from None


def _kind(state: State, name: str) -> str:
    held = state.now.get(name)
    if held is None:
        raise UnknownName(
            f"There is no record '{name}' to withdraw.", "It may have been taken back; see the history."
        )
    return held.kind


def _refused(state: State, change: Change, versions: list[Version]) -> Iterator[EvenhandError]:
    """What makes the change itself impossible."""
    seen: set[str] = {line.id for line in state.lines}
    for batch in change.batches:
        if batch.id in seen or batch.id in state.now:
            yield BadRecord(f"The readings '{batch.id}' are there already.", DEFECT)
        seen.add(batch.id)
    written: set[str] = set()
    kinds = {version.id: version.kind for version in state.versions}
    for version in versions:
        if version.id in written:
            yield BadRecord(f"The change speaks twice of the {version.kind} '{version.id}'.", DEFECT)
        written.add(version.id)
        if kinds.get(version.id, version.kind) != version.kind:
            yield BadRecord(
                f"'{version.id}' is a {kinds[version.id]} and cannot become a {version.kind}.", DEFECT
            )
    after = _after(state, change, versions).values()
    for kind in ("question", "plan"):
        if len({version.id for version in after if version.kind == kind}) > 1:
            yield BadRecord(
                f"A trial has one {kind}; this would be a second.", "Change the one that is there."
            )


def _contradicted(
    state: State, change: Change, versions: list[Version], path: Path
) -> Iterator[EvenhandError]:
    """What the change would make untrue between records."""
    after = _after(state, change, versions)
    lines = (*state.lines, *(_line(batch.id, batch.file, batch.sensor) for batch in change.batches))
    touched = after if change.withdrawn else {version.id: version for version in versions if version.body}
    touched = touched | {batch.id: after[batch.id] for batch in change.batches if batch.id in after}
    unknown = loose(touched, lines, after)
    if unknown:
        unknown -= loose(state.now, state.lines)
    unknown |= {(name, name) for name in ledger.files(change.ledger) if name not in after}
    for name, other in sorted(unknown):
        kind = touched[name].kind if name in touched else "ledger row"
        yield ContradictingRecords(
            f"A {kind} names '{other}', which is not in this trial.",
            "It may have been taken back or withdrawn; see the history.",
        )
    if unknown:
        return
    number = state.last + 1
    checked = {
        name: version
        for name, version in after.items()
        if version.kind not in ALONE or version.change == number
    }
    found = contradictions(trial_of(state.header, records_of(checked, path), number))
    if found:
        known = {str(problem) for problem in before(state, path)}
        yield from (problem for problem in found if str(problem) not in known)


def before(state: State, path: Path) -> tuple[EvenhandError, ...]:
    """The contradictions that stand in the file already."""
    return contradictions(trial_of(state.header, records_of(state.now, path), state.last))


def _after(state: State, change: Change, versions: list[Version]) -> dict[str, Version]:
    after = dict(state.now)
    for version in versions:
        if version.body is None:
            after.pop(version.id, None)
        else:
            after[version.id] = version
    for batch in change.batches:
        after[batch.id] = Version(batch.id, state.last + 1, "batch", "")
    return after


def _line(name: str, file: str, sensor: str) -> BatchLine:
    return BatchLine(name, 0, file, None, sensor, 0, 0, "")
