"""A file that looks like another device's is asked about, and taken in where the person is sure."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial, after, readings_of, take


def table(step: int, n: int, value: int = 100, start: int = 0) -> str:
    """n readings of the first days of March 2026, `step` minutes apart, their values going up and down."""
    rows = []
    for k in range(n):
        minute = start + k * step
        rows.append(
            f"2026-03-{1 + minute // 1440:02d} {minute % 1440 // 60:02d}:{minute % 60:02d},{value + k * 7 % 50}"
        )
    return "time,mg/dL\n" + "\n".join(rows) + "\n"


def codes(found) -> list[str]:
    return [asked.code for asked in found.questions]


def test_readings_another_sensor_holds_are_asked_about():
    """The first sensor's file given to the second: the question says how many, and nothing would be written."""
    trial = after(a_trial(), take(table(5, 60), of="Fern").change)
    found = take(table(5, 60), of="Slate", trial=trial, prefix="b")
    assert codes(found) == ["held-for-another"]
    assert "60 of these 60 readings are held already for Fern" in found.questions[0].text
    assert found.change is None


def test_who_is_sure_takes_it_in():
    """`sure=yes` answers."""
    trial = after(a_trial(), take(table(5, 60), of="Fern").change)
    found = take(table(5, 60), of="Slate", trial=trial, prefix="b", sure="yes")
    assert not found.questions
    assert len(readings_of(found, trial)["Slate"]) == 60


def test_fingersticks_given_to_a_sensor_are_asked_about():
    """A reading every two and a half hours is no sensor's."""
    assert codes(take(table(154, 40), of="Fern")) == ["sparse-readings"]


def test_a_sensors_file_given_to_the_meter_is_asked_about():
    """A fingerstick every five minutes is nobody's."""
    assert codes(take(table(5, 300), of="meter")) == ["dense-sticks"]


@pytest.mark.parametrize(
    ("data", "of"),
    [(table(5, 300), "Fern"), (table(15, 100), "Fern"), (table(154, 40), "meter"), (table(60, 3), "Fern")],
)
def test_what_looks_right_is_not_asked_about(data, of):
    """Nor is a file too short to tell."""
    assert codes(take(data, of=of)) == []


def test_two_sensors_that_agree_now_and_then_are_two_sensors():
    """A few equal values at equal times are chance."""
    trial = after(a_trial(), take(table(5, 60), of="Fern").change)
    found = take(table(5, 60, value=130), of="Slate", trial=trial, prefix="b")
    assert codes(found) == []
