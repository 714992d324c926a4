"""Saying back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.desk.frozen import LISBON, Frozen

from evenhand.cli.saying import duration, moment, value
from evenhand.clock import Stamp, Zones, understand_time
from evenhand.desk.settings import parse_duration
from evenhand.units import Unit, parse_glucose

NOW = Frozen("2026-03-01 08:00").now
ZONES = Zones(LISBON)


@given(st.integers(0, 400 * 86_400))
def test_a_duration_said_back_can_be_typed_again(seconds):
    """What is said is understood as the same number of seconds."""
    assert parse_duration(duration(seconds)) == seconds


@pytest.mark.parametrize(
    ("ago", "told"),
    [
        (0, "08:00 today, Sunday 1 March"),
        (86_400, "08:00 yesterday, Saturday 28 February"),
        (2 * 86_400, "08:00 on Friday 27 February"),
        (-86_400, "08:00 tomorrow, Monday 2 March"),
        (60 * 86_400, "08:00 on Wednesday 31 December 2025"),
    ],
)
def test_a_moment_is_said_with_its_day(ago, told):
    """Near days by their word, others by name; the year where it is another."""
    assert moment(Stamp.at(NOW - ago, LISBON), NOW, ZONES) == told


@given(st.integers(0, 300))
def test_a_moment_said_back_is_the_moment(minutes_times_100):
    """The clock and the day that are said lead back to the same minute."""
    instant = NOW - minutes_times_100 * 6000
    said = moment(Stamp.at(instant, LISBON), NOW, ZONES)
    clock, rest = said.split(" ", 1)
    named = rest.removeprefix("on ").replace("today, ", "").replace("yesterday, ", "").split(" ", 1)[1]
    assert understand_time(f"{named} {clock}", NOW, ZONES).stamp.instant == instant


def test_another_zone_is_named():
    """Only where it is not the trial's own."""
    assert moment(Stamp.at(NOW, "Asia/Tokyo"), NOW, ZONES).endswith("(Asia/Tokyo)")


@pytest.mark.parametrize(
    ("text", "told"),
    [("6,1", "6,1 mmol/L"), ("110 mg/dL", "110 mg/dL"), ("low", "low (at most 1.1 mmol/L)"), ("HI", "high (at least 33.3 mmol/L)")],
)  # fmt: skip
def test_a_value_is_said_as_it_was_typed(text, told):
    """A word with the limit it stands for."""
    assert value(parse_glucose(text, Unit.MMOL_L)) == told
