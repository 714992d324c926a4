"""Rows parted only when they are asked for."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake.table import Parted, blank

LINES = st.lists(st.text("ab1, ;", max_size=12), max_size=12)


@given(LINES)
def test_the_rows_are_those_of_parting_at_once(lines):
    """By iteration, by place, by slice; as often as they are asked for."""
    wanted = [line.split(",") for line in lines]
    rows = Parted([f"{line}\r\n" for line in lines], ",")
    assert list(rows) == wanted == list(rows)
    assert [rows[at] for at in range(len(rows))] == wanted
    assert rows[1:3] == wanted[1:3]
    assert len(rows) == len(lines)
    widest = max((len(row) for row in wanted), default=0)
    assert [rows.wider_than(most) for most in (widest - 1, widest)] == [bool(wanted), False]


def test_short_cells_are_one_text():
    """The same cell in many rows takes its room once."""
    rows = Parted(["x1,Fern\n", "x2,Fern\n"], ",")
    first, second = rows[0][1], rows[1][1]
    assert first is second


def test_forgotten_rows():
    """After clear there are none."""
    rows = Parted(["a,b"], ",")
    assert rows.line(0) == "a,b"
    rows.clear()
    assert (len(rows), list(rows), rows.wider_than(0)) == (0, [], False)


def test_blank_rows():
    """Nothing but spaces, of whatever kind."""
    assert blank(["", " ", "\u00a0"])
    assert not blank(["", "-"])
