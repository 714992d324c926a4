"""Rows as runs of cells: the same rows as a plain splitting, in every shape of text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import take

from evenhand.errors import BadFile
from evenhand.intake import dialect, grid
from evenhand.intake.bounds import MAX_LINE
from evenhand.intake.grid import Grid, lines_in, pieces, sample

TEXT = st.text(st.sampled_from("ab1 ,;\n\r\t."), max_size=120)


def plain(text: str, mark: str) -> list[list[str]]:
    """The rows as the other way of splitting gives them."""
    return list(dialect.split(dialect.lines_of(text), mark).rows)


@given(TEXT, st.sampled_from(",;\t"))
def test_rows_are_those_of_a_plain_splitting(text, mark):
    """By iteration, by number from both ends, by slice, and their number."""
    rows = plain(text, mark)
    made = Grid.of(text, mark)
    assert list(made) == rows
    assert len(made) == len(rows)
    assert [made[at] for at in range(len(rows))] == rows
    assert [made[-1 - at] for at in range(len(rows))] == rows[::-1]
    assert made[1:4] == rows[1:4]
    assert made.widest == max(map(len, rows), default=0)
    assert list(made.firsts()) == [(at, row[0]) for at, row in enumerate(rows)]


@given(TEXT, st.integers(1, 40))
def test_pieces_of_any_size_are_the_text(text, size):
    """Cut anywhere, a text gives the same lines; a CR and its LF stay together."""
    whole = [line.rstrip("\r\n") for line in dialect.lines_of(text)]
    before = grid._PIECE
    try:
        grid._PIECE = size
        assert [line for piece in pieces(text) for line in lines_in(piece)] == whole
        assert list(Grid.of(text, ",")) == plain(text, ",")
    finally:
        grid._PIECE = before


@given(TEXT)
def test_columns_are_the_rows_turned(text):
    """Within one run of a width, and only there."""
    made = Grid.of(text, ",")
    for start in range(len(made)):
        end = made.run_end(start, len(made))
        width = len(made[start])
        columns = made.columns(start, end, width)
        assert [list(row) for row in zip(*columns, strict=True)] == made[start:end]
        assert made.columns(start, end, width + 1) is None
    assert made.columns(0, len(made) + 1, 1) is None


@pytest.mark.parametrize("at", [-4, 3])
def test_a_number_outside_is_refused(at):
    """As for any sequence."""
    with pytest.raises(IndexError):
        Grid.of("a\nb\nc", ",")[at]


def test_cleared_it_is_empty():
    """Cells are let go of."""
    made = Grid.of("a,b\nc,d", ",")
    made.clear()
    assert (len(made), list(made), made.widest) == (0, [], 0)


def test_a_sample_is_of_whole_lines_from_everywhere():
    """Every line of the sample stands in the text; first and last tenth are both in it."""
    text = "".join(f"line {number:06}\n" for number in range(60_000))
    lines = sample(text)
    assert all(len(line) == 11 for line in lines if line)
    numbers = [int(line[5:]) for line in lines if line]
    assert min(numbers) == 0
    assert max(numbers) > 54_000


def readings(many: int, *, before: str = "", after: str = "") -> str:
    """A long table of readings, with something before or after it."""
    rows = "".join(
        f"2026-04-{1 + at // 1440:02} {at // 60 % 24:02}:{at % 60:02}:00,{100 + at % 50}\n"
        for at in range(many)
    )
    return f"{before}Time,Glucose mg/dL\n{rows}{after}"


@pytest.mark.parametrize(
    ("before", "after", "aside"),
    [
        ("", "", 0),
        ("Export of Fern\nMade on 3 May, by Jo\n\n", "", 2),
        ("", "\nEnd of export\n", 1),
        ("", "Time,Glucose mg/dL\n2026-05-30 08:00,111\n", 1),
        ("", "2026-05-30 08:00,111,x,y\n", 1),
    ],
)
def test_long_and_short_files_are_read_alike(before, after, aside, monkeypatch):
    """The same fates, questions and readings whichever way rows are held."""
    text = readings(2_000, before=before, after=after)
    monkeypatch.setattr("evenhand.intake.source._LONG", 10)
    long = take(text, of="Fern")
    monkeypatch.setattr("evenhand.intake.source._LONG", 10**9)
    short = take(text, of="Fern")
    assert long.to_json() == short.to_json()
    assert list(long.ledger) == list(short.ledger)
    assert (long.change.batches[0].readings.instant == short.change.batches[0].readings.instant).all()
    assert long.counts["set aside"] == aside


def test_a_line_that_is_too_long_is_named():
    """With its number, also far down."""
    with pytest.raises(BadFile) as caught:
        take(readings(20_000) + "x" * (MAX_LINE + 1) + "\n", of="Fern")
    assert caught.value.place.line == 20_002
