"""The shape every reader hands on: rows of cells, verbatim, each with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Aside:
    """A line that holds no data, and why it is set aside."""

    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text cells as they stand in one file or sheet.

    `lines` holds the line (from 1) each row starts on; a quoted cell may span several. `serial_base` is the
    day that serial numbers of a spreadsheet count from: '1900', '1904', or None for a text file. Where the form
    itself names the columns (JSON), `names` holds them and every row is data; `preamble` is what stands beside
    the rows, `asides` are rows that were no row, `notes` sentences to say.
    """

    sheet: str | None
    rows: list[list[str]] = field(repr=False)
    lines: Sequence[int] = field(repr=False)
    serial_base: str | None = None
    names: tuple[str, ...] | None = None
    preamble: str = ""
    asides: tuple[Aside, ...] = ()
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
