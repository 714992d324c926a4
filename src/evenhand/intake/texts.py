"""Many short texts held in little room: the lines of a long text, and the cells of a column that seldom come again.

A string of its own takes 50 bytes beside its characters; a file of 400,000 rows has a million of them.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from array import array
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import overload

import numpy as np

_END = re.compile(r"\r\n|\r|\n")
_FEED = ord("\n")
_JOINT = "\0"
CHUNK = 5_000
"""So many cells are joined to one text."""


class _Texts(Sequence[str], ABC):
    """A sequence of texts of which single ones are made when they are asked for."""

    __slots__ = ()

    @overload
    def __getitem__(self, at: int) -> str: ...

    @overload
    def __getitem__(self, at: slice) -> list[str]: ...

    def __getitem__(self, at: int | slice) -> str | list[str]:
        if isinstance(at, slice):
            return [self[one] for one in range(*at.indices(len(self)))]
        place = int(at) + len(self) if at < 0 else int(at)
        if not 0 <= place < len(self):
            raise IndexError(at)
        return self._one(place)

    @abstractmethod
    def _one(self, place: int) -> str:
        """The text at a place from 0, which there is."""


class Lines(_Texts):
    """The lines of a text with their ends, cut out when they are asked for; CR, LF and CRLF end a line, nothing else does.

    >>> lines = Lines("a\\r\\nb\\rc\\x0b\\nd")
    >>> list(lines), lines[-1], lines[1:3]
    (['a\\r\\n', 'b\\r', 'c\\x0b\\n', 'd'], 'd', ['b\\r', 'c\\x0b\\n'])
    """

    __slots__ = ("_ends", "text")

    def __init__(self, text: str) -> None:
        self.text = text
        self._ends = array("q", (0,))
        if text.isascii() and text.count("\r") == text.count("\r\n"):
            feeds = np.flatnonzero(np.frombuffer(text.encode("ascii"), np.uint8) == _FEED)
            self._ends.frombytes((feeds + 1).astype(np.int64).tobytes())
        else:
            self._ends.extend(match.end() for match in _END.finditer(text))
        if self._ends[-1] < len(text):
            self._ends.append(len(text))

    def __len__(self) -> int:
        return len(self._ends) - 1

    def _one(self, place: int) -> str:
        return self.text[self._ends[place] : self._ends[place + 1]]

    def __iter__(self) -> Iterator[str]:
        text = self.text
        return (text[start:end] for start, end in pairwise(self._ends))

    def block(self, start: int, end: int) -> str:
        """Lines [start, end) as they stand, in one text."""
        return self.text[self._ends[start] : self._ends[end]]

    def longest(self) -> tuple[int, int]:
        """The length of the longest line and its number, from 1; (0, 0) where there is none."""
        if not len(self):
            return 0, 0
        sizes = np.diff(np.frombuffer(self._ends, np.int64))
        at = int(sizes.argmax())
        return int(sizes[at]), at + 1


class Cells(_Texts):
    """The cells of a column, filled once in order; those that seldom come again are joined to long texts.

    >>> column = Cells()
    >>> column.extend(["07:42", "07:47"]); column.extend(["x", "x", "x"])
    >>> list(column), column[1], column[-1], column[1:4], column == ["07:42", "07:47", "x", "x", "x"]
    (['07:42', '07:47', 'x', 'x', 'x'], '07:47', 'x', ['07:47', 'x', 'x'], True)
    """

    __slots__ = ("_at", "_chunk", "_chunks", "_starts")

    def __init__(self) -> None:
        self._chunks: list[str | tuple[str, ...]] = []
        self._starts = array("q", (0,))
        self._at = -1
        self._chunk: Sequence[str] = ()

    def extend(self, cells: Sequence[str]) -> None:
        """Add some thousands of cells."""
        if not cells:
            return
        joined = _JOINT.join(cells) if len(set(cells)) > 0.5 * len(cells) else ""
        plain = joined and joined.count(_JOINT) == len(cells) - 1
        once: dict[str, str] = {}
        self._chunks.append(joined if plain else tuple(map(once.setdefault, cells, cells)))
        self._starts.append(self._starts[-1] + len(cells))

    def __len__(self) -> int:
        return self._starts[-1]

    def _one(self, place: int) -> str:
        which = self._at
        if which < 0 or not self._starts[which] <= place < self._starts[which + 1]:
            which = self._which(place)
            self._at, self._chunk = which, _parted(self._chunks[which])
        return self._chunk[place - self._starts[which]]

    def _which(self, place: int) -> int:
        low, high = 0, len(self._chunks)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self._starts[middle] <= place else (low, middle)
        return low

    def __iter__(self) -> Iterator[str]:
        return chain.from_iterable(map(_parted, self._chunks))

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, Sequence)
            and not isinstance(other, str)
            and len(self) == len(other)
            and all(one == two for one, two in zip(self, other, strict=True))
        )

    __hash__ = None  # type: ignore[assignment]


def _parted(chunk: str | tuple[str, ...]) -> Sequence[str]:
    return chunk.split(_JOINT) if isinstance(chunk, str) else chunk


def into(columns: Sequence[Cells], rows: Iterable[Sequence[str]]) -> None:
    """Add rows, all as wide as there are columns, to the ends of the columns."""
    for column, cells in zip(columns, zip(*rows, strict=True), strict=False):
        column.extend(cells)
