"""File keys: what was settled for one file serves the next of its kind, is said, and never overrules a proof."""

from __future__ import annotations

import dataclasses

import pytest
from tests.intake.helpers import a_trial, after, readings_of, take

from evenhand.intake.keys import kind_of, reusable
from evenhand.intake.layout import Section
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
        ("csv: Date, Time, Glucose mg/dL", (("order", "day-month"),))
    ]


def test_the_next_of_its_kind_is_not_asked_again(settled):
    """The same question is answered by the key, and it is said."""
    found = take(LATER, "b.csv", of="Fern", trial=settled, prefix="b")
    assert not found.questions
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-04-05", "2026-04-05"]
    told = [guess for guess in found.guesses if guess.what == "file key"]
    assert (told[0].chosen, "last file of this kind" in told[0].evidence) == ("order=day-month", True)


def test_nothing_new_is_saved_where_the_key_says_it_already(settled):
    """One key of a kind; it is not written again."""
    assert keys_in(take(LATER, "b.csv", of="Fern", trial=settled, prefix="b")) == []


def test_a_proof_goes_before_the_key(settled):
    """A file that proves the other order is read in the other order: the key only answers questions."""
    found = take(PROVEN, "c.csv", of="Fern", trial=settled, prefix="c")
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-04-15", "2026-04-15"]
    assert not [guess for guess in found.guesses if guess.what == "file key"]


def test_what_is_said_now_goes_before_the_key_and_is_kept(settled):
    """--set edits the key of its kind: the same id, the new answer."""
    found = take(LATER, "b.csv", of="Fern", trial=settled, prefix="b", order="month-day")
    assert [text[:10] for text in readings_of(found, settled)["Fern"]] == ["2026-05-04", "2026-05-04"]
    again = with_keys(settled, found)
    assert [(key.id, key.settings) for key in again.keys] == [(settled.keys[0].id, (("order", "month-day"),))]


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
    key = FileKey("k", "csv: time, mg/dL", (("note", "Remarks"),))
    trial = dataclasses.replace(trial, keys=(key,))
    found = take("time,mg/dL\n2026-03-13 07:42,110\n2026-03-13 07:47,112\n", of="Fern", trial=trial)
    assert found.kept == 2
    assert any("no longer fits" in note and "Remarks" in note for note in found.notes)


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
    said = {"shift": "-57min", "stick.12": "typed", "of": "Fern", "order": "day-month", "sensor.Left": "Fern"}
    assert reusable(said) == {"order": "day-month", "sensor.Left": "Fern"}


def test_a_kind_is_suffix_sheets_and_columns():
    """Two sheets are two tables of one kind."""
    first = Section("One", ("time", "value"), (), (1,), (["x"], ["y"]), [2])
    second = Section(None, ("when",), (), (1,), (["x"],), [2])
    assert kind_of("a.XLSX", [first, second]) == "xlsx: One: time, value / when"
    assert kind_of("notes", [second]) == "text: when"
