"""The fate of every row of every file, kept in runs: neighbours with one fate and reason are one row here."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping

from evenhand.records.files import Fate, LedgerRow

Run = tuple[str, str | None, int, int, str, str]
"""File, sheet, first line, last line, fate, reason."""


def runs(ledger: Iterable[LedgerRow]) -> Iterator[Run]:
    """The runs of a ledger, in its order.

    >>> list(runs(LedgerRow("f", None, line, Fate.KEPT) for line in (2, 3, 4, 6)))
    [('f', None, 2, 4, 'kept', ''), ('f', None, 6, 6, 'kept', '')]
    """
    run: Run | None = None
    for row in ledger:
        if run is not None and (row.file, row.sheet, row.line, row.fate.value, row.reason) == (
            run[0], run[1], run[3] + 1, run[4], run[5],
        ):  # fmt: skip
            run = (*run[:3], row.line, *run[4:])
        else:
            if run is not None:
                yield run
            run = (row.file, row.sheet, row.line, row.line, row.fate.value, row.reason)
    if run is not None:
        yield run


def insert(connection: sqlite3.Connection, ledger: Iterable[LedgerRow], change: int) -> None:
    """Writes the ledger rows of one change."""
    connection.executemany(
        "INSERT INTO ledger (change, file, sheet, first, last, fate, reason) VALUES (?, ?, ?, ?, ?, ?, ?)",
        ((change, *run) for run in runs(ledger)),
    )


def load(connection: sqlite3.Connection, undone: Mapping[int, int]) -> list[LedgerRow]:
    """The fate of every row as it holds now: files and sheets as they first came, lines in order.

    Where two changes speak of one row, the newest that is not undone holds.
    """
    sheets: dict[tuple[str, str | None], dict[int, LedgerRow]] = {}
    for change, file, sheet, first, last, fate, reason in connection.execute(
        "SELECT change, file, sheet, first, last, fate, reason FROM ledger ORDER BY number"
    ):
        if change in undone:
            continue
        lines = sheets.setdefault((file, sheet), {})
        became = Fate(fate)
        for line in range(first, last + 1):
            lines[line] = LedgerRow(file, sheet, line, became, reason)
    return [lines[line] for lines in sheets.values() for line in sorted(lines)]
