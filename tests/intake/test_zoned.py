"""A column of zones: offsets, IANA names, abbreviations that mean one thing; the rules are the standard library's."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.intake.zoned import known, offset_of, zone_of

ZONES = ["Europe/Berlin", "Asia/Tokyo", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"]


@pytest.mark.parametrize(
    ("cell", "offset"),
    [("+01:00", 3600), ("UTC", 0), ("GMT+2", 7200), ("cest", 7200), ("MEZ", 3600), ("EST", None), ("IST", None), ("", None), ("summer", None)],
)  # fmt: skip
def test_offsets(cell, offset):
    """Abbreviations of many countries mean several things, and none is taken."""
    assert offset_of(cell) == offset


@pytest.mark.parametrize(
    ("cell", "zone"),
    [("Europe/Lisbon", "Europe/Lisbon"), (" Asia/Tokyo ", "Asia/Tokyo"), ("Europe/Nowhere", None), ("localtime", None), ("../etc/passwd", None), ("a/b", None)],
)  # fmt: skip
def test_names(cell, zone):
    """Only names that the zone rules know."""
    assert zone_of(cell) == zone
    assert known(cell) is (zone is not None)


@given(
    st.lists(
        st.tuples(st.sampled_from(ZONES), st.integers(0, 59), st.integers(60, 300)), min_size=3, max_size=12
    )
)
def test_each_row_is_in_its_own_zone(rows):
    """Against the standard library, away from clock changes."""
    start = dt.datetime(2026, 2, 3, 12)
    lines, wanted = ["Time,Time zone,Glucose mg/dL"], set()
    for number, (zone, minute, value) in enumerate(rows):
        wall = start + dt.timedelta(days=number, minutes=minute)
        lines.append(f"{wall:%Y-%m-%d %H:%M},{zone},{value}")
        wanted.add(f"{wall.replace(tzinfo=ZoneInfo(zone)).isoformat()} {value} mg/dL")
    found = take("\n".join(lines), of="Fern", sure="yes")
    assert not found.questions
    assert set(readings_of(found, a_trial())["Fern"]) == wanted


def test_the_hour_that_comes_twice_is_resolved_within_a_zone():
    """Rows of Berlin run through it; the row of Tokyo between them does not disturb their order."""
    lines = ["Time,Time zone,Glucose mg/dL"]
    lines += [f"2025-10-26 02:{minute:02d},Europe/Berlin,{100 + minute}" for minute in (0, 20, 40)]
    lines += ["2025-10-26 09:50,Asia/Tokyo,150"]
    lines += [f"2025-10-26 02:{minute:02d},Europe/Berlin,{200 + minute}" for minute in (0, 20, 40)]
    told = readings_of(take("\n".join(lines), of="Fern"), a_trial())["Fern"]
    assert [text[19:25] for text in told if " 1" in text[25:] and "+09" not in text] == ["+02:00"] * 3
    assert [text[19:25] for text in told if " 2" in text[25:]] == ["+01:00"] * 3


def test_a_zone_said_for_the_file_goes_before_the_column():
    """What a person says now is the last word."""
    text = "Time,Time zone,Glucose mg/dL\n2026-03-01 07:42,Asia/Tokyo,110\n2026-03-01 07:47,Asia/Tokyo,112\n"
    found = take(text, of="Fern", zone="Europe/Lisbon")
    assert readings_of(found, a_trial())["Fern"][0].startswith("2026-03-01T07:42:00+00:00")
