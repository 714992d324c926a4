"""What was done, and taking it back: an undo is a change like any other and can be undone in turn."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from pathlib import Path

from evenhand.errors import ContradictingRecords, NothingToUndo, raise_all
from evenhand.records.change import ChangeLine
from evenhand.store.put import before, storable
from evenhand.store.references import loose
from evenhand.store.state import (
    Entry,
    State,
    Version,
    contradictions,
    holding,
    records_of,
    trial_of,
    undoers,
)  # fmt: skip

SEE = "See 'evenhand undo --list'."


def lines_of(state: State) -> tuple[ChangeLine, ...]:
    """Every change, oldest first."""
    return tuple(
        ChangeLine(entry.number, entry.at, entry.what, state.undone.get(entry.number))
        for entry in state.entries
    )


def take_back(
    connection: sqlite3.Connection, state: State, number: int | None, at: int, path: Path
) -> ChangeLine:
    """Undoes a whole change inside the open transaction; the change that this made.

    `number` None: the newest change that holds and is no undo. Raises `NothingToUndo` where there is none,
    `ContradictingRecords` where something later stands on it.
    """
    entry = _chosen(state, number)
    made = Entry(state.last + 1, at, "", entry.number)
    undone = undoers((*state.entries, made))
    root = _root(state, entry)
    if (root.number in undone) == (root.number in state.undone):
        raise NothingToUndo(f"Taking back change {entry.number} would alter nothing.", SEE)
    _refuse_if_kept_for_good(state, root)
    _refuse_if_built_on(state, root)
    after = holding(state.versions, undone)
    _refuse_if_loose(state, root, after)
    known = {str(problem) for problem in before(state, path)}
    found = contradictions(trial_of(state.header, records_of(after, path), made.number))
    raise_all(problem for problem in found if str(problem) not in known)
    what = storable(_said(entry, root))
    connection.execute(
        "INSERT INTO change (number, at, what, undoes) VALUES (?, ?, ?, ?)",
        (made.number, at, what, entry.number),
    )
    return ChangeLine(made.number, at, what, None)


def _said(entry: Entry, root: Entry) -> str:
    if entry is root:
        return f"took back change {root.number}: {root.what}"
    return f"took back change {entry.number}, which concerned change {root.number}: {root.what}"


def _chosen(state: State, number: int | None) -> Entry:
    if number is None:
        for entry in reversed(state.entries[1:]):
            if entry.undoes is None and entry.number not in state.undone:
                return entry
        raise NothingToUndo("There is no change left to take back.", SEE)
    if number not in {entry.number for entry in state.entries}:
        raise NothingToUndo(f"There is no change {number}.", SEE)
    entry = state.entry(number)
    if entry is state.entries[0]:
        raise NothingToUndo(
            f"Change {number} made the trial and cannot be taken back.",
            "Delete the file if it is not wanted.",
        )
    if number in state.undone:
        undoer = state.undone[number]
        raise NothingToUndo(
            f"Change {number} was taken back already, by change {undoer}.",
            f"To bring it back, take back change {undoer}.",
        )
    return entry


def _root(state: State, entry: Entry) -> Entry:
    """The change with records that a chain of undoes is about."""
    while entry.undoes is not None:
        entry = state.entry(entry.undoes)
    return entry


def _named(state: State, numbers: set[int]) -> str:
    return ", ".join(f"{number} ({state.entry(number).what})" for number in sorted(numbers))


def _refuse_if_built_on(state: State, root: Entry) -> None:
    """Refuses where a later change that holds wrote or withdrew one of the same records."""
    touched = {version.id for version in state.versions if version.change == root.number}
    later = {
        version.change
        for version in state.versions
        if version.id in touched and version.change > root.number and version.change not in state.undone
    }
    if later:
        raise ContradictingRecords(
            f"Change {root.number} ({root.what}) cannot be altered alone: the same record was changed later, by change {_named(state, later)}.",
            f"First take back change {max(later)}.",
        )


def _refuse_if_kept_for_good(state: State, root: Entry) -> None:
    """Refuses to take back what others must be able to rely on: an opened seal, a departure from the declaration, and
    the declaration itself once a wear, a stick or a reading is there."""
    kinds = {version.kind: version.body for version in state.versions if version.change == root.number}
    if "opening" in kinds or "deviation" in kinds:
        raise NothingToUndo(
            f"Change {root.number} ({root.what}) stands for good: what was looked at cannot be unseen.",
            "It is printed with the answer.",
        )
    declares = '"declared":{' in (kinds.get("question") or "")
    if declares and (state.lines or any(version.kind in ("wear", "stick") for version in state.now.values())):
        raise NothingToUndo(
            f"Change {root.number} ({root.what}) stands for good: the trial has begun.",
            "Write a departure down instead, with evenhand declare --set KEY=VALUE --why TEXT.",
        )


def _refuse_if_loose(state: State, root: Entry, after: Mapping[str, Version]) -> None:
    """Refuses where a record would be left that names one which is gone."""
    left = loose(after, state.lines)
    if left:
        left -= loose(state.now, state.lines)
    if not left:
        return
    leaning = {after[name].change for name, _ in left}
    if leaning == {root.number}:
        gone = {version.change for version in state.versions if version.id in {other for _, other in left}}
        raise ContradictingRecords(
            f"Change {root.number} ({root.what}) cannot come back alone: it builds on change {_named(state, gone)}, which does not hold now.",
            f"First bring back change {max(gone)}.",
        )
    raise ContradictingRecords(
        f"Change {root.number} ({root.what}) cannot be taken back alone: change {_named(state, leaning)} builds on it.",
        f"First take back change {max(leaning)}.",
    )
