"""A change to a trial: what a person did, and the records that hold afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from evenhand.records.diary import Event, Stick
from evenhand.records.files import FileKey, LedgerRow, SourceFile
from evenhand.records.plan import Plan
from evenhand.records.question import Deviation, Opening, Question
from evenhand.records.sensors import Sensor, Wear

if TYPE_CHECKING:
    from evenhand.records.readings import Batch

Record: TypeAlias = (
    Sensor | Wear | Stick | Event | Question | Plan | Opening | Deviation | SourceFile | FileKey
)
"""Everything that is kept by id and superseded, never updated."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing a person did. Records with an id that exists already supersede it; `withdrawn` are ids that
    no longer hold. `what` is said in the history; `at` is the instant it was done."""

    what: str
    at: int
    records: tuple[Record, ...] = ()
    batches: tuple[Batch, ...] = ()
    ledger: Sequence[LedgerRow] = ()
    withdrawn: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A change as the history lists it; `undone_by` is the number of the change that took it back."""

    number: int
    at: int
    what: str
    undone_by: int | None
