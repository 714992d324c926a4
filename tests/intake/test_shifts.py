"""`shift=`: whole files and parts of them, one syntax there and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import BadValue
from evenhand.intake.shifts import Piece, apply, parse

WALL = st.integers(1_600_000_000, 1_900_000_000)


@given(st.integers(-10_000_000, 10_000_000).filter(bool), st.none() | WALL, st.none() | WALL)
def test_what_is_proposed_is_understood(seconds, start, end):
    """Whatever a piece says of itself is read back as the same piece."""
    if start is not None and end is not None and end < start:
        start, end = end, start
    piece = Piece(seconds, start, end)
    assert parse(piece.said) == (piece,)


@pytest.mark.parametrize(
    "said",
    ["", "1", "1y", "+999999d", "-1h@", "-1h@2026-03-29", "-1h@x..", "-1h@2026-03-29T02:00Z..", "-1h@2026-03-29..2026-03-28", "-1h,+1h",
     "-1h@2026-03-29..,+1d@2026-04-01..2026-04-02", "-1h@..2026-03-29,+1h@2026-03-29.."],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused(said):
    """No amount, no bounds, bounds with a zone, the wrong way round, or parts that overlap."""
    with pytest.raises(BadValue):
        parse(said)


def test_only_rows_inside_move_and_the_ends_belong_to_the_part():
    """Bounds are times as written, both included; rows without a time stay."""
    wall = np.array([0, 100, 200, 300, 150], np.int64)
    good = np.array([True, True, True, True, False])
    moved = apply(wall, good, (Piece(10, 100, 200), Piece(-5, 201, None)))
    assert moved.tolist() == [0, 110, 210, 295, 150]


def test_a_part_of_a_file_is_moved():
    """End to end: the rows from a wall time on are an hour earlier, the others stay."""
    text = "Time,Glucose mg/dL\n2026-04-01 08:00,100\n2026-04-01 08:05,101\n2026-04-01 09:10,102\n"
    found = take(text, of="Fern", shift="-1h@2026-04-01T09:10..")
    assert readings_of(found, a_trial())["Fern"] == [
        "2026-04-01T08:00:00+02:00 100 mg/dL",
        "2026-04-01T08:05:00+02:00 101 mg/dL",
        "2026-04-01T08:10:00+02:00 102 mg/dL",
    ]
