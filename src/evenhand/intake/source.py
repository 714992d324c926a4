"""Any file to a `Document`: what kind of file it is, and refusals that say why it is none we can read."""

from __future__ import annotations

import re
from collections.abc import Mapping

from evenhand.errors import BadFile, Place, UnknownName
from evenhand.intake import dialect, objects, workbook
from evenhand.intake.bounds import MAX_BYTES, MAX_COLUMNS, MAX_LINE, MAX_ROWS
from evenhand.intake.encoding import decode
from evenhand.intake.table import Document, blank

_BINARY = (
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "packed with gzip"),
    (b"BZh", "packed with bzip2"),
    (b"\xfd7zXZ", "packed with xz"),
    (b"7z\xbc\xaf", "a packed archive"),
    (b"Rar!", "a packed archive"),
    (b"SQLite format 3", "a database"),
    (b"\xd0\xcf\x11\xe0", "an old binary spreadsheet or document (or one locked with a password)"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90", "a program"),
)
_CURE = "Export the readings as CSV or XLSX and take that in."
_MARKUP = re.compile(r"\s*(?:<!doctype\s+html|<html|<head|<body|<table|<!--)", re.I)
_XML = re.compile(r"\s*<\?xml|\s*<[A-Za-z][\w:-]*[\s>]")


def open_document(data: bytes, name: str, settings: Mapping[str, str]) -> Document:
    """The tables of a file. `settings` may hold 'encoding' and 'delimiter'.

    Raises `BadFile` (with the file's name) for what is empty, too large, binary, a web page, or no table.
    """
    place = Place(file=name)
    if len(data) > MAX_BYTES:
        raise BadFile(
            f"The file has {len(data) // 2**20} MB; at most {MAX_BYTES // 2**20} MB are read.",
            "Export a shorter span.",
            place,
        )
    if not data.strip(b"\0 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise BadFile("The file is empty.", "Export it again.", place)
    if data.startswith(b"PK\x03\x04"):
        document = Document(
            name, workbook.read(data, name), (("format", "XLSX", "it is a packed spreadsheet"),)
        )
    else:
        for magic, what in _BINARY:
            if data.startswith(magic):
                raise BadFile(f"The file is {what}, not a table.", _CURE, place)
        document = _text(data, name, settings)
    return _checked(document, place)


def _text(data: bytes, name: str, settings: Mapping[str, str]) -> Document:
    place = Place(file=name)
    decoded = decode(data, name, settings.get("encoding"))
    text = decoded.text
    if _looks_binary(text):
        raise BadFile("The file is binary, not a table.", _CURE, place)
    found = objects.tables(text, name)
    if found is not None:
        what = ("format", "JSON", "it is a list of objects; its lines are entries, counted from 1")
        return Document(name, found, (("encoding", decoded.encoding, decoded.evidence), what))
    if _MARKUP.match(text):
        raise BadFile("The file is a web page (HTML), not a table.", _CURE, place)
    if _XML.match(text):
        raise BadFile("The file is XML, not a table.", _CURE, place)
    lines = dialect.lines_of(text)
    for number, line in enumerate(lines, 1):
        if len(line) > MAX_LINE:
            raise BadFile(
                f"A line has {len(line)} characters; at most {MAX_LINE} are read.",
                _CURE,
                Place(file=name, line=number),
            )
    chosen = _delimiter(lines, settings)
    table = dialect.split(lines, chosen.delimiter)
    return Document(
        name,
        (table,),
        (("encoding", decoded.encoding, decoded.evidence), ("delimiter", chosen.word, chosen.evidence)),
    )


def _delimiter(lines: list[str], settings: Mapping[str, str]) -> dialect.Dialect:
    said = settings.get("delimiter")
    if said is None:
        return dialect.choose(lines)
    mark = dialect.named(said)
    if mark is None:
        raise UnknownName(
            f"'{said}' is not a delimiter.", "Write delimiter=comma, semicolon, tab, pipe or space."
        )
    return dialect.Dialect(mark, "you said so")


def _looks_binary(text: str) -> bool:
    sample = text[:20_000]
    control = sum(1 for mark in sample if mark < " " and mark not in "\t\r\n\x0b\x0c\x1a")
    return control > 0.02 * len(sample) or "\0" in sample


def _checked(document: Document, place: Place) -> Document:
    if sum(len(table.rows) for table in document.tables) > MAX_ROWS:
        raise BadFile(f"The file has more than {MAX_ROWS} rows.", "Export a shorter span.", place)
    for table in document.tables:
        widest = max((len(row) for row in table.rows), default=0)
        if widest > MAX_COLUMNS:
            raise BadFile(f"A row has {widest} cells; at most {MAX_COLUMNS} are read.", _CURE, place)
    if all(blank(row) for table in document.tables for row in table.rows):
        raise BadFile("The file is empty.", "Export it again.", place)
    return document
