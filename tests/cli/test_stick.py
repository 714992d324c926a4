"""`evenhand stick`: value and done."""

from pathlib import Path

import pytest

from evenhand.records.diary import MarkKind, Reason
from evenhand.store import file as store
from evenhand.units import Beyond, Unit

LOW, VERY_LOW = "Treat first. This can wait.", "Serious low. Treat now; get help if you need it."


def sticks():
    return store.read("spring.trial", readings=False).sticks


def test_a_value_is_enough(trial):
    """Saved at once with the time it is, and said back."""
    said = trial.done("stick", "6.1")
    assert said.out == "6.1 mmol/L at 08:00 today, Sunday 1 March, no reason given\n"
    (stick,) = sticks()
    assert (stick.glucose.value, stick.glucose.unit) == (6.1, Unit.MMOL_L)
    assert (stick.reason, stick.stated, stick.logged) == (Reason.UNKNOWN, False, trial.now.now)


def test_what_was_understood_is_said_back(trial):
    """Value, moment and reason, as the wearer would say them."""
    said = trial.done("stick", "6,1", "--at", "07:42", "--reason", "habit")
    assert said.out == "6,1 mmol/L at 07:42 today, Sunday 1 March, as habit\n"
    (stick,) = sticks()
    assert (stick.at.iso, stick.at.text, stick.stated) == ("2026-03-01T07:42:00+00:00", "07:42", True)


@pytest.mark.parametrize(
    ("at", "told"),
    [
        ("22:10", "at 22:10 yesterday, Saturday 28 February"),
        ("yesterday 22:10", "at 22:10 yesterday, Saturday 28 February"),
        ("2026-02-20 06:05", "at 06:05 on Friday 20 February"),
        ("2025-12-31T23:59", "at 23:59 on Wednesday 31 December 2025"),
    ],
)
def test_times_are_understood_as_people_write_them(trial, at, told):
    """A bare time is the last one that has been; a date stands as written; either is said back whole."""
    assert told in trial.done("stick", "6.1", "--at", at).out


@pytest.mark.parametrize("value", ["3.8", "3.0", "3.9 mmol/L", "69 mg/dL", "54 mg/dL", "70 mg/dL"])
def test_the_low_line_is_the_only_next_line(trial, value):
    """Below 70 mg/dL (3.9 mmol/L), in the unit recorded: exactly one line follows, and it is the safety line;
    at 3.9 and at 70 none does."""
    lines = trial.done("stick", value).out.splitlines()
    assert lines[1:] == ([] if value in ("3.9 mmol/L", "70 mg/dL") else [LOW])


@pytest.mark.parametrize("value", ["2.9", "1.1", "53 mg/dL", "low"])
def test_the_serious_line_is_the_only_next_line(trial, value):
    """Below 54 mg/dL (3.0 mmol/L), and for a meter that says low, whatever else was asked."""
    said = trial.done("stick", value, "--shown", "Fern=5.0", "--reason", "prompted", "--mark", "unwashed")
    assert said.out.splitlines()[1:] == [VERY_LOW]
    assert len(sticks()) == 1


def test_the_safety_line_stands_last_even_where_saving_failed(trial):
    """A low that cannot be saved is still a low: the reason first, then the line the eye must meet."""
    said = trial("stick", "2.8", "--shown", "Moss=5.0")
    assert said.code == 1
    assert "no sensor 'Moss'" in said.err
    assert said.out == VERY_LOW + "\n"
    assert sticks() == ()


@pytest.mark.parametrize(
    ("value", "line"),
    [("2.8", VERY_LOW), ("3.5", LOW), ("45", VERY_LOW), ("60", LOW), ("2.8 mmol/L", VERY_LOW), ("20", None), ("110", None)],
)  # fmt: skip
def test_a_low_without_a_trial_is_still_a_low(desk, value, line):
    """In a folder without a trial the unit is not known; what is low in every unit gets its line, last. 20 can
    be either, so nothing is claimed."""
    said = desk("stick", value)
    assert said.code == 1
    assert "no trial file in this folder" in said.err
    assert said.out == (f"{line}\n" if line else "")


def test_a_low_that_is_refused_for_another_reason_keeps_its_line(trial):
    """A time that is not understood, flags that contradict each other: the line stands all the same."""
    for words in (
        ("2.8", "--at", "sometime"),
        ("2.8", "--into", "Fern", "--reason", "habit"),
        ("low", "--at", "25:00"),
    ):
        assert trial("stick", *words).out == VERY_LOW + "\n"
    assert sticks() == ()


def test_control_solution_is_not_blood(trial):
    """A low value of control solution asks for no treatment."""
    said = trial.done("stick", "2.8", "--mark", "control")
    assert said.out.splitlines() == [
        "2.8 mmol/L at 08:00 today, Sunday 1 March, no reason given, control solution, not blood"
    ]


@pytest.mark.parametrize(
    ("value", "cure"),
    [
        ("110", "If it is in mg/dL, write '110 mg/dL'."),
        ("6.1 mg/dL", "If it is in mmol/L, write '6.1 mmol/L'."),
        ("5000", "Write a number, for example 6.1."),
        ("six", "Write a number, for example 6.1."),
        ("-6.1", "Write a number, for example 6.1."),
        ("6.1 g", "Write mg/dL or mmol/L."),
    ],
)
def test_an_implausible_value_is_refused_with_the_cure(trial, value, cure):
    """Nothing is saved, and what would be right is said."""
    said = trial("stick", value)
    assert (said.code, said.out) == (1, "")
    assert cure in said.err
    assert sticks() == ()


def test_what_sensors_showed_is_kept(trial):
    """Once for each sensor, by any case of its name; the words low and high stand for its limits."""
    trial.done("stick", "6.1", "--shown", "fern=6,4", "--shown", "SLATE=high")
    fern, slate = sticks()[0].shown
    assert (fern.glucose.value, fern.typed) == (6.4, trial.now.now)
    assert slate.glucose.beyond is Beyond.HIGH


def test_a_shown_limit_is_the_sensor_s_own(desk):
    """'low' on a screen means the sensor's low limit, in the wearer's unit."""
    desk.done("new", "spring.trial", "--sensor", "Fern", "--unit", "mmol/L", "--set", "Fern.low=40 mg/dL")
    desk.done("stick", "6.1", "--shown", "Fern=low")
    assert sticks()[0].shown[0].glucose.value == pytest.approx(40 / 18.0156)


def test_into_makes_it_a_calibration(trial):
    """A value typed into a sensor is a calibration and was stated to be one."""
    said = trial.done("stick", "6.1", "--into", "Fern")
    assert said.out == "6.1 mmol/L at 08:00 today, Sunday 1 March, as calibration, typed into Fern\n"
    stick = sticks()[0]
    assert (stick.reason, stick.stated, stick.into) == (
        Reason.CALIBRATION, True, store.read("spring.trial").sensors[0].id,
    )  # fmt: skip


def test_a_repeat_says_whether_its_first_is_there(trial):
    """A planned repeat is of the stick before it, at most five minutes earlier; where that one is not in the
    trial (it may come with the meter's file) it is saved all the same, and that is said."""
    assert trial.done("stick", "6.0", "--repeat").out.endswith(
        "of the one before, which is not in the trial yet\n"
    )
    trial.now.tick(3600)
    trial.done("stick", "6.1")
    trial.now.tick(300)
    assert trial.done("stick", "6.3", "--repeat").out.endswith(
        "no reason given, a repeat of the one before\n"
    )
    trial.now.tick(301)
    assert "not in the trial yet" in trial.done("stick", "6.3", "--repeat").out
    assert [stick.repeat for stick in sticks()] == [True, False, True, True]


@pytest.mark.parametrize(
    ("mark", "kind", "told"),
    [
        ("unwashed", MarkKind.UNWASHED, "hands unwashed"),
        ("strip-error", MarkKind.STRIP_ERROR, "strip error"),
        ("same-drop", MarkKind.SAME_DROP, "same drop"),
    ],
)
def test_a_mark_set_with_the_value_is_early(trial, mark, kind, told):
    """Early marks may leave the stick out; they are said back plainly."""
    assert trial.done("stick", "6.1", "--mark", mark).out.endswith(f", {told}\n")
    assert [(one.kind, one.early) for one in sticks()[0].marks] == [(kind, True)]


def test_a_mark_set_with_a_value_shown_is_not_early(trial):
    """Who has typed what a sensor showed could mark by it: the mark stays, judged with and without."""
    said = trial.done("stick", "6.1", "--mark", "unwashed", "--shown", "Fern=9.9")
    assert "marked after a reading of that time was known" in said.out
    assert not sticks()[0].marks[0].early


def test_meter_and_lot_are_kept(trial):
    """The other meter and the strip lot are recorded and said back."""
    said = trial.done("stick", "6.1", "--meter", "Bag", "--lot", "L7", "--reason", "plan")
    assert said.out.endswith("as plan, meter Bag, strip lot L7\n")
    assert (sticks()[0].meter, sticks()[0].lot) == ("Bag", "L7")


def test_two_sticks_may_share_a_minute(trial):
    """A second stick does not replace the first; undo is there for that."""
    trial.done("stick", "6.1")
    trial.done("stick", "6.3")
    assert [stick.glucose.value for stick in sticks()] == [6.1, 6.3]


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("6.1", "--at", "2026-03-02 07:00"), 1, "has not come yet"),
        (("6.1", "--at", "3/4 07:42"), 1, "can be read two ways"),
        (("6.1", "--at", "sometime"), 1, "not a time Evenhand understands"),
        (("6.1", "--reason", "boredom"), 2, "Possible: plan, habit, prompted, calibration, unknown."),
        (("6.1", "--mark", "dirty"), 2, "Possible: unwashed, strip-error, control, same-drop."),
        (("6.1", "--shown", "6.4"), 1, "Write NAME=VALUE."),
        (("6.1", "--shown", "Moss=6.4"), 1, "Its sensors are: Fern, Slate."),
        (("6.1", "--shown", "Fern=100"), 1, "write '100 mg/dL'"),
        (("6.1", "--into", "Fern", "--reason", "habit"), 2, "Leave one of them out"),
        (("6.1", "7.2"), 2, "one word too many"),
        (("--reason", "habit"), 2, "The value of the stick is missing."),
    ],
)
def test_what_is_not_understood_is_refused(trial, words, code, told):
    """One message with the cure; nothing is saved."""
    said = trial("stick", *words)
    assert (said.code, said.out) == (code, "")
    assert told in said.err
    assert sticks() == ()


def test_the_hour_that_comes_twice_is_said(trial):
    """In the doubled hour the first is meant and the other is offered."""
    trial.done("new", "autumn.trial", "--sensor", "Fern", "--zone", "Europe/Berlin")
    said = trial("stick", "autumn.trial", "110", "--at", "2025-10-26 02:30")
    assert said.out.startswith(
        "110 mg/dL at 02:30 on Sunday 26 October 2025, no reason given. 02:30 came twice"
    )
    assert "2025-10-26T02:30:00+01:00" in said.out
    gone = trial("stick", "autumn.trial", "110", "--at", "2025-03-30 02:30")
    assert "no clock showed" in gone.err


def test_the_file_may_be_named_or_found(trial):
    """With one trial in the folder its name may be left out; with two it may not."""
    trial.done("stick", "spring.trial", "6.1")
    trial.done("stick", "6.2")
    trial.done("new", "other.trial", "--sensor", "Moss")
    said = trial("stick", "6.3")
    assert said.code == 2
    assert "2 trials" in said.err
    assert len(sticks()) == 2


def test_without_a_trial_nothing_is_made(desk):
    """A stick in an empty folder is refused with the cure."""
    said = desk("stick", "6.1")
    assert said.code == 1
    assert "no trial file in this folder" in said.err
    assert not list(desk.folder.iterdir())


def test_a_missing_file_is_named(desk):
    """The file that was asked for is in the message."""
    said = desk("stick", "gone.trial", "6.1")
    assert said.code == 1
    assert "gone.trial" in said.err
    assert not Path("gone.trial").exists()


@pytest.mark.parametrize(
    "words", [("2.8", "--foo"), ("--at", "07:10", "2.8", "--shwon", "Fern=5"), ("2.8", "--reason", "boredom")]
)
def test_a_low_among_words_that_cannot_be_read_is_still_a_low(trial, words):
    """An option that is not there, a word too many: refused with the reason, and the safety line stands last."""
    said = trial("stick", *words)
    assert said.code == 2
    assert said.out == VERY_LOW + "\n"
    assert sticks() == ()


def test_control_solution_among_unreadable_words_is_not_blood(trial):
    """A low of control solution asks for nothing, and a high says nothing."""
    assert trial("stick", "2.8", "--mark", "control", "--foo").out == ""
    assert trial("stick", "6.1", "--foo").out == ""


def test_the_same_stick_typed_twice_is_one(trial):
    """Enter pressed twice: the second says that it is held already, and how to mean a second drop."""
    trial.done("stick", "6.1")
    said = trial.done("stick", "6.1")
    assert "Held already, nothing added" in said.flat
    assert "add --repeat" in said.flat
    assert len(sticks()) == 1
    trial.done("stick", "6.1", "--repeat")
    trial.now.tick(60)
    trial.done("stick", "6.1")
    assert len(sticks()) == 3


def test_what_is_said_the_second_time_is_added(trial):
    """The same stick again with a reason, a value shown, a mark: it stays one stick and knows more; a mark that comes
    later is no early one; a low still has its line."""
    trial.done("stick", "3.5", "--at", "07:40")
    said = trial.done(
        "stick", "3.5", "--at", "07:40", "--reason", "habit", "--shown", "Fern=4.1", "--mark", "unwashed"
    )
    (one,) = sticks()
    assert (one.reason, one.stated, one.shown[0].glucose.value) == (Reason.HABIT, True, 4.1)
    assert one.marks[0].early is False
    assert said.out.splitlines()[-1] == LOW
    trial.done("stick", "3.5", "--at", "07:40", "--reason", "prompted")
    assert sticks()[0].reason is Reason.HABIT
