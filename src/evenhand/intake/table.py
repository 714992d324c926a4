"""The shape every reader hands on: rows of cells, verbatim, each with its line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import repeat
from typing import TypeAlias, overload

from evenhand.intake.texts import Lines

_DIGITS = frozenset("0123456789")


@dataclass(frozen=True, slots=True)
class Aside:
    """A line that holds no data, and why it is set aside."""

    line: int
    reason: str


class Parted(Sequence[list[str]]):
    """The rows of lines that hold no quotes, parted only when they are asked for: the cells of a long file need
    five times its size, and are wanted column by column."""

    __slots__ = ("_delimiter", "_lines", "_seen")

    def __init__(self, lines: Sequence[str], delimiter: str) -> None:
        self._lines = lines
        self._delimiter = delimiter
        self._seen: dict[str, str] = {}

    def __len__(self) -> int:
        return len(self._lines)

    @overload
    def __getitem__(self, at: int) -> list[str]: ...

    @overload
    def __getitem__(self, at: slice) -> list[list[str]]: ...

    def __getitem__(self, at: int | slice) -> list[str] | list[list[str]]:
        if isinstance(at, slice):
            return [self._row(line) for line in self._lines[at]]
        return self._row(self._lines[at])

    def __iter__(self) -> Iterator[list[str]]:
        return map(self._row, self._lines)

    def _row(self, line: str) -> list[str]:
        once = self._seen.setdefault
        return [
            cell if len(cell) > 12 else once(cell, cell)
            for cell in line.rstrip("\r\n").split(self._delimiter)
        ]

    def line(self, at: int) -> str:
        """A row as it stands, unparted."""
        return self._lines[at]

    def all_dated(self, start: int, end: int) -> bool:
        """Whether each of the lines [start, end) begins with a digit: no header, and not blank."""
        return {line[:1] for line in self._plain(start, end)} <= _DIGITS

    def columns(self, start: int, end: int, width: int) -> tuple[list[str], ...] | None:
        """Rows [start, end) column by column, where each is `width` cells wide and begins with a digit; else None."""
        mark, lines = self._delimiter, self._plain(start, end)
        if not {line[:1] for line in lines} <= _DIGITS or set(map(str.count, lines, repeat(mark))) != {
            width - 1
        }:
            return None
        cells = mark.join(lines).split(mark)
        return tuple(cells[place::width] for place in range(width))

    def _plain(self, start: int, end: int) -> list[str]:
        """The lines [start, end) without their ends."""
        lines = self._lines
        if not isinstance(lines, Lines):
            return [line.rstrip("\r\n") for line in lines[start:end]]
        block = lines.block(start, end)
        if "\r" in block:
            block = block.replace("\r\n", "\n").replace("\r", "\n")
        return block.removesuffix("\n").split("\n")

    def wider_than(self, most: int) -> bool:
        """Whether some row has more than `most` cells."""
        if isinstance(self._lines, Lines) and self._lines.longest()[0] < most:
            return False
        return any(line.count(self._delimiter) >= most for line in self._lines)

    def clear(self) -> None:
        """Forget every row."""
        self._lines = []
        self._seen = {}


Rows: TypeAlias = list[list[str]] | Parted


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text cells as they stand in one file or sheet.

    `lines` holds the line (from 1) each row starts on; a quoted cell may span several. `serial_base` is the
    day that serial numbers of a spreadsheet count from: '1900', '1904', or None for a text file. Where the form
    itself names the columns (JSON), `names` holds them and every row is data; `preamble` is what stands beside
    the rows, `asides` are rows that were no row, `notes` sentences to say. `delimiter` parts the cells of a text, None elsewhere.
    """

    sheet: str | None
    rows: Rows = field(repr=False)
    lines: Sequence[int] = field(repr=False)
    serial_base: str | None = None
    names: tuple[str, ...] | None = None
    preamble: str = ""
    asides: tuple[Aside, ...] = ()
    delimiter: str | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """A file as tables, and how it was read: pairs of a word ('encoding', 'delimiter') and a sentence."""

    name: str
    tables: tuple[Table, ...]
    lines: tuple[str, ...] | None = field(default=None, repr=False)
    """The lines of a short text file, which may be jotted ones; None for anything else."""
    how: tuple[tuple[str, str, str], ...] = ()
    """(key, what was chosen, evidence) for each choice made on the way."""


def blank(row: Sequence[str]) -> bool:
    """Whether a row holds nothing.

    >>> blank(["", "  "]), blank(["", "x"])
    (True, False)
    """
    return not any(cell and not cell.isspace() for cell in row)
