"""Plain lines as people jot them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import NOW, a_trial, after, events_of, sticks_of, take

from evenhand.errors import EvenhandError
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


def test_two_reasons_in_one_line_are_asked():
    """What can be read two ways is not chosen: each choice is the line with one of them."""
    found = jot("07:42 110 alarm or plan", "08:42 120")
    assert [asked.code for asked in found.questions] == ["which-reading"]
    assert found.questions[0].choices == ("07:42 110 prompted", "07:42 110 plan", "ignore")
    answered = take("07:42 110 alarm or plan\n", "n.txt", **{"line.1": "07:42 110 plan"})
    assert sticks_of(answered) == ["2026-06-01T07:42:00+02:00 110 mg/dL plan"]


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
        ("07:42 6.1 mg/dL", "cannot be a value in mg/dL"),
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
    assert all(guess.chosen != "jotted lines" for guess in found.guesses)


def test_no_time_at_all_waits_and_is_kept_in_the_ledger():
    """The values may be in the meter's file: nothing is refused, and the rows that wait are written once."""
    found = jot("6.1", "7.0 fine")
    assert found.counts[Fate.WAITING] == 2
    assert found.change is not None
    assert [row.fate for row in found.change.ledger] == [Fate.WAITING, Fate.WAITING]
    assert jot("6.1", "7.0 fine", trial=after(a_trial(), found.change)).change is None


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


@pytest.mark.parametrize(
    ("line", "choices"),
    [
        ("3/4 07:42 110", ("2026-04-03 07:42 110", "2026-03-04 07:42 110")),
        ("742 110", ("07:42 110", "742 110")),
        ("110 95", ("01:10 95", "110 95")),
    ],
)
def test_a_line_that_reads_two_ways_is_asked(line, choices):
    """The choices are the line written in each way, and each is an answer."""
    found = jot(line)
    assert [asked.choices for asked in found.questions] == [(*choices, "ignore")]
    for choice in choices:
        answered = take(line, "n.txt", **{"line.1": choice})
        assert not answered.questions
        assert answered.kept + answered.counts[Fate.WAITING] == 1


def test_ignoring_a_line_sets_it_aside():
    """The third choice."""
    found = take("3/4 07:42 110\n08:42 120\n", "n.txt", **{"line.1": "ignore"})
    assert [row.reason for row in found.not_kept()] == ["you said to ignore it"]


@pytest.mark.parametrize(
    ("line", "day"),
    [("25/3 07:42 110", "2026-03-25"), ("3/25 07:42 110", "2026-03-25"), ("3.4. 07:42 110", "2026-04-03")],
)
def test_a_date_that_reads_one_way_is_read(line, day):
    """There is no month 25; two dots are day and month."""
    assert sticks_of(jot(line)) == [f"{day}T07:42:00+0{1 if day < '2026-03-29' else 2}:00 110 mg/dL unknown"]


def test_times_of_one_day_that_is_not_over_are_asked():
    """At noon, 22:10 after 07:42 can only be yesterday's, and so may the others be."""
    lines = ("07:42 110", "11:30 120", "22:10 130")
    assert [asked.set for asked in jot(*lines).questions] == ["day=DATE"]
    found = take("\n".join(lines), "n.txt", day="2026-05-31")
    assert [text[:16] for text in sticks_of(found)] == [
        "2026-05-31T07:42",
        "2026-05-31T11:30",
        "2026-05-31T22:10",
    ]


def test_after_midnight_under_a_day_is_asked():
    """23:50 and then 00:20 under one day: that day's early morning, or the next."""
    found = jot("30 May 2026", "23:50 110", "00:20 90")
    assert found.questions[0].choices == ("2026-05-31 00:20 90", "2026-05-30 00:20 90", "ignore")


def test_a_line_without_a_day_after_one_with_a_day_is_asked():
    """It may go on with that day, or be of today."""
    found = jot("2026-05-29 07:42 110", "08:30 120")
    assert found.questions[0].choices == ("2026-05-29 08:30 120", "2026-06-01 08:30 120", "ignore")


def test_a_night_jotted_in_the_morning_runs_on():
    """'Sun 23:10', then 02:12 and 07:05: each follows the line above and is the last before now, so nothing is asked."""
    found = jot("Sun 23:10 110 habit", "02:12 62 alarm", "0705 105")
    assert not found.questions
    assert [text[:16] for text in sticks_of(found)] == [
        "2026-05-31T23:10",
        "2026-06-01T02:12",
        "2026-06-01T07:05",
    ]


def test_the_newest_first():
    """Lines in reverse order belong to the day of the line above too."""
    assert [text[:16] for text in sticks_of(jot("Mon 07:05 105", "02:12 62"))] == [
        "2026-06-01T02:12",
        "2026-06-01T07:05",
    ]


def test_a_value_without_a_time_is_the_one_stick_of_that_day_with_it():
    """Jotted under a day after the meter's file: the reason goes to the meter's stick, and nothing is doubled."""
    trial = a_trial()
    meter = take("time,mg/dL\n2026-05-30 07:42,110\n2026-05-30 12:00,140\n", of="meter", trial=trial)
    trial = after(trial, meter.change)
    found = jot("30 May 2026", "110 alarm", "95", trial=trial)
    assert [row.fate for row in found.ledger] == [Fate.SET_ASIDE, Fate.DOUBLED, Fate.WAITING]
    changed = [record for record in found.change.records if isinstance(record, Stick)]
    assert [(stick.reason, stick.at.iso[:16]) for stick in changed] == [("prompted", "2026-05-30T07:42")]
    assert changed[0].id in {stick.id for stick in trial.sticks}


def test_each_value_is_in_the_only_unit_it_can_be_in():
    """6.1 is no mg/dL of a living body, 110 no mmol/L; between 20 and 36 the other lines decide, or it is asked."""
    found = jot("07:42 6.1", "08:42 110")
    assert [text.split()[2] for text in sticks_of(found)] == ["mmol/L", "mg/dL"]
    assert [text.split()[2] for text in sticks_of(jot("07:42 6.1", "08:42 25"))] == ["mmol/L", "mmol/L"]
    assert [asked.code for asked in jot("07:42 6.1", "08:42 110", "09:42 25").questions] == ["unit"]


@pytest.mark.parametrize(
    ("words", "reason", "marks"),
    [
        ("no alarm", "unknown", []),
        ("not planned", "unknown", []),
        ("Alarm hat geweckt", "prompted", []),
        ("geplant, ungewaschen", "plan", ["unwashed"]),
        ("habitude", "habit", []),
        ("prévu", "plan", []),
        ("control", "unknown", ["control"]),
    ],
)
def test_words_in_several_languages(words, reason, marks):
    """Reasons and marks as whole parts or first words; a 'no' before them takes them back."""
    assert sticks_of(jot(f"07:42 110 {words}")) == [
        " ".join(["2026-06-01T07:42:00+02:00 110 mg/dL", reason, *marks])
    ]


def test_a_repeat_and_a_calibration():
    """'repeat' marks a planned repeat; 'cal Fern' says into which sensor."""
    found = jot("07:42 110 plan", "07:44 112 repeat", "08:00 120 cal Fern")
    made = [record for record in found.change.records if isinstance(record, Stick)]
    assert [(stick.repeat, stick.into) for stick in made] == [(False, None), (True, None), (False, "s1")]


def test_a_time_with_words_is_a_diary_entry():
    """'breakfast' is a meal."""
    assert events_of(jot("07:42 110", "08:00 breakfast, 2 rolls")) == [
        "meal 2026-06-01T08:00:00+02:00 breakfast, 2 rolls"
    ]


def test_what_has_not_come_yet_is_set_aside():
    """A date of tomorrow is a slip."""
    found = jot("07:42 110", "2026-06-02 07:42 110")
    assert [row.reason for row in found.not_kept()] == ["'2026-06-02 07:42' has not come yet"]


def test_the_hour_that_was_left_out():
    """No clock showed it."""
    found = jot("07:42 110", "2026-03-29 02:30 110")
    assert "put forward" in found.not_kept()[0].reason


def test_a_stick_jotted_and_found_in_the_meters_file_is_one():
    """Six minutes apart, the same value: the meter's row doubles the jotted one."""
    trial = a_trial()
    trial = after(trial, jot("2026-05-30 07:42 110 alarm", trial=trial).change)
    meter = take(
        "time,mg/dL\n2026-05-30 07:48,110\n2026-05-30 12:00,140\n", of="meter", trial=trial, prefix="m"
    )
    assert meter.counts[Fate.DOUBLED] == 1
    assert len(sticks_of(meter)) == 1


@pytest.mark.parametrize(
    ("line", "choices"),
    [
        ("07:42 110 112", ("07:42 110", "07:42 112")),
        ("08:10 6.1 / 6.3", ("08:10 6.1", "08:10 6.3")),
        ("08:10 6.1 then 6.3 alarm", ("08:10 6.1 then alarm", "08:10 6.3 then alarm")),
        ("08:00 LO on Fern, meter 71", ("08:00 LO on Fern, meter", "08:00 71 on Fern, meter")),
    ],
)
def test_two_values_in_a_line_are_asked_and_each_choice_is_an_answer(line, choices):
    """The second number is not lost in a note."""
    found = jot(line)
    assert [asked.choices for asked in found.questions] == [(*choices, "ignore")]
    for choice in choices:
        assert not take(line, "n.txt", **{"line.1": choice}).questions


@pytest.mark.parametrize(
    "line",
    ["07:42 110 ate 45 g carbs", "07:42 110 after 30 min walk", "07:42 6.1 pulse 72", "07:42 110 2 rolls", "07:42 6.1 at 22 °C", "07:42 110 bolus 6.5"],
)  # fmt: skip
def test_numbers_of_other_things_are_words(line):
    """Beside what they count, or of another size than the value."""
    found = jot(line)
    assert not found.questions
    assert len(sticks_of(found)) == 1


@pytest.mark.parametrize(
    ("line", "moment"),
    [
        ("Di 07:42 6,1", "2026-05-26T07:42"), ("tirsdag kl. 07:42 6,1", "2026-05-26T07:42"), ("mercredi 08h10 7,2", "2026-05-27T08:10"),
        ("domenica 08:10 7,2", "2026-05-31T08:10"), ("月曜日 07:10 110", "2026-06-01T07:10"), ("среда 07:10 7,0", "2026-05-27T07:10"),
        ("ayer 22:10 7,2", "2026-05-31T22:10"), ("gestern 22:10 7,2", "2026-05-31T22:10"), ("heute 07:10 7,2", "2026-06-01T07:10"),
    ],
)  # fmt: skip
def test_days_of_the_week_in_several_languages(line, moment):
    """The last of them before now: 1 June 2026 is a Monday."""
    assert [stick[:16] for stick in sticks_of(jot(line))] == [moment]


def test_each_word_for_a_day_of_the_week_is_of_one_day():
    """No word stands for two, and none is a month's name."""
    from evenhand.intake.words import _WEEKDAYS, MONTH_WORDS, WEEKDAY_WORDS, word_set

    assert sum(len(word_set(words)) for words in _WEEKDAYS) == len(WEEKDAY_WORDS)
    assert not WEEKDAY_WORDS.keys() & MONTH_WORDS.keys()


@pytest.mark.parametrize("under", ["Tuesday", "Di", "Tue 08:42 120"])
def test_a_day_of_the_week_under_a_date_is_asked(under):
    """3 March followed 2 March; the last Tuesday before now is another."""
    found = jot("2 March 2026", "07:42 110", under)
    assert [asked.code for asked in found.questions] == ["which-reading"]
    first, second, _ = found.questions[0].choices
    assert (first[:10], second[:10]) == ("2026-03-03", "2026-05-26")
    text = f"2 March 2026\n07:42 110\n{under}\n"
    assert not take(text, "n.txt", **{"line.3": first}).questions


def test_a_day_of_the_week_that_follows_anyway_is_not_asked():
    """Monday after Sunday, both the last before now."""
    assert not jot("Sun 23:10 110", "Mon 07:00 105").questions
