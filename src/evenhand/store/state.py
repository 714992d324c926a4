"""What a trial file holds now: of each record the newest version from a change that is not undone.

The types here never leave the store; they are named tuples because this stands on the path of `stick`, and a
dataclass costs 0.8 ms to make.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from evenhand.clock import Stamp
from evenhand.errors import EvenhandError
from evenhand.records.change import Record
from evenhand.records.diary import Event, Stick
from evenhand.records.files import FileKey, SourceFile
from evenhand.records.plan import Plan
from evenhand.records.question import Deviation, Opening, Question
from evenhand.records.sensors import Sensor, Wear
from evenhand.records.trial import Header, Trial
from evenhand.store import rows
from evenhand.store.connect import damaged
from evenhand.store.session import header


class Entry(NamedTuple):
    """A change as it lies in the file; `undoes` is the number of the change it takes back."""

    number: int
    at: int
    what: str
    undoes: int | None


class Version(NamedTuple):
    """One version of a record, or a batch of readings (kind 'batch', its body empty); `body` None: withdrawn."""

    id: str
    change: int
    kind: str
    body: str | None


class BatchLine(NamedTuple):
    """A batch of readings without them; `first` and `rows` say which readings are its."""

    id: str
    change: int
    file: str
    sheet: str | None
    sensor: str
    first: int
    rows: int
    hash: str


class State(NamedTuple):
    """Everything but the readings. `now` maps ids to what holds; `undone` maps a change to its undoer."""

    header: Header
    entries: tuple[Entry, ...]
    versions: tuple[Version, ...]
    lines: tuple[BatchLine, ...]
    undone: Mapping[int, int]
    now: Mapping[str, Version]

    @property
    def last(self) -> int:
        """The number of the last change."""
        return self.entries[-1].number if self.entries else 0

    def entry(self, number: int) -> Entry:
        """The change of that number; KeyError where there is none."""
        return {entry.number: entry for entry in self.entries}[number]

    @property
    def batches(self) -> tuple[BatchLine, ...]:
        """The batches that hold now, in order of their ids."""
        held = (line for line in self.lines if line.id in self.now)
        return tuple(sorted(held, key=lambda line: line.id))


def undoers(entries: Iterable[Entry]) -> dict[int, int]:
    """Which changes are undone, and by which (the newest undo that is not itself undone).

    >>> undoers([Entry(1, 0, "", None), Entry(2, 0, "", None), Entry(3, 0, "", 2)])
    {2: 3}
    >>> undoers([Entry(1, 0, "", None), Entry(2, 0, "", 1), Entry(3, 0, "", 2)])
    {2: 3}
    """
    found: dict[int, int] = {}
    for entry in sorted(entries, key=lambda entry: -entry.number):
        if entry.undoes is not None and entry.number not in found:
            found.setdefault(entry.undoes, entry.number)
    return found


def holding(versions: Iterable[Version], undone: Mapping[int, int]) -> dict[str, Version]:
    """What holds now, by id: the newest version from a change that is not undone, unless it withdrew it."""
    newest: dict[str, Version] = {}
    for version in versions:
        if version.change not in undone:
            before = newest.get(version.id)
            if before is None or before.change < version.change:
                newest[version.id] = version
    return {name: version for name, version in newest.items() if version.body is not None}


def load(connection: sqlite3.Connection, path: Path) -> State:
    """Reads everything but the readings and the ledger."""
    entries = tuple(
        Entry(*row)
        for row in connection.execute("SELECT number, at, what, undoes FROM change ORDER BY number")
    )
    versions = [Version(*row) for row in connection.execute("SELECT id, change, kind, body FROM record")]
    lines = tuple(
        BatchLine(*row)
        for row in connection.execute(
            "SELECT id, change, file, sheet, sensor, first, rows, hash FROM batch ORDER BY number"
        )
    )
    versions.extend(Version(line.id, line.change, "batch", "") for line in lines)
    undone = undoers(entries)
    return State(header(connection, path), entries, tuple(versions), lines, undone, holding(versions, undone))


def records_of(now: Mapping[str, Version], path: Path) -> list[Record]:
    """The records that hold, decoded, in order of their ids; every one that cannot be read is named."""
    found: list[Record] = []
    problems: list[str] = []
    for name in sorted(now):
        version = now[name]
        if version.kind == "batch" or version.body is None:
            continue
        try:
            found.append(rows.decode(rows.type_of(version.kind), version.body))
        except rows.Undecodable as error:
            problems.append(f"{version.kind} {name} of change {version.change}: {error}")
    if problems:
        raise damaged(path, f"Records cannot be read: {'; '.join(problems)}.")
    return found


def trial_of(start: Header, records: Iterable[Record], change: int) -> Trial:
    """The trial that these records make, without readings."""
    kinds: dict[type, list[Record]] = {made: [] for made in rows.KINDS.values()}
    for record in records:
        kinds[type(record)].append(record)

    def of(made: type[rows.T]) -> list[rows.T]:
        return kinds[made]  # type: ignore[return-value]

    question, plan = of(Question), of(Plan)
    return Trial(
        header=start,
        sensors=tuple(sorted(of(Sensor), key=lambda sensor: (sensor.place, sensor.id))),
        wears=tuple(sorted(of(Wear), key=lambda wear: (*_when(wear.first), wear.id))),
        sticks=tuple(sorted(of(Stick), key=lambda stick: (*_when(stick.at), stick.id))),
        events=tuple(sorted(of(Event), key=lambda event: (*_when(event.start), event.id))),
        question=question[0] if question else Question("question"),
        plan=plan[0] if plan else Plan(),
        openings=tuple(sorted(of(Opening), key=lambda opening: (*_when(opening.at), opening.id))),
        deviations=tuple(sorted(of(Deviation), key=lambda one: (*_when(one.at), one.id))),
        files=tuple(sorted(of(SourceFile), key=lambda file: (file.taken, file.id))),
        keys=tuple(sorted(of(FileKey), key=lambda key: key.id)),
        change=change,
    )


def _when(stamp: Stamp) -> tuple[int]:
    return (stamp.instant,)


def contradictions(trial: Trial) -> tuple[EvenhandError, ...]:
    """What `Trial.check` finds, one by one; empty where the records agree."""
    try:
        trial.check()
    except EvenhandError as error:
        return error.each()
    return ()
