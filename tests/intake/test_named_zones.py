"""Zones in the name of a time column and in the lines before a table."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.intake.named_zones import before, of_name

ROWS = "2026-03-01 07:00,110\n2026-03-01 07:05,112\n2026-03-01 07:10,114\n"


@given(
    st.integers(-14 * 4, 14 * 4),
    st.sampled_from(("Time (UTC{})", "Time UTC{}", "Timestamp [GMT{}]", "Zeit ({})")),
)
def test_any_offset_in_the_name_of_the_time_column(quarters, form):
    """Against the standard library: the instants are those of a fixed offset."""
    zone = dt.timezone(dt.timedelta(minutes=15 * quarters))
    sign, minutes = "-" if quarters < 0 else "+", abs(quarters) * 15
    told = f"{sign}{minutes // 60:02d}:{minutes % 60:02d}"
    found = take(f"{form.format(told)},mg/dL\n{ROWS}", of="Fern")
    wanted = dt.datetime(2026, 3, 1, 7, tzinfo=zone).astimezone(dt.UTC)
    first = dt.datetime.fromisoformat(readings_of(found, a_trial())["Fern"][0].split(" ")[0])
    assert first.astimezone(dt.UTC) == wanted


@pytest.mark.parametrize(
    "name", ["Time", "UTC offset", "Local time", "Time (24h)", "Zeit (lokal)", "Time+2", "A+01"]
)
def test_names_without_a_zone(name):
    """Nothing is seen where nothing stands."""
    assert of_name(name) is None


@pytest.mark.parametrize(
    ("line", "zone", "sure"),
    [
        ("Time zone: Europe/Lisbon", "Europe/Lisbon", True),
        ("All times are UTC", "UTC", True),
        ("Zeitzone;UTC+01:00", "+01:00", True),
        ("tz America/New_York", "America/New_York", True),
        ("Server in UTC", "UTC", False),
        ("Time zone EST", None, True),
    ],
)
def test_lines_before_a_table(line, zone, sure):
    """A word for zones makes it sure, an abbreviation of several leaves it open."""
    found = before([f"Fern\n{line} "])
    assert found is not None
    assert (found.zone, found.sure) == (zone, sure)


@pytest.mark.parametrize(
    "line",
    [
        "Exported 2026-05-01 10:00 UTC",
        "Created 2026-05-01T10:00:00+02:00",
        "Report of Fern",
        "CAT, DOG",
        "Unit/mg",
    ],
)
def test_lines_that_name_no_zone_of_the_times(line):
    """The offset of the moment of exporting says nothing of the rows."""
    assert before([line]) is None


def test_lines_that_contradict_each_other_are_asked():
    """Two zones: neither is taken."""
    text = f"Time zone: Europe/Lisbon\nAll times in UTC\nTime,mg/dL\n{ROWS}"
    assert [one.code for one in take(text, of="Fern").questions] == ["zone"]


def test_the_zone_where_the_wearer_is_needs_no_question():
    """Only mentioned, but the same."""
    found = take(f"Clinic Europe/Berlin\nTime,mg/dL\n{ROWS}", of="Fern")
    assert not found.questions
    assert found.kept == 3


def test_times_with_offsets_need_no_zone_beside_them():
    """Each says its own."""
    rows = "2026-03-01T07:00+01:00,110\n2026-03-01T07:05+01:00,112\n"
    found = take(f"Server in UTC\nTime,mg/dL\n{rows}", of="Fern")
    assert not found.questions


def test_what_is_said_goes_before_what_the_file_says():
    """`--set zone=` decides."""
    found = take(f"All times in UTC\nTime,mg/dL\n{ROWS}", of="Fern", zone="Asia/Tokyo")
    assert readings_of(found, a_trial())["Fern"][0].startswith("2026-03-01T07:00:00+09:00")
