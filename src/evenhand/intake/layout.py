"""Where the tables are within the rows of a sheet: preamble, header, units row, data, repeated headers, footers."""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import islice, pairwise

from evenhand.intake import moments, numerals, texts, words
from evenhand.intake.table import Aside, Parted, Table, blank

_LOOK = 400
"""How many rows are searched for a header before the first row that looks like data."""


@dataclass(frozen=True, slots=True)
class Section:
    """One table within a sheet: a header and the rows under it.

    `names` are the columns' names (made up where there is no header), `units` what a units row says under
    them. `columns` holds the cells column by column, all of the length of `lines`.
    """

    sheet: str | None
    names: tuple[str, ...]
    units: tuple[str, ...]
    header: tuple[int, ...]
    columns: tuple[Sequence[str], ...] = field(repr=False)
    lines: Sequence[int] = field(repr=False)
    serial_base: str | None = None
    preamble: str = ""


@dataclass(frozen=True, slots=True)
class Laid:
    """The sections of one sheet and the lines outside them; blank lines and headers are in neither."""

    sheet: str | None
    sections: tuple[Section, ...]
    asides: tuple[Aside, ...]


def lay_out(table: Table, header: str | None = None) -> Laid:
    """Find the tables of a sheet; `header` is the line the person named, or 'none'."""
    rows, lines = table.rows, table.lines
    if table.names is not None:
        return _as_named(table, table.names)
    heads = _headers(rows, lines, header)
    if not heads:
        return Laid(table.sheet, (), tuple(_aside(rows, lines, 0, len(rows), "no table of values around it")))
    asides = list(_aside(rows, lines, 0, heads[0].first, "before the table"))
    preamble = "\n".join(" ".join(row) for row in rows[: heads[0].first][:_LOOK])
    sections = []
    for head, after in zip(heads, [*heads[1:], None], strict=True):
        end = after.first if after else len(rows)
        section, more = _section(table, head, end, preamble)
        asides += more
        if section is not None:
            sections.append(section)
    return Laid(table.sheet, tuple(sections), tuple(asides))


def _as_named(table: Table, names: tuple[str, ...]) -> Laid:
    """The one section of a table whose form names its columns."""
    full = [at for at, row in enumerate(table.rows) if not blank(row)]
    empty = [line for line, row in zip(table.lines, table.rows, strict=True) if blank(row)]
    asides = (*table.asides, *(Aside(line, "an entry without content") for line in empty))
    if not full or not names:
        return Laid(table.sheet, (), asides)
    columns = tuple(zip(*(table.rows[at] for at in full), strict=True))
    lines = [table.lines[at] for at in full]
    section = Section(table.sheet, _unique(names), (), (), columns, lines, None, table.preamble)
    return Laid(table.sheet, (section,), asides)


@dataclass(frozen=True, slots=True)
class _Head:
    """Rows [first, start) are a header block; data begins at `start`."""

    first: int
    start: int
    names: tuple[str, ...]
    units: tuple[str, ...] = ()


def _aside(rows: Sequence[list[str]], lines: Sequence[int], start: int, end: int, reason: str) -> list[Aside]:
    return [Aside(lines[at], reason) for at in range(start, end) if not blank(rows[at])]


def _headers(rows: Sequence[list[str]], lines: Sequence[int], said: str | None) -> list[_Head]:
    """Every header block in order; one made up where data stands without one."""
    if said is not None and said.isdigit() and int(said) in lines:
        at = list(lines).index(int(said))
        return [_head_at(rows, at, at)]
    data = next((at for at, row in enumerate(rows) if _data_like(row)), None)
    if said == "none" or data is None:
        return [] if data is None else [_bare(rows, data)]
    first = _header_above(rows, data)
    heads = [_bare(rows, data) if first is None else first]
    return heads + _later_headers(rows, heads[0])


def _bare(rows: Sequence[list[str]], at: int) -> _Head:
    width = max((len(row) for row in rows[at : at + 1000]), default=0)
    return _Head(at, at, tuple(f"column {number}" for number in range(1, width + 1)))


def _header_above(rows: Sequence[list[str]], data: int) -> _Head | None:
    """The header above the first data row: the nearest row of names that fits it in width."""
    width = _filled(rows[data])
    nearest: int | None = None
    for at in range(data - 1, max(-1, data - _LOOK), -1):
        row = rows[at]
        if blank(row) or _units_row(row):
            continue
        if _header_like(row, width) and _role_hits(row) >= 1:
            return _head_at(rows, at, data)
        nearest = at if nearest is None else nearest
    if nearest is not None and _header_like(rows[nearest], width):
        return _head_at(rows, nearest, data)
    above = [at for at in range(max(0, data - 5), data) if _units_row(rows[at]) and _role_hits(rows[at])]
    return _head_at(rows, above[-1], data) if above else None


def _head_at(rows: Sequence[list[str]], at: int, data: int) -> _Head:
    """The header block whose names stand in row `at`, with a second line above or a units row below it."""
    row = rows[at]
    start = at + 1
    units: tuple[str, ...] = ()
    while start < len(rows) and (start < data or _units_row(rows[start])):
        if _units_row(rows[start]):
            units = tuple(cell.strip() for cell in rows[start])
        elif not blank(rows[start]):
            break
        start += 1
    first, names = at, [cell.strip() for cell in row]
    if at > 0 and _group_row(rows[at - 1], row):
        first, names = at - 1, _joined(rows[at - 1], row)
    return _Head(first, start, _unique(names), units)


def _group_row(above: Sequence[str], row: Sequence[str]) -> bool:
    """Whether the row above a header names groups of its columns: at least two texts, no numbers, as wide."""
    filled = [cell for cell in above if cell.strip()]
    return (
        len(filled) >= 2
        and len(above) >= len(row) - 1
        and len(row) > 2
        and all(not _typed(cell) and not cell.strip().endswith(":") for cell in filled)
        and (
            len(set(map(words.fold, row))) < len(row)
            or len(filled) == len([cell for cell in row if cell.strip()])
        )
    )


def _joined(above: Sequence[str], row: Sequence[str]) -> list[str]:
    repeated = {name for name in map(words.fold, row) if [*map(words.fold, row)].count(name) > 1}
    names, group = [], ""
    for place, cell in enumerate(row):
        group = (above[place].strip() if place < len(above) else "") or (
            group if words.fold(cell) in repeated else ""
        )
        names.append(f"{group} {cell.strip()}".strip())
    return names


def _unique(names: Sequence[str]) -> tuple[str, ...]:
    """Names without doubles: the second 'Glucose' becomes 'Glucose (2)'; an empty one 'column 3'."""
    seen: dict[str, int] = {}
    unique = []
    for place, name in enumerate(names, 1):
        shown = " ".join(moments.plain_spaces(name).split()) or f"column {place}"
        seen[shown] = seen.get(shown, 0) + 1
        unique.append(shown if seen[shown] == 1 else f"{shown} ({seen[shown]})")
    return tuple(unique)


_DIGIT = re.compile(r"\d")


def _later_headers(rows: Sequence[list[str]], head: _Head) -> list[_Head]:
    """Headers of further tables below the first: text rows with other names than the one above, data below."""
    found: list[_Head] = []
    names = [words.fold(name) for name in head.names]
    for at in _perhaps_names(rows, head.start):
        row = rows[at]
        if _DIGIT.search("".join(row)):
            continue
        if _filled(row) < 2 or _role_hits(row) < 2 or not _header_like(row, 2):
            continue
        if [words.fold(cell) for cell in row if cell.strip()] == [name for name in names if name]:
            continue
        below = next(
            (under for under in range(at + 1, min(at + 4, len(rows))) if _data_like(rows[under])), None
        )
        if below is not None:
            later = _head_at(rows, at, below)
            found.append(later)
            names = [words.fold(name) for name in later.names]
    return found


def _perhaps_names(rows: Sequence[list[str]], start: int) -> Iterator[int]:
    """The rows from `start` on that may hold names: in a long text all but stretches of lines that begin with a digit."""
    for first in range(start, len(rows), texts.CHUNK):
        end = min(first + texts.CHUNK, len(rows))
        if not (isinstance(rows, Parted) and rows.all_dated(first, end)):
            yield from range(first, end)


def _section(table: Table, head: _Head, end: int, preamble: str) -> tuple[Section | None, list[Aside]]:
    """The data rows of one section as columns; repeated headers and rows that are too long go aside."""
    rows, lines = table.rows, table.lines
    made = _Filling(table, head, end)
    for first in range(head.start, end, texts.CHUNK):
        made.add(first, min(first + texts.CHUNK, end))
    if not made.lines:
        return None, made.asides
    header = tuple(lines[at] for at in range(head.first, head.start) if not blank(rows[at]))
    return Section(
        table.sheet,
        head.names,
        head.units,
        header,
        tuple(made.columns),
        made.lines,
        table.serial_base,
        preamble,
    ), made.asides


class _Filling:
    """Columns that fill with the data rows of a section, in order."""

    def __init__(self, table: Table, head: _Head, end: int) -> None:
        self._table, self._head, self._end = table, head, end
        self._same = [words.fold(name) for name in head.names]
        self._mend = None if table.delimiter == "," else False
        self.columns = [texts.Cells() for _ in head.names]
        self.lines = array("i")
        self.asides: list[Aside] = []

    def add(self, start: int, end: int) -> None:
        """Add the rows [start, end): at once where all are as wide as the header and begin with a digit, else one by one."""
        rows, lines = self._table.rows, self._table.lines
        plain = rows.columns(start, end, len(self.columns)) if isinstance(rows, Parted) else None
        if plain is not None:
            for column, cells in zip(self.columns, plain, strict=True):
                column.extend(cells)
            self.lines.extend(lines[start:end])
            return
        kept = []
        for at in range(start, end):
            row = self._data(at)
            if row is not None:
                kept.append(row)
                self.lines.append(lines[at])
        texts.into(self.columns, kept)

    def _data(self, at: int) -> list[str] | None:
        """A row brought to the header's width; None where it is blank or goes aside."""
        row, width, line = self._table.rows[at], len(self.columns), self._table.lines[at]
        if len(row) != width:
            if self._mend is None and len(row) > width:
                self._mend = not _decimal_points(self._table.rows, width, self._head.start, self._end)
            row = _fitted(row, self._head.names, self._table.delimiter or ",", mend=bool(self._mend))
            if len(row) > width:
                self.asides.append(Aside(line, f"{len(row)} cells where the header has {width}"))
                return None
        if not _DIGIT.search("".join(row)):
            if blank(row):
                return None
            if _repeats(row, self._same, self._head.units):
                self.asides.append(Aside(line, "the header, repeated"))
                return None
        return row


def _repeats(row: Sequence[str], same: list[str], units: Sequence[str]) -> bool:
    folded = [words.fold(cell) for cell in row]
    hits = sum(1 for cell, name in zip(folded, same, strict=False) if cell and cell == name)
    return (hits >= 2 and hits >= 0.6 * sum(1 for cell in folded if cell)) or (
        bool(units) and _units_row(row)
    )


def _fitted(row: list[str], names: tuple[str, ...], delimiter: str, *, mend: bool) -> list[str]:
    """A row of the header's width: padded, empty cells at its end dropped, a note with delimiters joined, a
    decimal comma that was taken for a delimiter mended."""
    width = len(names)
    if len(row) < width:
        return row + [""] * (width - len(row))
    while len(row) > width and not row[-1].strip():
        row = row[:-1]
    if len(row) > width and mend:
        row = _mended(row, width) or row
    if len(row) > width and words.fold(names[-1]) in words.COLUMN_WORDS[words.Role.NOTE]:
        row = [*row[: width - 1], delimiter.join(row[width - 1 :])]
    return row


_TENTHS_AFTER_POINT = re.compile(r"\s*[<>]?\s*\d{1,2}\.\d\s*", re.ASCII)


def _decimal_points(rows: Sequence[list[str]], width: int, start: int, end: int) -> bool:
    """Whether some row of the header's width writes a value with a decimal point: then no comma is one."""
    return any(
        _TENTHS_AFTER_POINT.fullmatch(cell)
        for row in islice(rows, start, end)
        if len(row) == width
        for cell in row
    )


_WHOLE = re.compile(r"\s*[<>]?\s*\d{1,2}", re.ASCII)
_TENTHS = re.compile(r"\d\s*", re.ASCII)


def _mended(row: list[str], width: int) -> list[str] | None:
    """A row in which decimal commas were taken for delimiters ('6,1' as two cells), joined; None where it is not
    plain which cells belong together."""
    joints = [
        at for at in range(len(row) - 1) if _WHOLE.fullmatch(row[at]) and _TENTHS.fullmatch(row[at + 1])
    ]
    if len(joints) != len(row) - width or any(after - at == 1 for at, after in pairwise(joints)):
        return None
    mended = list(row)
    for at in reversed(joints):
        mended[at : at + 2] = [f"{mended[at].strip()},{mended[at + 1].strip()}"]
    return mended


def _filled(row: Sequence[str]) -> int:
    return sum(1 for cell in row if cell.strip())


def _typed(cell: str) -> bool:
    """Whether a cell is a value or a time rather than a name (a limit word alone is neither)."""
    bare = cell.strip()
    if not bare or not _DIGIT.search(bare):
        return False
    found = numerals.read(bare)
    return (
        (found is not None and found.value is not None)
        or moments.split(bare) is not None
        or moments.read_day(bare) is not None
        or moments.read_clock(bare) is not None
        or moments.read_epoch(bare) is not None
        or moments.read_serial(bare, "1900") is not None
    )


def _timed(cell: str) -> bool:
    bare = cell.strip()
    return bool(_DIGIT.search(bare)) and (
        moments.split(bare) is not None
        or moments.read_day(bare) is not None
        or moments.read_clock(bare) is not None
        or moments.read_epoch(bare) is not None
    )


def _data_like(row: Sequence[str]) -> bool:
    """A time and something beside it, or two numbers."""
    if len(row) < 2 or not _DIGIT.search("".join(row)):
        return False
    typed = [cell for cell in row[:40] if _typed(cell)]
    if not typed:
        return False
    limits = sum(1 for cell in row[:40] if (found := numerals.read(cell)) is not None and found.value is None)
    timed = sum(1 for cell in typed if _timed(cell))
    if not ((timed >= 1 and len(typed) - 1 + limits >= 1) or (timed == 0 and len(typed) >= 2)):
        return False
    return not any(cell.strip().endswith(":") for cell in row[:40]) and _role_hits(row) < 2


def _units_row(row: Sequence[str]) -> bool:
    """Whether a row says units under a header: at least one unit of glucose and nothing that is data."""
    filled = [cell.strip().strip("()[]") for cell in row if cell.strip()]
    return (
        bool(filled)
        and any(words.fold(cell) in words.UNIT_WORDS or words.other_unit(cell) == cell for cell in filled)
        and not any(_typed(cell) for cell in filled)
        and len(filled) <= len(row)
        and all(len(cell) <= 24 for cell in filled)
        and _role_hits(row) < 2
        and (len(filled) > 1 or len(row) > 1)
        and not any(
            role_of(cell, role) == 1.0 for cell in filled for role in (words.Role.TIME, words.Role.DATE)
        )
    )


def _header_like(row: Sequence[str], width: int) -> bool:
    filled = [cell.strip() for cell in row if cell.strip()]
    if len(filled) < 2 or any(_typed(cell) for cell in filled):
        return False
    return _role_hits(row) >= 2 or len(filled) >= max(2, width - 1)


@lru_cache(maxsize=4_096)
def role_of(name: str, role: words.Role) -> float:
    """How well a column's name says a role: 1 for the very word, 0.6 for a name that holds it, 0 for neither."""
    folded = words.fold(name)
    known = words.COLUMN_WORDS[role]
    bare = re.sub(r"\s*[\[(].*", "", name)
    if folded in known or words.fold(bare) in known:
        return 1.0
    padded = f" {folded} "
    return (
        0.6
        if any(
            f" {word} " in padded or (not word.isascii() and len(word) > 1 and word in folded)
            for word in known
        )
        else 0.0
    )


def _role_hits(row: Sequence[str]) -> int:
    """How many cells of a row are names of columns."""
    return sum(
        1
        for cell in row[:60]
        if cell.strip() and len(cell) < 60 and any(role_of(cell, role) for role in words.Role)
    )
