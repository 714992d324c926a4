"""XLSX to tables: every sheet, true dates as ISO text, numbers as they print, and limits before anything unpacks."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime, time, timedelta

from python_calamine import CalamineWorkbook

from evenhand.errors import BadFile, Place
from evenhand.intake.bounds import MAX_CELLS, MAX_PARTS, MAX_RATIO, MAX_UNPACKED
from evenhand.intake.table import Table

_CHUNK = 1 << 20
_ROW = re.compile(rb'<(?:\w+:)?row\b[^>]*?\br="(\d{1,9})"')
_FAR = re.compile(rb'\br="([A-Z]{2,3})\d{1,9}"')
_BASE_1904 = re.compile(rb'\bdate1904\s*=\s*"(?:1|true)"', re.I)
_MACRO_FREE = "Save it as XLSX or CSV and take that in."


def read(data: bytes, name: str) -> tuple[Table, ...]:
    """Every sheet of an XLSX file as a table; `BadFile` where it is damaged, locked or unpacks beyond the limits."""
    base = _checked(data, name)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        return tuple(
            Table(sheet.name, rows, range(1, len(rows) + 1), base)
            for sheet in (book.get_sheet_by_name(title) for title in book.sheet_names)
            for rows in [[[_text(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)]]
        )
    except BadFile:
        raise
    except Exception as error:  # noqa: BLE001 - the library raises many kinds on damaged files
        raise BadFile(
            f"The spreadsheet cannot be read ({_brief(error)}).",
            "Open it and save it anew, or export it as CSV.",
            Place(file=name),
        ) from None


def _brief(error: Exception) -> str:
    return " ".join(str(error).split())[:80] or type(error).__name__


def _checked(data: bytes, name: str) -> str:
    """The date system ('1900' or '1904') of a spreadsheet whose parts have all been unpacked once, and measured."""
    place = Place(file=name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            _within(parts, place)
            names = {part.filename for part in parts}
            if "xl/workbook.xml" not in names:
                raise _no_workbook(packed, names, place)  # noqa: TRY301
            base = "1900"
            for part in parts:
                found = _walk(packed, part, place)
                if part.filename == "xl/workbook.xml" and _BASE_1904.search(found):
                    base = "1904"
            return base
    except BadFile:
        raise
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        raise BadFile(
            f"The spreadsheet is damaged or locked ({_brief(error)}).",
            "Open it and save it anew without a password.",
            place,
        ) from None
    except Exception as error:  # noqa: BLE001 - zlib and lzma errors of damaged parts
        raise BadFile(f"The spreadsheet is damaged ({_brief(error)}).", "Export it again.", place) from None


def _no_workbook(packed: zipfile.ZipFile, names: set[str], place: Place) -> BadFile:
    """What a packed file is that holds no XLSX workbook."""
    kind = packed.read("mimetype")[:80] if "mimetype" in names else b""
    if b"opendocument.spreadsheet" in kind:
        what, cure = "an OpenDocument spreadsheet", _MACRO_FREE
    elif "xl/workbook.bin" in names:
        what, cure = "a binary spreadsheet (XLSB)", _MACRO_FREE
    elif "word/document.xml" in names or b"opendocument.text" in kind:
        what, cure = "a text document", "Save its lines as plain text, or its table as CSV, and take that in."
    else:
        what, cure = "a packed archive", "Unpack it and take in the files in it, one by one."
    return BadFile(f"The file is {what}, not an XLSX spreadsheet.", cure, place)


def _within(parts: list[zipfile.ZipInfo], place: Place) -> None:
    total = sum(part.file_size for part in parts)
    swollen = any(
        part.file_size > 10 * _CHUNK and part.file_size > MAX_RATIO * max(part.compress_size, 1)
        for part in parts
    )
    if len(parts) > MAX_PARTS or total > MAX_UNPACKED or swollen:
        raise BadFile(
            f"The spreadsheet unpacks to {total // _CHUNK} MB in {len(parts)} parts, which is beyond the limits.",
            f"At most {MAX_UNPACKED // _CHUNK} MB in {MAX_PARTS} parts are read; export it as CSV.",
            place,
        )


def _walk(packed: zipfile.ZipFile, part: zipfile.ZipInfo, place: Place) -> bytes:
    """Unpack a part to the end (so that a size that lies is found out) and measure a sheet; its first megabyte."""
    first = b""
    last_row, wide, tail = 1, 100, b""
    is_sheet = part.filename.startswith("xl/worksheets/")
    with packed.open(part) as stream:
        while chunk := stream.read(_CHUNK):
            first = first or chunk
            if is_sheet:
                text = tail + chunk
                last_row = (
                    max((int(row) for row in _ROW.findall(text)), default=last_row)
                    if b"row" in text
                    else last_row
                )
                wide = max(wide, *(_column(letters) for letters in set(_FAR.findall(text))), 100)
                tail = chunk[-200:]
    if last_row * wide > MAX_CELLS * 2 and wide > 100:
        raise BadFile(
            f"A sheet spans {last_row} rows and {wide} columns.",
            "Keep the columns of the readings only, or export it as CSV.",
            place,
        )
    return first


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _text(cell: object) -> str:  # noqa: PLR0911
    """A cell as text: dates in ISO, numbers as a spreadsheet prints them (15 digits)."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return f"{cell:.0f}" if cell.is_integer() and abs(cell) < 1e15 else f"{cell:.15g}"
    if isinstance(cell, datetime):
        near = cell + timedelta(microseconds=500_000)
        return near.replace(microsecond=0).isoformat(sep=" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time):
        return cell.replace(microsecond=0).isoformat()
    if isinstance(cell, timedelta):
        seconds = round(cell.total_seconds())
        return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return "" if cell is None else str(cell)
