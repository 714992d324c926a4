"""What was taken in: files, the fate of each of their rows, and how each kind of file is read."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate
from operator import eq
from typing import overload


class Fate(StrEnum):
    """What became of a row."""

    KEPT = "kept"
    DOUBLED = "doubled"
    SET_ASIDE = "set aside"
    WAITING = "waiting"


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """The fate of one row of one file; `line` counts from 1 in the file or sheet, header and preamble
    included. A row that holds no data (header, blank, preamble) has a fate too."""

    file: str
    sheet: str | None
    line: int
    fate: Fate
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LedgerRun:
    """Neighbouring rows of one fate and reason: lines `first` to `last`, both included."""

    file: str
    sheet: str | None
    first: int
    last: int
    fate: Fate
    reason: str = ""

    def __len__(self) -> int:
        return self.last - self.first + 1


class Ledger(Sequence[LedgerRow]):
    """The fates of a file's rows, kept in runs; reads as a sequence of rows in the order of the runs.

    >>> held = Ledger([LedgerRun("f", None, 2, 4, Fate.KEPT), LedgerRun("f", None, 9, 9, Fate.WAITING)])
    >>> len(held), [row.line for row in held], held[-1].fate.value, held.count_of(Fate.KEPT)
    (4, [2, 3, 4, 9], 'waiting', 3)
    """

    __slots__ = ("_ends", "runs")

    def __init__(self, runs: Iterable[LedgerRun]) -> None:
        self.runs = tuple(runs)
        self._ends = tuple(accumulate(len(run) for run in self.runs))

    def __len__(self) -> int:
        return self._ends[-1] if self._ends else 0

    def __iter__(self) -> Iterator[LedgerRow]:
        for run in self.runs:
            for line in range(run.first, run.last + 1):
                yield LedgerRow(run.file, run.sheet, line, run.fate, run.reason)

    @overload
    def __getitem__(self, index: int) -> LedgerRow: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[LedgerRow, ...]: ...
    def __getitem__(self, index: int | slice) -> LedgerRow | tuple[LedgerRow, ...]:
        if isinstance(index, slice):
            return tuple(self[at] for at in range(*index.indices(len(self))))
        at = index + len(self) if index < 0 else index
        if not 0 <= at < len(self):
            raise IndexError(index)
        place = bisect_right(self._ends, at)
        run = self.runs[place]
        line = run.last + 1 + at - self._ends[place]
        return LedgerRow(run.file, run.sheet, line, run.fate, run.reason)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(eq, self, other))

    def __hash__(self) -> int:
        return hash(self.runs)

    def count_of(self, fate: Fate) -> int:
        """How many rows have a fate."""
        return sum(len(run) for run in self.runs if run.fate is fate)

    def but(self, fate: Fate) -> tuple[LedgerRow, ...]:
        """The rows of every other fate."""
        return tuple(Ledger(run for run in self.runs if run.fate is not fate))


@dataclass(frozen=True, slots=True)
class OpenProposal:
    """Something about a file that was proposed and neither accepted nor refused (a clock that looks off)."""

    code: str
    text: str
    evidence: str
    set: str


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file that was taken in: its name (never its path), SHA-256, size in bytes, whose it was said to be
    ('meter', a sensor's id, or None), how it was read (the key's settings as text), what stays open."""

    id: str
    name: str
    sha256: str
    size: int
    of: str | None
    taken: int
    rows: int
    settings: tuple[tuple[str, str], ...] = ()
    open_proposals: tuple[OpenProposal, ...] = ()


@dataclass(frozen=True, slots=True)
class FileKey:
    """How one kind of file is read, saved to be used for the next of its kind."""

    id: str
    kind: str
    settings: tuple[tuple[str, str], ...]
