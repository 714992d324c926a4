"""What intake understood of a file, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from evenhand.clock import Stamp
from evenhand.intake.ask import Asked, Guess, Suggested
from evenhand.intake.ledger import Ledger
from evenhand.records.change import Change
from evenhand.records.files import Fate, LedgerRow


@dataclass(frozen=True, slots=True)
class RowRead:
    """One of the first rows, as read: its line, the cells as they stand, and what was understood (a sentence)."""

    sheet: str | None
    line: int
    cells: tuple[str, ...]
    understood: str


@dataclass(frozen=True, slots=True)
class Part:
    """What a file holds for one owner: 'meter', 'diary' or a sensor (by name).

    `kept` counts new records, `doubled` those held already; `first` and `last` are None where there is none.
    `gaps` are the stretches (instants) between kept readings longer than three usual steps, longest first, at
    most ten; `units` counts values by unit; `low` and `high` count values beyond the limits.
    """

    owner: str
    kept: int
    doubled: int
    first: Stamp | None
    last: Stamp | None
    step: int | None
    gaps: tuple[tuple[int, int], ...]
    units: Mapping[str, int]
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """Everything a person needs to see before a file is taken in.

    A **row** is every line (or sheet row) that is neither blank nor part of a header; each has exactly one fate,
    so `rows` = kept + doubled + set aside + waiting. `change` is what would be written: None while a question is
    open, or where the file adds nothing. `zone` says which zone wall times were read in.
    """

    name: str
    sha256: str
    size: int
    rows: int
    counts: Mapping[Fate, int]
    ledger: Ledger = field(repr=False)
    first_rows: tuple[RowRead, ...]
    parts: tuple[Part, ...]
    guesses: tuple[Guess, ...]
    questions: tuple[Asked, ...]
    proposals: tuple[Suggested, ...]
    notes: tuple[str, ...]
    zone: str
    change: Change | None
    edition: str = ""

    @property
    def kept(self) -> int:
        """Rows that become records."""
        return self.counts.get(Fate.KEPT, 0)

    @property
    def adds_nothing(self) -> bool:
        """Whether no question is open and still nothing is to be written: every row is held already or set aside."""
        return self.change is None and not self.questions

    def not_kept(self) -> tuple[LedgerRow, ...]:
        """Every row that is not kept, with its reason."""
        return self.ledger.but(Fate.KEPT)

    def to_json(self, edition: str | None = None) -> dict[str, Any]:
        """The object of `intake --json`; `edition` is the trial's after the file was taken in (before: unchanged)."""
        return {
            "rows": self.rows,
            "kept": self.kept,
            "doubled": self.counts.get(Fate.DOUBLED, 0),
            "waiting": self.counts.get(Fate.WAITING, 0),
            "set_aside": [
                {"sheet": row.sheet, "line": row.line, "fate": row.fate.value, "reason": row.reason}
                for row in self.not_kept()
            ],
            "questions": [
                {"code": asked.code, "text": asked.text, "choices": list(asked.choices), "set": asked.set}
                for asked in self.questions
            ],
            "proposals": [
                {
                    "code": one.code,
                    "text": one.text,
                    "evidence": one.evidence,
                    "set": one.set,
                    "refuse": one.refuse,
                }
                for one in self.proposals
            ],
            "edition": self.edition if edition is None else edition,
        }
