"""The grammar of dates and clock times."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake.moments import (
    Order,
    day_of,
    plain_spaces,
    read_clock,
    read_day,
    read_epoch,
    read_serial,
    split,
)
from evenhand.intake.words import MONTH_WORDS


@pytest.mark.parametrize(
    "text",
    ["2026-03-01", "2026/3/1", "2026.03.01", "20260301", "1 Mar 2026", "1. März 2026", "01-MAR-26", "March 1, 2026", "Mar 1 2026", "1er mars 2026", "1 de marzo de 2026",
     "1 marzo 2026", "1 março 2026", "1 maart 2026", "1 mars 2026", "1. maaliskuuta 2026", "1 marca 2026", "1. března 2026", "1 марта 2026", "1 Mart 2026", "2026年3月1日", "Sun 1 Mar 2026", "So., 1. März 2026", "2026-Mar-01", "1st March 2026"],
)  # fmt: skip
def test_a_date_that_shows_its_order(text):
    """Year first, or the month by name in many languages: one date whatever the order."""
    day = read_day(text)
    assert day.proof
    assert {day_of(number) for number in day.under.values()} == {dt.date(2026, 3, 1)}


@pytest.mark.parametrize(
    ("text", "orders"),
    [
        ("03/04/2026", {"day-month", "month-day"}),
        ("13.04.2026", {"day-month"}),
        ("4/13/2026", {"month-day"}),
        ("26-03-01", {"day-month", "year-month"}),
        ("01-02-03", {"day-month", "month-day", "year-month"}),
    ],
)
def test_a_date_in_numbers_keeps_every_reading(text, orders):
    """A date in numbers has exactly the orders that make it a date."""
    assert set(read_day(text).under) == orders


@pytest.mark.parametrize(
    "text",
    [
        "",
        "110",
        "6.1",
        "6.1.2",
        "31.02.2026",
        "00/00/2026",
        "2026-13-01",
        "1 Foo 2026",
        "1.1.126",
        "2026-03",
        "32/32/2026",
        "1/2-2026",
        "9999-01-01",
        "ab",
    ],
)
def test_no_date(text):
    """What is no date is None."""
    assert read_day(text) is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [("07:42", (27720, None)), ("7:42", (27720, None)), ("07:42:15", (27735, None)), ("07:42:15.250", (27735, None)), ("07.42", (27720, None)), ("07h42", (27720, None)), ("7:42 am", (27720, None)),
     ("7:42PM", (70920, None)), ("7:42 p.m.", (70920, None)), ("12:00 AM", (0, None)), ("12:00 PM", (43200, None)), ("7 pm", (68400, None)), ("午後7:42", (70920, None)), ("7時42分", (27720, None)), ("07:42 Uhr", (27720, None)),
     ("07:42Z", (27720, 0)), ("07:42 UTC", (27720, 0)), ("07:42+0530", (27720, 19800)), ("07:42-03:30", (27720, -12600)), ("07:42+01", (27720, 3600)),
     ("24:00", None), ("07:60", None), ("13:00 PM", None), ("0:30 AM", None), ("7", None), ("110", None), ("", None), ("7:4", None), ("07:42+15:00", None)],
)  # fmt: skip
def test_clock(text, expected):
    """Times of day, with and without halves of the day and offsets."""
    assert read_clock(text) == expected


@pytest.mark.parametrize(
    "text",
    ["2026-03-01 07:42", "2026-03-01T07:42", "2026-03-01T07:42:00.000Z", "01.03.2026 07:42", "01.03.2026, 07:42", "3/1/2026 7:42 AM", "Mar 1, 2026 7:42 AM", "1 Mar 2026 at 07:42",
     "20260301T074200", "202603010742", "20260301 0742", "07:42 01.03.2026", "01/03/26 07:42", "Sun 1 Mar 2026 07:42", "2026-03-01\u00a007:42", "\u200e2026-03-01 07:42"],
)  # fmt: skip
def test_date_and_clock_in_one_cell(text):
    """Date and clock part from each other in every usual order and with every usual mark."""
    day, clock = split(text)
    assert read_clock(clock)[0] == 27720
    assert read_day(day) is not None


@pytest.mark.parametrize(
    "text", ["", "110", "6.1 mmol/L", "07:42", "2026-03-01", "see 2026-03-01", "T", "1772347320", "5 10:00"]
)
def test_not_both(text):
    """A text without both is not parted."""
    assert split(text) is None


@given(
    st.datetimes(dt.datetime(2000, 1, 1), dt.datetime(2078, 1, 1)),
    st.sampled_from(["%Y-%m-%d %H:%M:%S", "%Y%m%dT%H%M%S", "%d %B %Y %H:%M:%S", "%a %d %b %Y %I:%M:%S %p"]),
)
def test_what_a_general_library_prints_is_read(when, form):
    """Whatever the standard library prints in an unambiguous form is that moment."""
    day, clock = split(when.strftime(form))
    assert day_of(read_day(day).under[Order.DAY_MONTH]) == when.date()
    assert read_clock(clock)[0] == when.hour * 3600 + when.minute * 60 + when.second


@given(st.datetimes(dt.datetime(2001, 1, 1), dt.datetime(2078, 1, 1)))
def test_serials_and_epochs_against_the_calendar(when):
    """Serial numbers in both date systems, and counts in s and ms, against datetime arithmetic."""
    when = when.replace(microsecond=0)
    wall = int((when - dt.datetime(1970, 1, 1)).total_seconds())
    for base, zero in (("1900", dt.datetime(1899, 12, 30)), ("1904", dt.datetime(1904, 1, 1))):
        span = when - zero
        assert read_serial(f"{span.days + span.seconds / 86400:.10f}", base) == wall
    if wall < 4_102_444_800:
        for finer in ("", "123", "123456", "123456789"):
            assert read_epoch(f"{wall}{finer}") == wall


@given(st.text(max_size=20))
def test_any_text(text):
    """No text raises."""
    for one in (read_day, read_clock, read_epoch, split, plain_spaces):
        one(text)
    read_serial(text, "1900")


def test_every_month_has_a_name_in_many_languages():
    """Twelve months, each with at least ten words."""
    for month in range(1, 13):
        assert sum(1 for number in MONTH_WORDS.values() if number == month) >= 10
