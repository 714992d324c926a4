"""The fate of every row of a table: exactly one each, with its reason."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from evenhand.intake.layout import Section
from evenhand.records.files import Fate

_UNSET = -1
CODES = (Fate.KEPT, Fate.DOUBLED, Fate.SET_ASIDE, Fate.WAITING)
"""Fates by number."""


class Fates:
    """Fates of the rows of one section, by position; a row that is kept in part is kept."""

    def __init__(self, section: Section) -> None:
        self.section = section
        self._code = np.full(len(section.lines), _UNSET, np.int8)
        self._reason = np.zeros(len(section.lines), np.int32)
        self._reasons: dict[str, int] = {"": 0}

    def _why(self, reason: str) -> int:
        return self._reasons.setdefault(reason, len(self._reasons))

    def keep(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> None:
        """Keep rows, whatever else was said of them; a reason told before stays as a remark."""
        self._code[rows] = 0

    def keep_one(self, row: int) -> None:
        """Keep one row."""
        self._code[row] = 0

    def set(self, row: int, fate: Fate, reason: str) -> None:
        """Give a row a fate, unless it is kept or has one already."""
        if self._code[row] == _UNSET or (fate is Fate.DOUBLED and self._code[row] == 2):
            self._code[row] = CODES.index(fate)
        elif self._code[row] == 0 and self._reason[row]:
            return
        self._reason[row] = self._why(reason)

    def set_many(self, rows: NDArray[np.bool_], fate: Fate, reason: str) -> None:
        """Give every undecided row of a mask one fate."""
        undecided = rows & (self._code == _UNSET)
        self._code[undecided] = CODES.index(fate)
        self._reason[undecided] = self._why(reason)

    def double(self, rows: NDArray[np.int64], reason: str) -> None:
        """Mark rows as doubled, unless they are kept for another column."""
        open_rows = rows[(self._code[rows] == _UNSET) | (self._code[rows] == 2)]
        self._code[open_rows] = 1
        self._reason[open_rows] = self._why(reason)

    @property
    def undecided(self) -> NDArray[np.bool_]:
        """Rows without a fate yet, shape (n,)."""
        undecided: NDArray[np.bool_] = self._code == _UNSET
        return undecided

    def count(self, fate: Fate) -> int:
        """How many rows have a fate."""
        return int((self._code == CODES.index(fate)).sum())

    def codes(self) -> NDArray[np.int8]:
        """The fate of each row as an index into CODES, shape (n,)."""
        return self._code

    def why(self) -> NDArray[np.int32]:
        """The reason of each row as an index into `reasons()`, shape (n,)."""
        return self._reason

    def reasons(self) -> list[str]:
        """Every reason that was given; the first is none."""
        return list(self._reasons)
