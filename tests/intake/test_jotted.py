"""Plain lines as people jot them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import NOW, a_trial, after, events_of, sticks_of, take

from evenhand.errors import BadFile, EvenhandError
from evenhand.records.diary import MarkKind, Stick
from evenhand.records.files import Fate


def jot(*lines: str, of: str | None = "meter", name: str = "notes.txt", trial=None):
    """What lines jotted on Monday 1 June 2026 at 14:00 in Berlin would add."""
    return take("\n".join(lines) + "\n", name, of=of, trial=trial)


@pytest.mark.parametrize(
    ("line", "stick"),
    [
        ("07:42 110", "2026-06-01T07:42:00+02:00 110 mg/dL unknown"),
        ("7.42 110", "2026-06-01T07:42:00+02:00 110 mg/dL unknown"),
        ("0212 110", "2026-06-01T02:12:00+02:00 110 mg/dL unknown"),
        ("07:42 110 mg/dl", "2026-06-01T07:42:00+02:00 110 mg/dL unknown"),
        ("07:42 6.1 mmol", "2026-06-01T07:42:00+02:00 6.1 mmol/L unknown"),
        ("07:42 6,1mmol/l", "2026-06-01T07:42:00+02:00 6.1 mmol/L unknown"),
        ("7:42 pm 110", "2026-05-31T19:42:00+02:00 110 mg/dL unknown"),
        ("23:10 110", "2026-05-31T23:10:00+02:00 110 mg/dL unknown"),
        ("yesterday 22:10 110", "2026-05-31T22:10:00+02:00 110 mg/dL unknown"),
        ("Sat 07:42 110", "2026-05-30T07:42:00+02:00 110 mg/dL unknown"),
        ("2026-05-30 02:10 110", "2026-05-30T02:10:00+02:00 110 mg/dL unknown"),
        ("30.5. 02:10 110", "2026-05-30T02:10:00+02:00 110 mg/dL unknown"),
        ("30 May 02:10 110", "2026-05-30T02:10:00+02:00 110 mg/dL unknown"),
        ("- 07:42, 110", "2026-06-01T07:42:00+02:00 110 mg/dL unknown"),
        ("07:42 LOW", "2026-06-01T07:42:00+02:00 low 20 mg/dL unknown"),
        ("07:42 hi", "2026-06-01T07:42:00+02:00 high 600 mg/dL unknown"),
        ("07:42 110 plan", "2026-06-01T07:42:00+02:00 110 mg/dL plan"),
        ("07:42 110 habit", "2026-06-01T07:42:00+02:00 110 mg/dL habit"),
        ("07:42 110 (felt low)", "2026-06-01T07:42:00+02:00 110 mg/dL prompted"),
        ("07:42 110 alarm, hands not washed", "2026-06-01T07:42:00+02:00 110 mg/dL prompted unwashed"),
        ("07:42 110 calibration", "2026-06-01T07:42:00+02:00 110 mg/dL calibration"),
    ],
)
def test_a_line_is_a_stick(line, stick):
    """Time as people write it, value, unit, and reason and marks among the words."""
    assert sticks_of(jot(line)) == [stick]


def test_two_reasons_in_one_line_are_none():
    """What can be read two ways is not chosen: the words stay as a note."""
    found = jot("07:42 110 alarm or plan")
    assert sticks_of(found) == ["2026-06-01T07:42:00+02:00 110 mg/dL unknown"]
    assert events_of(found) == ["other 2026-06-01T07:42:00+02:00 alarm or plan"]


def test_words_that_only_name_the_reason_make_no_note():
    """'alarm' is the reason; a diary entry that says it again would be noise."""
    assert events_of(jot("07:42 110 alarm")) == []


def test_a_day_holds_for_the_lines_under_it():
    """Until the next day is named."""
    found = jot("Saturday", "07:42 110", "12:05 120", "yesterday:", "08:00 130")
    assert [text[:16] for text in sticks_of(found)] == [
        "2026-05-30T07:42",
        "2026-05-30T12:05",
        "2026-05-31T08:00",
    ]


def test_a_value_without_a_time_waits():
    """It is not lost, not guessed at, and says what it waits for."""
    found = jot("07:42 110", "6.1 felt fine")
    assert found.counts[Fate.WAITING] == 1
    waiting = [row for row in found.ledger if row.fate is Fate.WAITING]
    assert (waiting[0].line, "waits" in waiting[0].reason) == (2, True)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("25:10 110", "not a time of day"),
        ("07:42 6.1", "cannot be in mg/dL"),
        ("31.2. 07:42 110", "not a date"),
    ],
)
def test_lines_that_cannot_be_are_set_aside_with_the_cure(line, reason):
    """One bad line does not stop the others."""
    found = jot("08:00 110", line)
    told = [row for row in found.ledger if row.fate is Fate.SET_ASIDE]
    assert [row.line for row in told] == [2]
    assert reason in told[0].reason


def test_lines_are_the_meters_where_nobody_says_whose():
    """Jotted values are fingersticks."""
    found = jot("07:42 110", of=None)
    assert not found.questions
    assert sticks_of(found) == ["2026-06-01T07:42:00+02:00 110 mg/dL unknown"]


def test_jotted_lines_are_never_a_sensors():
    """Said to be a sensor's file they are read as a table, or refused."""
    with pytest.raises(EvenhandError):
        jot("07:42 110 alarm", "08:42 120", of="Fern")


@pytest.mark.parametrize(
    "text",
    [
        "Dear diary,\n07:42 110\n",
        "07:42 110\nand then nothing\n",
        "time,value\n07:42,110\n",
        "07:42;110\n08:42;120\n",
    ],
)
def test_a_text_with_any_other_line_is_no_jotting(text):
    """It goes the way of every table, and is refused where it is none."""
    try:
        found = take(text, "notes.txt", of="meter")
    except EvenhandError:
        return
    assert all(guess.chosen != "plain lines" for guess in found.guesses)


def test_no_time_at_all_is_refused_with_the_way_to_write_it():
    """There would be nothing to take in."""
    with pytest.raises(BadFile, match=r"07:42 6\.1"):
        jot("6.1", "7.0 fine")


def test_pasted_twice_is_kept_once():
    """The same lines again are all doubled."""
    trial = a_trial()
    first = jot("07:42 110 alarm", "12:05 120", trial=trial)
    again = take(
        "07:42 110 alarm\n12:05 120\n", "-", of="meter", trial=after(trial, first.change), prefix="b"
    )
    assert again.counts[Fate.DOUBLED] == 2
    assert again.adds_nothing


@pytest.mark.parametrize(("taken_before", "early"), [(False, True), (True, False)])
def test_a_mark_is_early_only_before_readings_of_that_time(taken_before, early):
    """Once a file with readings of that time is there, a mark may have been set with them in sight."""
    trial = a_trial()
    if taken_before:
        readings = "time,mg/dL\n2026-06-01 07:40,110\n2026-06-01 07:45,112\n"
        trial = after(trial, take(readings, of="Fern", trial=trial).change)
    found = jot("07:42 110 unwashed", trial=trial)
    assert found.change is not None
    stick = next(record for record in found.change.records if isinstance(record, Stick))
    mark = stick.marked(MarkKind.UNWASHED)
    assert mark is not None
    assert mark.early is early


CLOCKS = st.builds(lambda minutes: f"{minutes // 60:02d}:{minutes % 60:02d}", st.integers(0, 13 * 60 + 59))
WORDS = st.sampled_from(["", "felt fine", "alarm", "plan", "in bed", "before lunch"])


@given(
    st.lists(
        st.tuples(CLOCKS, st.integers(40, 400), WORDS), min_size=1, max_size=8, unique_by=lambda one: one[0]
    )
)
def test_every_line_is_one_stick(lines):
    """Whatever was jotted today comes back, in time order, each value at its minute."""
    found = jot(*(f"{clock} {value} {words}".strip() for clock, value, words in lines))
    assert found.kept + found.counts[Fate.DOUBLED] == len(lines)
    told = [(text[11:16], int(text.split()[1])) for text in sticks_of(found)]
    assert set(told) <= {(clock, value) for clock, value, _ in lines}
    assert len(told) == found.kept
    assert NOW > 0
    assert np.all(
        np.diff([hour * 60 + minute for hour, minute in (map(int, clock.split(":")) for clock, _ in told)])
        >= 0
    )
