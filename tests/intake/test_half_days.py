"""Clocks of twelve hours without a.m. and p.m. are asked about; clocks of 24 hours are not."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import take


def rows(start: int, step: int, many: int, form: str) -> list[str]:
    """Readings from an hour of the first of March on."""
    begin = dt.datetime(2026, 3, 1, start)
    return [
        f"{begin + dt.timedelta(minutes=step * number):{form}},{100 + number % 90}\n"
        for number in range(many)
    ]


def codes(told: list[str], **more: str) -> list[str]:
    """The questions about a file of these rows."""
    return [one.code for one in take("Time,mg/dL\n" + "".join(told), of="Fern", **more).questions]


@given(st.integers(0, 23), st.sampled_from((5, 10, 15, 30)), st.integers(60, 300), st.booleans())
def test_a_clock_of_24_hours_is_never_asked(start, step, many, newest_first):
    """Wherever it starts and whichever way it runs; with a.m. and p.m. neither."""
    for form in ("%Y-%m-%d %H:%M", "%Y-%m-%d %I:%M %p"):
        told = rows(start, step, many, form)
        assert "half-days" not in codes(told[::-1] if newest_first else told)


@given(st.integers(0, 23), st.sampled_from((5, 10, 15, 30)), st.booleans())
def test_a_day_without_halves_is_asked(start, step, newest_first):
    """A day and a half always holds a noon or a midnight at which 12 turns to 1."""
    told = rows(start, step, 36 * 60 // step, "%Y-%m-%d %I:%M")
    told = told[::-1] if newest_first else told
    assert "half-days" in codes(told)
    assert "half-days" not in codes(told, hours="24")


def test_dates_that_read_two_ways_are_asked_about_all_the_same():
    """The order of day and month need not be known."""
    told = rows(0, 30, 48 * 14, "%d/%m/%Y %I:%M")
    assert set(codes(told)) >= {"half-days"}
    assert "half-days" not in codes(rows(0, 30, 48 * 14, "%d/%m/%Y %H:%M"))


def test_rows_in_no_order_prove_nothing():
    """Times of one morning and one noon, shuffled: they fall back more often than a clock of twelve hours does."""
    told = [
        f"2026-03-01 {clock},110\n"
        for clock in ("03:00", "12:00", "01:10", "12:20", "01:00", "11:00", "02:00", "05:00")
    ]
    assert codes(told) == []


def test_mornings_alone_prove_nothing():
    """Rows from 1:00 to 12:00 each day, as a person may measure."""
    told = [f"2026-03-0{day} {hour:02d}:00,{100 + hour}\n" for day in (1, 2, 3) for hour in range(1, 13)]
    assert codes(told) == []
