"""The fates of all rows of a file as one sequence, each made only when it is looked at: a long file has many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import overload

import numpy as np

from evenhand.intake.fates import CODES, Fates
from evenhand.records.files import Fate, LedgerRow


class Ledger(Sequence[LedgerRow]):
    """Every row with its fate: `outside` are rows of no table. In the order of the file where it has one sheet."""

    def __init__(self, file: str, outside: Sequence[LedgerRow], sections: Sequence[Fates]) -> None:
        self._file = file
        self._sheets: list[str | None] = []
        self._reasons: dict[str, int] = {}
        parts = [self._section(one) for one in sections]
        if outside:
            parts.insert(0, self._outside(outside))
        empty = np.empty(0, np.int32)
        self._line, self._code, self._reason, self._sheet = (
            (np.concatenate([part[place] for part in parts]) if len(parts) > 1 else parts[0][place])
            if parts
            else empty
            for place in range(4)
        )
        if outside and len(self._sheets) <= 1:
            order = np.argsort(self._line, kind="stable")
            self._line, self._code = self._line[order], self._code[order]
            self._reason, self._sheet = self._reason[order], self._sheet[order]
        self._words = list(self._reasons)

    def _sheet_of(self, sheet: str | None) -> int:
        if sheet not in self._sheets:
            self._sheets.append(sheet)
        return self._sheets.index(sheet)

    def _section(self, one: Fates) -> tuple[np.ndarray, ...]:
        told = one.reasons()
        known = np.array([self._reasons.setdefault(word, len(self._reasons)) for word in told], np.int32)
        sheet = self._sheet_of(one.section.sheet)
        lines = np.asarray(one.section.lines, np.int32)
        return lines, one.codes(), known[one.why()], np.full(lines.size, sheet, np.int16)

    def _outside(self, rows: Sequence[LedgerRow]) -> tuple[np.ndarray, ...]:
        return (
            np.array([row.line for row in rows], np.int32),
            np.array([CODES.index(row.fate) for row in rows], np.int8),
            np.array([self._reasons.setdefault(row.reason, len(self._reasons)) for row in rows], np.int32),
            np.array([self._sheet_of(row.sheet) for row in rows], np.int16),
        )

    def __len__(self) -> int:
        return int(self._line.size)

    @overload
    def __getitem__(self, at: int) -> LedgerRow: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[LedgerRow, ...]: ...

    def __getitem__(self, at: int | slice) -> LedgerRow | tuple[LedgerRow, ...]:
        if isinstance(at, slice):
            return tuple(self[one] for one in range(*at.indices(len(self))))
        return LedgerRow(
            self._file,
            self._sheets[int(self._sheet[at])],
            int(self._line[at]),
            CODES[int(self._code[at])],
            self._words[int(self._reason[at])],
        )

    def __iter__(self) -> Iterator[LedgerRow]:
        columns = (self._sheet.tolist(), self._line.tolist(), self._code.tolist(), self._reason.tolist())
        for sheet, line, code, reason in zip(*columns, strict=True):
            yield LedgerRow(self._file, self._sheets[sheet], line, CODES[code], self._words[reason])

    def in_runs(self) -> Iterator[tuple[LedgerRow, int]]:
        """The first row of each run of neighbouring lines with one fate and reason, and the line of its last."""
        if not len(self):
            return
        new = np.diff(self._line) != 1
        for column in (self._sheet, self._code, self._reason):
            new |= np.diff(column) != 0
        starts = np.concatenate(([0], np.flatnonzero(new) + 1)).tolist()
        for start, end in pairwise([*starts, len(self)]):
            yield self[start], int(self._line[end - 1])

    def count(self, value: object) -> int:
        """How many rows have a fate (or are a given row)."""
        if isinstance(value, Fate):
            return int((self._code == CODES.index(value)).sum())
        return sum(1 for row in self if row == value)

    def but(self, fate: Fate) -> tuple[LedgerRow, ...]:
        """Every row that has another fate."""
        return tuple(self[int(at)] for at in np.flatnonzero(self._code != CODES.index(fate)))
