"""Lines and cells held in little room read like plain lists of texts."""

from __future__ import annotations

import re
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake.texts import CHUNK, Cells, Lines, into

TEXTS = st.text("ab1,é\x0b\x85\u2028\r\n", max_size=40)
COLUMN = st.lists(st.lists(st.text("ab\0\n1", max_size=4), max_size=12), max_size=5)


@given(TEXTS)
def test_lines_are_what_the_three_ends_part(text):
    """CR, LF and CRLF end a line; nothing is lost, and no other mark does, whatever `splitlines` thinks."""
    wanted = re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+", text)
    lines = Lines(text)
    assert list(lines) == wanted == [lines[at] for at in range(len(lines))]
    assert "".join(lines) == text
    assert lines[1:4] == wanted[1:4]
    assert [lines[-1]] == wanted[-1:] if wanted else len(lines) == 0
    longest, number = lines.longest()
    assert longest == max(map(len, wanted), default=0)
    assert number == (list(map(len, wanted)).index(longest) + 1 if wanted else 0)
    assert lines.block(0, len(lines)) == text


@given(st.text("ab1,\r\n", max_size=40))
def test_plain_text_is_cut_as_any_other(text):
    """The quick way for plain text gives what the general one gives (a letter beyond it forces that)."""
    assert [line.replace("é", "") for line in Lines(f"{text}é")] == [*Lines(text)] + (
        [""] if not text or text[-1] in "\r\n" else []
    )


@given(COLUMN)
def test_cells_are_those_that_were_added(parts):
    """In order, by place, by slice, again and again; also those that hold the joint itself."""
    column = Cells()
    for part in parts:
        column.extend(part)
    wanted = [cell for part in parts for cell in part]
    assert list(column) == wanted == list(column)
    assert [column[at] for at in reversed(range(len(column)))] == wanted[::-1]
    assert column[1:-1] == wanted[1:-1]
    assert column == wanted
    assert column != [*wanted, "x"]
    assert column != "x"


def test_places_beyond_the_end_are_refused():
    """As a list refuses them."""
    for held in (Cells(), Lines("")):
        with pytest.raises(IndexError):
            held[0]


def test_cells_that_come_again_are_one_text():
    """And those that do not are joined: a tenth of the objects."""
    again, once = Cells(), Cells()
    again.extend(["Fern", *("Fe" + "rn" for _ in range(10))])
    once.extend([f"2026-03-01 07:{minute:02d}" for minute in range(60)])
    assert len({id(cell) for cell in again}) == 1
    assert sys.getrefcount(once) < 10
    assert len(once._chunks) == 1
    assert isinstance(once._chunks[0], str)


def test_rows_become_columns():
    """Row by row, in order; no rows add nothing."""
    columns = [Cells(), Cells()]
    into(columns, [["a", "1"], ["b", "2"]])
    into(columns, [])
    assert [list(column) for column in columns] == [["a", "b"], ["1", "2"]]
    assert CHUNK > 100
