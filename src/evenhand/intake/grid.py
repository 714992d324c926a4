"""Rows of a long text kept as runs of cells of one width: a tenth of the objects that a list for each row would be."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import overload

_PIECE = 1 << 18
"""About so many characters are parted at a time."""
_MOST_KEPT = 50_000
"""How many different cells are held once; beyond that, cells are not expected to come again."""
_ENDS = re.compile(r"\r\n|\r")


class Once(dict[str, str]):
    """Gives each text back as the first that was equal to it."""

    def __missing__(self, text: str) -> str:
        if len(self) < _MOST_KEPT:
            self[text] = text
        return text


class Grid(Sequence[list[str]]):
    """Rows of cells, read like a list of lists; rows beside each other of one width are one flat run.

    >>> grid = Grid.of("a,b\\n1,2\\n3,4\\nend", ",")
    >>> list(grid), grid.columns(1, 3, 2)
    ([['a', 'b'], ['1', '2'], ['3', '4'], ['end']], (['1', '3'], ['2', '4']))
    """

    def __init__(self) -> None:
        self._widths: list[int] = []
        self._flats: list[list[str]] = []
        self._ends: list[int] = []

    @classmethod
    def of(cls, text: str, delimiter: str) -> Grid:
        """The rows of a text without quotes; CR, LF and CRLF end a line."""
        made, once = cls(), Once()
        for piece in pieces(text):
            made._add(piece, delimiter, once)
        return made

    def _add(self, piece: str, delimiter: str, once: Once) -> None:
        lines = lines_in(piece)
        for width, run in groupby(lines, key=lambda line: line.count(delimiter) + 1):
            cells = delimiter.join(run).split(delimiter)
            for place in range(1, width):
                cells[place::width] = map(once.__getitem__, cells[place::width])
            count = len(cells) // width
            if self._widths and self._widths[-1] == width:
                self._flats[-1].extend(cells)
                self._ends[-1] += count
            else:
                self._widths.append(width)
                self._flats.append(cells)
                self._ends.append(count + (self._ends[-1] if self._ends else 0))

    def __len__(self) -> int:
        return self._ends[-1] if self._ends else 0

    def __iter__(self) -> Iterator[list[str]]:
        for width, flat in zip(self._widths, self._flats, strict=True):
            for at in range(0, len(flat), width):
                yield flat[at : at + width]

    @overload
    def __getitem__(self, index: int) -> list[str]: ...
    @overload
    def __getitem__(self, index: slice) -> list[list[str]]: ...
    def __getitem__(self, index: int | slice) -> list[str] | list[list[str]]:
        if isinstance(index, slice):
            return [self[at] for at in range(*index.indices(len(self)))]
        at = index + len(self) if index < 0 else index
        if not 0 <= at < len(self):
            raise IndexError(index)
        run = bisect_right(self._ends, at)
        width = self._widths[run]
        place = (at - (self._ends[run - 1] if run else 0)) * width
        return self._flats[run][place : place + width]

    def columns(self, start: int, end: int, width: int) -> tuple[list[str], ...] | None:
        """The cells of rows [start, end) column by column; None where not all of them are `width` wide, or there are none."""
        if not 0 <= start < end <= len(self):
            return None
        run = bisect_right(self._ends, start)
        if self._widths[run] != width or self._ends[run] < end:
            return None
        before = self._ends[run - 1] if run else 0
        low, high = (start - before) * width, (end - before) * width
        return tuple(self._flats[run][low + place : high : width] for place in range(width))

    def run_end(self, start: int, end: int) -> int:
        """Where the run of one width that row `start` lies in ends, at most `end`."""
        return min(end, self._ends[bisect_right(self._ends, start)])

    def firsts(self) -> Iterator[tuple[int, str]]:
        """Every row's number and first cell."""
        at = 0
        for width, flat in zip(self._widths, self._flats, strict=True):
            for cell in flat[::width]:
                yield at, cell
                at += 1

    @property
    def widest(self) -> int:
        """The most cells of a row."""
        return max(self._widths, default=0)

    def clear(self) -> None:
        """Let go of every cell."""
        self._widths.clear()
        self._flats.clear()
        self._ends.clear()


def pieces(text: str) -> Iterator[str]:
    """A text in pieces of whole lines, in order, every line end a line feed."""
    at = 0
    while at < len(text):
        end = _line_end(text, at + _PIECE)
        piece = text[at:end]
        yield _ENDS.sub("\n", piece) if "\r" in piece else piece
        at = end


def lines_in(piece: str) -> list[str]:
    """The lines of a piece, without their ends."""
    lines = piece.split("\n")
    if piece.endswith("\n"):
        lines.pop()
    return lines


def sample(text: str, many: int = 60, each: int = 4_000) -> list[str]:
    """Lines from the beginning and from places evenly spread over a long text."""
    head = text[: _line_end(text, _PIECE)]
    lines = lines_in(_ENDS.sub("\n", head))[:2_000]
    for part in range(1, many):
        start = _line_end(text, len(text) * part // many)
        lines += lines_in(_ENDS.sub("\n", text[start : _line_end(text, start + each)]))
    return lines


def _line_end(text: str, about: int) -> int:
    """The end of the line in which `about` lies (never between CR and LF)."""
    if about >= len(text):
        return len(text)
    feed, back = text.find("\n", about), text.find("\r", about)
    if back < 0 or (0 <= feed < back):
        return feed + 1 if feed >= 0 else len(text)
    return back + 2 if text[back + 1 : back + 2] == "\n" else back + 1
