"""Bytes to a document: what kind of file it is, the limits, and refusals that say why."""

from __future__ import annotations

import pytest

from evenhand.errors import BadFile, UnknownName
from evenhand.intake import bounds
from evenhand.intake.source import open_document
from evenhand.intake.table import Parted

TABLE = b"time;value\n2026-03-01 07:42;110\n"


def opened(data: bytes, **said: str):
    """A document of these bytes."""
    return open_document(data, "a.csv", said)


def how(data: bytes, **said: str) -> dict[str, str]:
    """How a document was read: encoding, delimiter or format."""
    return {what: chosen for what, chosen, _ in opened(data, **said).how}


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf \r\n", "empty"),
        (b"\0" * 50, "empty"),
        (b"%PDF-1.7 x", "a PDF"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"\x1f\x8b\x08x", "packed with gzip"),
        (b"SQLite format 3\0x", "a database"),
        (b"\xd0\xcf\x11\xe0x", "an old binary spreadsheet"),
        (b"<!DOCTYPE html><p>", "a web page"),
        (b"<table><tr><td>1", "a web page"),
        (b"<?xml version='1.0'?><a/>", "XML"),
        (b"a\x01\x02\x03\x04\x05\x06\x07b\n", "binary"),
        (b"PK\x03\x04 not a zip", "damaged or locked"),
    ],
)
def test_what_is_no_table_is_refused_with_the_reason(data, found):
    """One error that names the file, what it is, and the cure."""
    with pytest.raises(BadFile, match=found) as caught:
        opened(data)
    assert caught.value.place.file == "a.csv"
    assert caught.value.cure


@pytest.mark.parametrize(
    ("limit", "value", "data", "found"),
    [
        ("MAX_BYTES", 10, TABLE, "at most"),
        ("MAX_ROWS", 1, TABLE, "more than 1 rows"),
        ("MAX_COLUMNS", 1, TABLE, "has 2 cells"),
        ("MAX_LINE", 12, TABLE, "has 21 characters"),
    ],
)
def test_limits(limit, value, data, found, monkeypatch):
    """Each is stated in bounds.py, and told with what was found."""
    monkeypatch.setattr(f"evenhand.intake.source.{limit}", value)
    with pytest.raises(BadFile, match=found):
        opened(data)


def test_the_line_that_is_too_long_is_named(monkeypatch):
    """Its number stands in the error."""
    monkeypatch.setattr("evenhand.intake.source.MAX_LINE", 12)
    with pytest.raises(BadFile) as caught:
        opened(TABLE)
    assert caught.value.place.line == 2


def test_how_it_was_read_is_said():
    """Encoding and delimiter, guessed or said."""
    assert how(TABLE) == {"encoding": "utf-8", "delimiter": "semicolon"}
    assert how(TABLE, encoding="cp1252", delimiter="tab") == {"encoding": "cp1252", "delimiter": "tab"}
    assert how(b'[{"time": 1, "value": 2}]')["format"] == "JSON"


@pytest.mark.parametrize("said", [{"delimiter": "slash"}, {"encoding": "klingon"}])
def test_what_cannot_be_said(said):
    """With what may be."""
    with pytest.raises(UnknownName) as caught:
        opened(TABLE, **said)
    assert caught.value.cure


def test_a_delimiter_said_makes_json_a_text():
    """A person who says that it is a table has the last word."""
    assert "format" not in how(b'[{"a": 1}]\n', delimiter="comma")


def test_lines_are_kept_only_of_short_files():
    """Nobody jots down thousands of lines; a long file would be held twice."""
    assert opened(TABLE).lines == ("time;value", "2026-03-01 07:42;110")
    assert opened(b"a;1\n" * (bounds.MAX_JOTTED + 1)).lines is None


def test_rows_without_quotes_are_parted_late():
    """Quotes need a look at the whole; without them a line is its row."""
    assert isinstance(opened(TABLE).tables[0].rows, Parted)
    assert isinstance(opened(b'"a";"b"\n"c";"d"\n').tables[0].rows, list)
