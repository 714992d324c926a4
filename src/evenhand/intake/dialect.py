"""Which mark parts the cells of a text table: the one under which all rows agree best, quotes respected."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from evenhand.intake.bounds import MAX_LINE, MAX_LINES_IN_CELL
from evenhand.intake.table import Parted, Rows, Table
from evenhand.intake.texts import Lines

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}
_NAMES = {name: mark for mark, name in DELIMITERS.items()} | {"space": " "}
_SAMPLE = 4_000
_FORMULA = re.compile(r'\s*="([^"]*)"\s*\Z')
"""A text kept from being changed by a spreadsheet: ="110"."""
_NUMERIC = re.compile(r"\s*[<>≤≥]?\s*\d+(?:[.,]\d+)?\s*", re.ASCII)
_WHEN = re.compile(
    r"\s*\d{1,4}[-./:]\d{1,2}[-./:T ][^\t;|]*(?:\d|Z|[ap]\.?m\.?)\s*|\s*\d{1,2}[:.h]\d{2}[^\t;|]*",
    re.ASCII | re.S | re.I,
)


@dataclass(frozen=True, slots=True)
class Dialect:
    """The delimiter, and why it was chosen (a sentence)."""

    delimiter: str
    evidence: str

    @property
    def word(self) -> str:
        """The delimiter by name.

        >>> Dialect(";", "").word
        'semicolon'
        """
        return DELIMITERS.get(self.delimiter, "space" if self.delimiter == " " else self.delimiter)


def named(text: str) -> str | None:
    """The delimiter a person names ('semicolon', 'tab', or the mark itself); None where it is none."""
    if text in DELIMITERS:
        return text
    return _NAMES.get(text.strip().lower()) or ("\t" if text == "\\t" else None)


def lines_of(text: str) -> Lines:
    """The lines of a text with their ends; CR, LF and CRLF may be mixed, and nothing else ends a line."""
    return Lines(text)


def choose(lines: Sequence[str]) -> Dialect:
    """The delimiter by consistency over the rows: how many rows agree on a width above one, and how many cells
    under it are whole numbers or times.

    >>> choose(["Zeit;Wert\\n", "01.03.2026 07:42;6,1\\n", "01.03.2026 07:47;6,3\\n"]).word
    'semicolon'
    """
    step = max(1, len(lines) // _SAMPLE)
    head = list(lines[: _SAMPLE // 2])
    sample = head + list(lines[_SAMPLE // 2 :: step])
    best, best_score, best_width, best_share = ",", 0.0, 1, 0.0
    for mark in DELIMITERS:
        if not any(mark in line for line in sample):
            continue
        widths, typed = _measure(sample, mark)
        if not widths:
            continue
        width, count = max(widths.items(), key=lambda item: (item[1] * (item[0] > 1), item[0]))
        share = count / sum(widths.values())
        score = share * (0.6 + typed) * (1 - 0.8 / width) if width > 1 else 0.0
        if score > best_score:
            best, best_score, best_width, best_share = mark, score, width, share
    if best_score == 0.0:
        return Dialect(",", "no mark parts the lines")
    return Dialect(
        best, f"{best_share:.0%} of the lines have {best_width} cells when parted at each {DELIMITERS[best]}"
    )


def _measure(sample: Sequence[str], mark: str) -> tuple[Counter[int], float]:
    """How many rows have which width under a delimiter, and the share of their cells that are a number or time."""
    widths: Counter[int] = Counter()
    cells = whole = 0
    for row in _rows(list(sample), mark)[0]:
        if any(cell.strip() for cell in row):
            widths[len(row)] += 1
        for cell in row if len(row) > 1 else ():
            if cell.strip():
                cells += 1
                whole += bool(_NUMERIC.fullmatch(cell) or _WHEN.fullmatch(cell))
    return widths, whole / cells if cells else 0.0


def split(lines: Sequence[str], delimiter: str, sheet: str | None = None) -> Table:
    """The table of a text, cells verbatim, each row with the line it starts on."""
    rows, starts = _rows(lines, delimiter)
    if isinstance(rows, list) and any('="' in cell for row in rows[:_SAMPLE] for cell in row):
        rows = [[_FORMULA.sub(r"\1", cell) for cell in row] for row in rows]
    return Table(sheet, rows, starts, delimiter=delimiter)


def _rows(lines: Sequence[str], delimiter: str) -> tuple[Rows, Sequence[int]]:
    """Rows and the lines they start on. A quote that is never closed is taken as an ordinary character."""
    csv.field_size_limit(MAX_LINE)
    if not (('"' in lines.text) if isinstance(lines, Lines) else any('"' in line for line in lines)):
        return Parted(lines, delimiter), range(1, len(lines) + 1)
    whole = _all_quoted(lines, delimiter)
    if whole is not None:
        return whole
    rows: list[list[str]] = []
    starts: list[int] = []
    at = 0
    while at < len(lines):
        line = lines[at]
        if '"' not in line:
            rows.append(line.rstrip("\r\n").split(delimiter))
            starts.append(at + 1)
            at += 1
            continue
        row, used = _quoted(lines, at, delimiter)
        rows.append(row)
        starts.append(at + 1)
        at += used
    return rows, starts


def _all_quoted(lines: Sequence[str], delimiter: str) -> tuple[list[list[str]], Sequence[int]] | None:
    """Every row read in one go; None where a quote is out of place and rows must be looked at one by one."""
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    rows: list[list[str]] = []
    ends: list[int] = []
    try:
        for row in reader:
            rows.append(row)
            ends.append(reader.line_num)
    except csv.Error:
        return None
    if len(rows) == len(lines):
        return rows, range(1, len(lines) + 1)
    starts = [1, *(end + 1 for end in ends[:-1])]
    spans = (end - start for start, end in zip(starts, ends, strict=True))
    return None if max(spans, default=0) >= MAX_LINES_IN_CELL else (rows, starts)


def _quoted(lines: Sequence[str], at: int, delimiter: str) -> tuple[list[str], int]:
    """The row that starts at line `at` and holds a quote, and how many lines it takes."""
    window = lines[at : at + MAX_LINES_IN_CELL]
    for escape in (None, "\\") if "\\" in lines[at] else (None,):
        reader = csv.reader(
            iter(window),
            delimiter=delimiter,
            strict=True,
            escapechar=escape,
            doublequote=True,
            skipinitialspace=delimiter != " ",
        )
        try:
            row = next(reader)
        except (csv.Error, StopIteration):
            continue
        return row, reader.line_num
    return lines[at].rstrip("\r\n").split(delimiter), 1
