"""Where the tables are within the rows of a sheet: preamble, header, units row, data, repeated headers, footers."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from evenhand.intake import moments, numerals, words
from evenhand.intake.table import Table, blank

_LOOK = 400
"""How many rows are searched for a header before the first row that looks like data."""


@dataclass(frozen=True, slots=True)
class Aside:
    """A line that holds no data, and why it is set aside."""

    line: int
    reason: str


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


@dataclass(frozen=True, slots=True)
class _Head:
    """Rows [first, start) are a header block; data begins at `start`."""

    first: int
    start: int
    names: tuple[str, ...]
    units: tuple[str, ...] = ()


def _aside(rows: list[list[str]], lines: Sequence[int], start: int, end: int, reason: str) -> list[Aside]:
    return [Aside(lines[at], reason) for at in range(start, end) if not blank(rows[at])]


def _headers(rows: list[list[str]], lines: Sequence[int], said: str | None) -> list[_Head]:
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


def _bare(rows: list[list[str]], at: int) -> _Head:
    width = max((len(row) for row in rows[at : at + 1000]), default=0)
    return _Head(at, at, tuple(f"column {number}" for number in range(1, width + 1)))


def _header_above(rows: list[list[str]], data: int) -> _Head | None:
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


def _head_at(rows: list[list[str]], at: int, data: int) -> _Head:
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
        shown = " ".join(name.split()) or f"column {place}"
        seen[shown] = seen.get(shown, 0) + 1
        unique.append(shown if seen[shown] == 1 else f"{shown} ({seen[shown]})")
    return tuple(unique)


_DIGIT = re.compile(r"\d")


def _later_headers(rows: list[list[str]], head: _Head) -> list[_Head]:
    """Headers of further tables below the first: text rows with other names than the one above, data below."""
    found: list[_Head] = []
    names = [words.fold(name) for name in head.names]
    for at in range(head.start, len(rows)):
        row = rows[at]
        if _DIGIT.search("".join(row)) or _filled(row) < 2 or _role_hits(row) < 2 or not _header_like(row, 2):
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


def _section(table: Table, head: _Head, end: int, preamble: str) -> tuple[Section | None, list[Aside]]:
    """The data rows of one section as columns; repeated headers and rows that are too long go aside."""
    rows, lines = table.rows, table.lines
    width = len(head.names)
    same = [words.fold(name) for name in head.names]
    asides: list[Aside] = []
    kept: list[list[str]] = []
    at_lines: list[int] = []
    for at in range(head.start, end):
        row = rows[at]
        if len(row) != width:
            row = _fitted(row, head.names)
            if len(row) > width:
                asides.append(Aside(lines[at], f"{len(row)} cells where the header has {width}"))
                continue
        if not any(row) or blank(row):
            continue
        if not _DIGIT.search("".join(row)) and _repeats(row, same, head.units):
            asides.append(Aside(lines[at], "the header, repeated"))
            continue
        kept.append(row)
        at_lines.append(lines[at])
    if not kept:
        return None, asides
    header = tuple(lines[at] for at in range(head.first, head.start) if not blank(rows[at]))
    columns = tuple(zip(*kept, strict=True))
    return Section(
        table.sheet, head.names, head.units, header, columns, at_lines, table.serial_base, preamble
    ), asides


def _repeats(row: Sequence[str], same: list[str], units: Sequence[str]) -> bool:
    folded = [words.fold(cell) for cell in row]
    hits = sum(1 for cell, name in zip(folded, same, strict=False) if cell and cell == name)
    return (hits >= 2 and hits >= 0.6 * sum(1 for cell in folded if cell)) or (
        bool(units) and _units_row(row)
    )


def _fitted(row: list[str], names: tuple[str, ...]) -> list[str]:
    """A row of the header's width: padded, empty cells at its end dropped, a note with delimiters joined, a
    decimal comma that was taken for a delimiter mended."""
    width = len(names)
    if len(row) < width:
        return row + [""] * (width - len(row))
    while len(row) > width and not row[-1].strip():
        row = row[:-1]
    if len(row) > width:
        row = _mended(row, width) or row
    if len(row) > width and words.fold(names[-1]) in words.COLUMN_WORDS[words.Role.NOTE]:
        row = [*row[: width - 1], ",".join(row[width - 1 :])]
    return row


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
        and any(words.fold(cell) in words.UNIT_WORDS for cell in filled)
        and not any(_typed(cell) for cell in filled)
        and len(filled) <= len(row)
        and all(len(cell) <= 24 for cell in filled)
        and _role_hits(row) < 2
        and (len(filled) > 1 or len(row) > 1)
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
