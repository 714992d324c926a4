"""The fate of every row of every file, kept in runs: neighbours with one fate and reason are one row here."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping

from evenhand.records.files import Fate, InRuns, LedgerRow

Run = tuple[str, str | None, int, int, str, str]
"""File, sheet, first line, last line, fate, reason."""


def runs(ledger: Iterable[LedgerRow]) -> Iterator[Run]:
    """The runs of a ledger, in its order.

    >>> list(runs(LedgerRow("f", None, line, Fate.KEPT) for line in (2, 3, 4, 6)))
    [('f', None, 2, 4, 'kept', ''), ('f', None, 6, 6, 'kept', '')]
    """
    if isinstance(ledger, InRuns):
        yield from (_run(row, end) for row, end in ledger.in_runs())
        return
    first: LedgerRow | None = None
    last = 0
    for row in ledger:
        if first is not None:
            if (
                row.line == last + 1
                and row.fate is first.fate
                and row.reason == first.reason
                and row.file == first.file
                and row.sheet == first.sheet
            ):
                last = row.line
                continue
            yield _run(first, last)
        first, last = row, row.line
    if first is not None:
        yield _run(first, last)


def files(ledger: Iterable[LedgerRow]) -> set[str]:
    """The ids of the files that a ledger names."""
    return {run[0] for run in runs(ledger)}


def _run(first: LedgerRow, last: int) -> Run:
    return first.file, first.sheet, first.line, last, first.fate.value, first.reason


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
