"""One jotted line at a prompt: understood at once or refused."""

from __future__ import annotations

import pytest
from tests.support.fake_trial import make_trial

from evenhand.errors import BadTime, BadValue
from evenhand.intake.one_line import read_line
from evenhand.records.diary import MarkKind, Reason
from evenhand.units import Unit

MADE = make_trial()
NOW = MADE.sticks[-1].at.instant


def test_one_line_alone():
    """As the morning round reads it: time, value, reason, marks, and words that say more; without a time it is of now; in the
    future it is refused."""
    line = read_line("- 02:10 110 alarm, unwashed hands", MADE, NOW)
    assert (line.glucose.value, line.reason, line.marks) == (110.0, Reason.PROMPTED, (MarkKind.UNWASHED,))
    assert line.note == "alarm, unwashed hands"
    assert read_line("110", MADE, NOW).when == MADE.zones.stamp(NOW).iso
    with pytest.raises(BadValue, match="is not a time and a value"):
        read_line("felt odd", MADE, NOW)
    with pytest.raises(BadTime, match="has not come yet"):
        read_line(f"{MADE.zones.stamp(NOW + 86_400).day} 12:00 110", MADE, NOW)


def test_what_can_be_read_two_ways_is_refused_with_both():
    """'742 110' is a time and a value, or a value and words; the cure shows each."""
    with pytest.raises(BadValue, match="2 ways") as caught:
        read_line("742 110", MADE, NOW)
    assert "'07:42 110'" in caught.value.cure


def test_a_day_without_a_time_is_refused():
    """A stick has a time."""
    with pytest.raises(BadTime, match="without a time"):
        read_line("yesterday 110", MADE, NOW)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("02:10 6.1 mmol/L", Unit.MMOL_L), ("02:10 6.1mmol", Unit.MMOL_L), ("02:10 110 mg/dL", Unit.MG_DL)],
)
def test_a_unit_that_is_written_holds(text, unit):
    """Beside the value or glued on, whatever the wearer's unit is."""
    assert read_line(text, MADE, NOW).glucose.unit is unit


def test_two_reasons_are_none_and_stay_as_a_note():
    """What can be read two ways is not chosen."""
    line = read_line("02:10 110 alarm or plan", MADE, NOW)
    assert (line.reason, line.note) == (None, "alarm or plan")


def test_a_reason_alone_is_no_note():
    """'alarm' says nothing more than its reason."""
    line = read_line("02:10 110 alarm", MADE, NOW)
    assert (line.reason, line.note) == (Reason.PROMPTED, "")
