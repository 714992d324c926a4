"""File keys: what was settled for one file serves the next of its kind, is said, and never overrules a proof."""

from __future__ import annotations

import dataclasses

import pytest
from tests.intake.helpers import a_trial, after, readings_of, take

from evenhand.intake.filekey import kind_of, latest
from evenhand.records.files import FileKey

OPEN = "Date;Time;Glucose mg/dL\n03/04/2026;07:42;110\n03/04/2026;07:47;112\n"
LATER = "Date;Time;Glucose mg/dL\n05/04/2026;07:42;120\n05/04/2026;07:47;122\n"
PROVEN = "Date;Time;Glucose mg/dL\n04/15/2026;07:42;130\n04/15/2026;07:47;132\n"


def with_keys(trial, proposal):
    """The trial with a proposal taken in, keys included."""
    made = [record for record in proposal.change.records if isinstance(record, FileKey)]
    held = {key.id: key for key in (*trial.keys, *made)}
    return dataclasses.replace(after(trial, proposal.change), keys=tuple(held.values()))


def keys_in(proposal) -> list[FileKey]:
    """The keys a proposal would write."""
    return (
        [record for record in proposal.change.records if isinstance(record, FileKey)]
        if proposal.change
        else []
    )


@pytest.fixture
def settled():
    """A trial in which the order of dates of one kind of file was answered once."""
    trial = a_trial()
    assert [asked.code for asked in take(OPEN, of="Fern", trial=trial).questions] == ["day-month-order"]
    return with_keys(trial, take(OPEN, of="Fern", trial=trial, order="day-month"))


def test_an_answer_is_kept_with_the_kind_of_file(settled):
    """The key names the columns, holds the answer, and not whose file it was."""
    assert [(key.kind, key.settings) for key in settled.keys] == [
        (kind_of(OPEN.encode(), "a.csv"), (("order", "day-month"),))
    ]


def test_the_next_of_its_kind_is_not_asked_again(settled):
    """The same question is answered by the key, and it is said."""
    found = take(LATER, "b.csv", of="Fern", trial=settled, prefix="b")
    assert not found.questions
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-04-05", "2026-04-05"]
    assert found.notes[0].startswith("Read as the last file of this kind: order=day-month.")
    assert [guess.evidence for guess in found.guesses if guess.what == "order"] == [
        "as settled for the last file of its kind"
    ]


def test_nothing_new_is_saved_where_the_key_says_it_already(settled):
    """One key of a kind; it is not written again."""
    assert keys_in(take(LATER, "b.csv", of="Fern", trial=settled, prefix="b")) == []


def test_a_proof_goes_before_the_key(settled):
    """A file that proves the other order is read in the other order, and it is said where."""
    found = take(PROVEN, "c.csv", of="Fern", trial=settled, prefix="c")
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-04-15", "2026-04-15"]
    assert "does not fit" in found.notes[0]
    assert "'04/15/2026' in line 2 can only be month-day" in found.notes[0]


def test_what_is_said_now_goes_before_the_key_and_is_kept(settled):
    """--set edits the key of its kind: the newest file's answer holds, and undoing that file brings the older back."""
    earlier = tuple(dataclasses.replace(file, taken=file.taken - 60) for file in settled.files)
    settled = dataclasses.replace(settled, files=earlier)
    found = take(LATER, "b.csv", of="Fern", trial=settled, prefix="b", order="month-day")
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-05-04", "2026-05-04"]
    again = with_keys(settled, found)
    assert [key.settings for key in latest(again).values()] == [(("order", "month-day"),)]
    assert [key.id for key in again.keys] == ["id0.key", "b0.key"]


def test_another_kind_of_file_is_asked_as_ever(settled):
    """Another column name, another suffix: another kind."""
    for data, name in ((OPEN.replace("Glucose", "Sugar"), "a.csv"), (OPEN, "a.txt")):
        assert [asked.code for asked in take(data, name, of="Fern", trial=settled).questions] == [
            "day-month-order"
        ]


def test_whose_file_it_is_is_never_reused():
    """The next file of the kind may be the other sensor's: it is asked."""
    trial = a_trial()
    data = "time,glucose mg/dL\n2026-03-13 07:42,110\n2026-03-13 07:47,112\n"
    trial = with_keys(trial, take(data, of="Fern", trial=trial, time="time"))
    later = data.replace("-13", "-14")
    assert [asked.code for asked in take(later, trial=trial, prefix="b").questions] == ["of"]


def test_a_column_pointed_out_is_pointed_out_again():
    """Two times in a row, one of them named by the person: no question the second time, and the same column."""
    data = "device time,display time,mg/dL\n2026-03-13 07:42,2026-03-13 08:42,110\n2026-03-13 07:47,2026-03-13 08:47,112\n"
    trial = a_trial()
    first = take(data, of="Fern", trial=trial, time="display time")
    trial = with_keys(trial, first)
    found = take(data.replace("-13", "-14"), of="Fern", trial=trial, prefix="b")
    assert not found.questions
    assert readings_of(found, trial)["Fern"][0] == "2026-03-14T08:42:00+01:00 110 mg/dL"


def test_a_file_that_no_longer_fits_its_key_says_where():
    """The column that was pointed out is not among this file's: the note says so, the file is read without the key."""
    trial = a_trial()
    data = "time,mg/dL\n2026-03-13 07:42,110\n2026-03-13 07:47,112\n"
    key = FileKey("k", kind_of(data.encode(), "a.csv"), (("note", "Remarks"),))
    trial = dataclasses.replace(trial, keys=(key,))
    found = take(data, of="Fern", trial=trial)
    assert found.kept == 2
    assert any("does not fit" in note and "line 1" in note and "Remarks" in note for note in found.notes)


def test_nothing_is_kept_where_nothing_was_settled():
    """A file that explains itself needs no key."""
    assert keys_in(take("time,mg/dL\n2026-03-13 07:42,110\n2026-03-13 07:47,112\n", of="Fern")) == []


def test_nothing_is_kept_while_a_question_is_open():
    """There is no change to keep it in."""
    found = take(OPEN, of="Fern", unit="mg/dL")
    assert found.questions
    assert keys_in(found) == []


def test_clock_shifts_and_single_rows_are_not_reused():
    """They speak of one file."""
    data = "time,mg/dL\n2026-03-13 07:42,110\n2026-03-13 07:47,112\n"
    found = take(data, of="Fern", shift="-57min", zone="Europe/Lisbon")
    assert [key.settings for key in keys_in(found)] == [(("zone", "Europe/Lisbon"),)]


def test_a_unit_the_values_proved_serves_a_file_that_cannot_prove_it():
    """The first file's 110 could only be mg/dL; the second's 25 and 30 fit both, and are of the same kind."""
    trial = a_trial()
    first = take("When;Value\n2026-03-13 07:42;110\n2026-03-13 07:47;112\n", of="Fern", trial=trial)
    assert keys_in(first)[0].settings == (("unit", "mg/dL"),)
    low = "When;Value\n2026-03-14 07:42;25\n2026-03-14 07:47;30\n"
    assert [asked.code for asked in take(low, of="Fern", trial=trial).questions] == ["unit"]
    found = take(low, of="Fern", trial=with_keys(trial, first), prefix="b")
    assert not found.questions


def test_a_unit_that_values_contradict_falls_back_and_says_where():
    """The same columns, but the device was set to the other unit."""
    trial = a_trial()
    trial = with_keys(
        trial, take("When;Value\n2026-03-13 07:42;110\n2026-03-13 07:47;112\n", of="Fern", trial=trial)
    )
    found = take(
        "When;Value\n2026-03-14 07:42;5.1\n2026-03-14 07:47;5.3\n", of="Fern", trial=trial, prefix="b"
    )
    assert "line 2: '5.1' looks like no value in mg/dL" in found.notes[0]
    assert readings_of(found, trial)["Fern"][0].endswith("5.1 mmol/L")


def test_a_unit_stated_in_the_rows_is_no_business_of_a_key():
    """A unit column says it row by row: nothing is kept, nothing can go wrong next time."""
    data = "When;Value;Unit\n2026-03-13 07:42;110;mg/dL\n2026-03-13 07:47;112;mg/dL\n"
    assert keys_in(take(data, of="Fern")) == []


def test_a_stated_unit_goes_before_a_key():
    """The key says mg/dL; a row of the next file says mmol/L beside its value."""
    trial = a_trial()
    trial = with_keys(
        trial, take("When;Value\n2026-03-13 07:42;110\n2026-03-13 07:47;112\n", of="Fern", trial=trial)
    )
    found = take(
        "When;Value\n2026-03-14 07:42;6.1 mmol/L\n2026-03-14 07:47;6.3 mmol/L\n",
        of="Fern",
        trial=trial,
        prefix="b",
    )
    assert "is said to be in another unit than mg/dL" in found.notes[0]


@pytest.mark.parametrize(
    ("data", "name", "kind"),
    [
        (b"a,b\n2026-03-01 07:42,110\n", "x.CSV", "csv: a | b #"),
        (b'[{"time": "2026-03-01T07:42", "value": 110}]', "x.json", "json: time | value #"),
        (b"2026-03-01 07:42,110\n2026-03-01 07:47,111\n", "x", "no extension: column 1 | column 2 #"),
        (b"", "x.csv", None),
        (b"\x89PNG", "x.csv", None),
    ],
)
def test_a_kind_is_form_and_columns(data, name, kind):
    """Readable first, with a fingerprint of all names behind."""
    found = kind_of(data, name)
    assert found is None if kind is None else found.startswith(kind)


def test_a_long_file_is_told_by_its_beginning():
    """The kind of a file of many rows costs the reading of its head only, and is that of a short one."""
    head = "Zeit;Wert\n"
    rows = "".join(
        f"2026-03-{day:02d} {hour:02d}:{minute:02d};1{minute:02d}\n"
        for day in range(1, 29)
        for hour in range(24)
        for minute in range(60)
    )
    assert kind_of((head + rows).encode(), "a.csv") == kind_of((head + rows[:200]).encode(), "a.csv")
    assert kind_of((head + rows).encode("utf-16"), "a.csv") == kind_of((head + rows[:200]).encode(), "a.csv")


def test_notes_say_nothing_where_no_key_is_used():
    """A first file has none."""
    assert take(OPEN, of="Fern", order="day-month").notes == ()
