"""Dates of a wrong year: whole files and parts of them; good files are left alone."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, after, readings_of, take

from evenhand.intake.years import by_years

HEAD = "Time,Glucose mg/dL\n"


def rows(start: str, many: int) -> str:
    """Readings every five minutes."""
    begin = dt.datetime.fromisoformat(start)
    return "".join(
        f"{begin + dt.timedelta(minutes=5 * number):%Y-%m-%d %H:%M},{100 + (7 * number) % 60}\n"
        for number in range(many)
    )


def said(text: str, **more) -> list[str]:
    """The settings that would accept what is proposed."""
    return [one.set for one in take(HEAD + text, of="Slate", **more).proposals]


@pytest.fixture
def trial():
    """Two days of the other sensor."""
    return after(a_trial(), take(HEAD + rows("2026-04-01 08:00", 576), of="Fern").change)


@given(st.integers(1_000_000_000, 1_900_000_000), st.integers(-9, 9))
def test_the_same_date_so_many_years_on(instant, years):
    """Month, day and time stay, but for 29 February."""
    before = dt.datetime.fromtimestamp(instant, dt.UTC)
    there = dt.datetime.fromtimestamp(instant + by_years(instant, years), dt.UTC)
    assert there.year == before.year + years
    assert (there.month, there.time()) == (before.month, before.time())
    assert there.day == before.day or (before.month, before.day, there.day) == (2, 29, 28)


def test_a_file_a_year_early_is_proposed(trial):
    """It lies outside all the trial holds, and inside it with the year corrected."""
    assert said(rows("2025-04-01 09:00", 200), trial=trial) == ["shift=+365d"]


def test_a_leap_day_between_is_counted(trial):
    """2024 had one: two years and a bit more are 730 days from April, 731 from February."""
    assert said(rows("2024-04-01 09:00", 200), trial=trial) == ["shift=+730d"]


def test_a_file_in_its_place_is_left_alone(trial):
    """Nothing is said of dates among the others, nor of the days after them."""
    assert said(rows("2026-04-01 09:00", 200), trial=trial) == []
    assert said(rows("2026-04-20 09:00", 200), trial=trial) == []


@pytest.mark.parametrize(
    ("parts", "wanted"),
    [
        ((("2025-04-01 08:00", 50), ("2026-04-01 12:15", 150)), "shift=+365d@..2025-04-01T12:05:00"),
        ((("2026-04-01 08:00", 150), ("2025-04-01 20:35", 50)), "shift=+365d@..2025-04-02T00:40:00"),
        ((("2026-04-01 08:00", 50), ("2025-04-01 12:15", 150), ("2026-04-02 01:00", 30)), "shift=+365d@..2025-04-02T00:40:00"),
    ],
)  # fmt: skip
def test_a_part_a_year_early_is_proposed_and_falls_into_place(parts, wanted):
    """In the file's own order the parts follow each other once the year is corrected."""
    text = "".join(rows(*part) for part in parts)
    assert said(text) == [wanted]
    found = take(HEAD + text, of="Slate", shift=wanted.removeprefix("shift="))
    times = [line[:16] for line in readings_of(found, a_trial())["Slate"]]
    assert times[0] == "2026-04-01T08:00"
    assert all(time.startswith("2026-04-0") for time in times)


def test_a_year_between_two_wears_is_no_fault():
    """Parts a year and a month apart, in order, stay as written."""
    assert said(rows("2025-03-01 08:00", 50) + rows("2026-04-01 08:00", 50)) == []


def test_rows_in_the_future_are_spoken_of():
    """A year ahead of today is corrected by a year; three days ahead by at least three days."""
    assert said(rows("2027-04-01 08:00", 50)) == ["shift=-365d"]
    assert said(rows("2026-06-04 08:00", 50)) in (["shift=-365d"], ["shift=-3d"])


@pytest.mark.parametrize(("many", "code"), [(1, "clock-ahead"), (2, "clock-ahead"), (5, "clock-year")])
def test_rows_in_the_future_are_always_told(many, code):
    """Two rows are too few to look for a year, and still lie ahead of today."""
    found = take(HEAD + rows("2026-09-01 09:00", many), of="meter")
    assert [one.code for one in found.proposals] == [code]


@pytest.mark.parametrize("newest_first", [False, True])
def test_a_clock_that_fell_back_in_the_middle_is_proposed(newest_first):
    """Its battery was out: it went on from a date of its own, which no whole number of years mends."""
    told = (rows("2026-03-02 07:00", 20) + rows("2020-03-01 08:40", 20)).splitlines(keepends=True)
    found = take(HEAD + "".join(told[::-1] if newest_first else told), of="Fern")
    assert [one.set for one in found.proposals] == ["shift=+2191d@..2020-03-01T10:15:00"] or [
        one.code for one in found.proposals
    ] == ["clock-year"]
    accepted = take(HEAD + "".join(told), of="Fern", shift=found.proposals[0].set.removeprefix("shift="))
    assert accepted.kept == 40
    assert readings_of(accepted, a_trial())["Fern"][20].startswith("2026-03-02T08:40")
    assert not accepted.proposals


def test_two_wears_that_follow_each_other_are_left_alone():
    """A jump forwards is a pause."""
    assert said(rows("2024-03-02 07:00", 20) + rows("2026-03-01 08:40", 20)) == []
