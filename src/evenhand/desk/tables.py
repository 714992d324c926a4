"""Rows as CSV or JSON text: quoted so that nothing is lost, and so that no cell becomes a formula."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from typing import TypeAlias

Cell: TypeAlias = str | int | float | bool | list["Cell"] | dict[str, "Cell"] | None
Row: TypeAlias = Mapping[str, Cell]

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?", re.ASCII)
_NEEDS_QUOTES = re.compile(r"[\",\r\n]|^\s|\s$")


class Format(StrEnum):
    """How an export is written."""

    CSV = "csv"
    JSON = "json"


def written(rows: Iterable[Row], columns: Sequence[str], form: Format) -> str:
    """The rows as text in that format; every row has exactly the keys `columns`."""
    return as_csv(rows, columns) if form is Format.CSV else as_json(rows, columns)


def as_csv(rows: Iterable[Row], columns: Sequence[str]) -> str:
    """Comma-separated text with a header line (RFC 4180 but for the line ends, which are a single newline).

    >>> as_csv([{"a": -1.5, "b": "=1+1"}, {"a": None, "b": "x, y"}], ("a", "b")).splitlines()
    ['a,b', "-1.5,'=1+1", ',"x, y"']
    """
    lines = [",".join(columns)]
    lines += [_line([row[column] for column in columns]) for row in rows]
    return "\n".join(lines) + "\n"


def as_json(rows: Iterable[Row], columns: Sequence[str]) -> str:
    """A JSON array with one object a row."""
    return (
        json.dumps([{name: row[name] for name in columns} for row in rows], ensure_ascii=False, indent=1)
        + "\n"
    )


def harmless(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe before = + - @ tab or return, unless the
    text is a number.

    >>> harmless("=SUM(A1)"), harmless("-4.2"), harmless("Fern")
    ("'=SUM(A1)", '-4.2', 'Fern')
    """
    return f"'{text}" if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text) else text


def cell_text(cell: Cell) -> str:
    """One cell as it stands in a CSV line, before quoting: lists joined by ';', pairs as name=value."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, list):
        return harmless(";".join(_plain(part) for part in cell))
    if isinstance(cell, dict):
        return harmless(";".join(f"{name}={_plain(part)}" for name, part in cell.items()))
    return harmless(cell) if isinstance(cell, str) else _plain(cell)


def _plain(cell: Cell) -> str:
    return "" if cell is None else repr(cell) if isinstance(cell, float) else str(cell)


def _line(cells: list[Cell]) -> str:
    texts = [_quoted(cell_text(cell)) for cell in cells]
    return '""' if texts == [""] else ",".join(texts)


def _quoted(text: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"' if _NEEDS_QUOTES.search(text) else text
