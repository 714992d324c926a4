"""The shape every reader hands on: rows of cells, verbatim, each with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from evenhand.records.files import Fate


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text cells as they stand in one file or sheet.

    `lines` holds the line (from 1) each row starts on; a quoted cell may span several. `serial_base` is the
    day that serial numbers of a spreadsheet count from: '1900', '1904', or None for a text file. `aside` holds the
    lines whose fate the reader knew already: line, fate, reason.
    """

    sheet: str | None
    rows: list[list[str]] = field(repr=False)
    lines: Sequence[int] = field(repr=False)
    serial_base: str | None = None
    aside: tuple[tuple[int, Fate, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """A file as tables, and how it was read: pairs of a word ('encoding', 'delimiter') and a sentence."""

    name: str
    tables: tuple[Table, ...]
    how: tuple[tuple[str, str, str], ...] = ()
    """(key, what was chosen, evidence) for each choice made on the way."""


def blank(row: Sequence[str]) -> bool:
    """Whether a row holds nothing.

    >>> blank(["", "  "]), blank(["", "x"])
    (True, False)
    """
    return not any(cell and not cell.isspace() for cell in row)
