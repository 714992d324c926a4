"""Rows to readings, sticks and diary entries: each kind to its own records, each failure to its fate."""

from __future__ import annotations

import dataclasses

import pytest
from tests.intake.helpers import a_trial, events_of, readings_of, sticks_of, take

from evenhand.intake.collect import METER_USUAL, USUAL
from evenhand.records.diary import Stick
from evenhand.records.files import Fate
from evenhand.units import Glucose, Unit

HEAD = "Time,Type,Glucose mg/dL,Device,Note,Reason,Marks,Lot\n"
AT = "2026-03-01 07:42"
ISO = "2026-03-01T07:42:00+01:00"


def one(kind="", value="110", device="", note="", reason="", marks="", lot="", of="Fern", **said):
    """A file of one row of interest and two plain readings after it."""
    row = ",".join((AT, kind, value, device, note, reason, marks, lot))
    rest = "2026-03-01 08:00,reading,120,Fern,,habit,unwashed,x\n2026-03-01 08:05,reading,121,Fern,,habit,unwashed,x\n"
    return take(f"{HEAD}{row}\n{rest}", of=of, **said)


@pytest.mark.parametrize("kind", ["reading", "", "sensor"])
def test_a_reading(kind):
    """Said to be one, or of a sensor's file without a kind."""
    assert readings_of(one(kind), a_trial())["Fern"][0] == f"{ISO} 110 mg/dL"


@pytest.mark.parametrize(
    ("kind", "stick"),
    [
        ("fingerstick", "unknown"),
        ("calibration", "calibration"),
        ("control", "unknown control"),
    ],
)
def test_a_stick_among_readings(kind, stick):
    """A fingerstick, a calibration or a control solution goes to the sticks."""
    assert sticks_of(one(kind)) == [f"{ISO} 110 mg/dL {stick}"]


def test_a_calibration_knows_its_sensor():
    """It was typed into the sensor whose file it stands in."""
    (made,) = [record for record in one("calibration").change.records if isinstance(record, Stick)]
    assert (made.into, made.stated) == ("s1", True)


@pytest.mark.parametrize(
    ("kind", "value", "note", "event"),
    [
        ("alarm", "62", "low", "alarm {} low alarm, 62, low"),
        ("meal", "", "bread", "meal {} meal, bread"),
        ("exercise", "", "ran", "exercise {} exercise, ran"),
        ("note", "", "tired", "other {} tired"),
        ("", "", "only words", "other {} only words"),
    ],
)
def test_diary_entries_among_readings(kind, value, note, event):
    """Alarms, meals, exercise and notes go to the diary, words and all."""
    assert events_of(one(kind, value, note=note)) == [event.format(ISO)]


def test_reason_marks_lot_and_note_of_a_stick():
    """Columns of a meter that keeps them; the note goes beside it."""
    found = one("fingerstick", reason="planned", marks="unwashed", lot="L7", note="before lunch")
    (made,) = [record for record in found.change.records if isinstance(record, Stick)]
    assert (made.reason, [mark.kind for mark in made.marks], made.lot) == ("plan", ["unwashed"], "L7")
    assert events_of(found) == [f"other {ISO} before lunch"]


@pytest.mark.parametrize(
    ("value", "fate", "reason"),
    [
        ("oops", Fate.SET_ASIDE, "'oops' is not a value"),
        ("9", Fate.SET_ASIDE, "'9' cannot be a value in mg/dL"),
        ("5000", Fate.SET_ASIDE, "'5000' cannot be a value in mg/dL"),
        ("", Fate.SET_ASIDE, "no value"),
    ],
)
def test_a_row_that_cannot_be_a_value(value, fate, reason):
    """Set aside with the cell."""
    row = next(row for row in one("reading", value).ledger if row.line == 2)
    assert (row.fate, row.reason) == (fate, reason)


def test_a_kind_that_is_none():
    """The word is named; a person may say what it stands for."""
    assert "'firmware' is no kind of row" in one("firmware").not_kept()[0].reason
    assert sticks_of(one("firmware", **{"kind.firmware": "fingerstick"})) == [f"{ISO} 110 mg/dL unknown"]
    assert one("firmware", **{"kind.firmware": "ignore"}).counts[Fate.SET_ASIDE] == 1


def test_a_device_goes_before_whose_file_it_is():
    """A row that names Slate in Fern's file is Slate's."""
    assert readings_of(one("reading", device="Slate"), a_trial())["Slate"] == [f"{ISO} 110 mg/dL"]


def test_a_device_to_be_ignored():
    """Set aside because the person said so."""
    found = one("reading", device="Moss", **{"device.Moss": "ignore"})
    assert found.not_kept()[0].reason == "of a device that you said to ignore"


def test_of_the_meter():
    """The same rows in the meter's file are sticks."""
    text = "Time,Glucose mg/dL\n2026-03-01 07:42,110\n2026-03-01 12:42,LOW\n"
    assert sticks_of(take(text, of="meter")) == [
        f"{ISO} 110 mg/dL unknown",
        f"2026-03-01T12:42:00+01:00 low {METER_USUAL[0, 1]:g} mg/dL unknown",
    ]


@pytest.mark.parametrize(
    ("sensor", "said", "limit"),
    [
        ({}, {}, USUAL[0, 1]),
        ({"low": Glucose(55, Unit.MG_DL, "55")}, {}, 55),
        ({"low": Glucose(2.2, Unit.MMOL_L, "2.2")}, {}, 39.6343),
        ({"low": Glucose(55, Unit.MG_DL, "55")}, {"low": "45"}, 45),
    ],
)
def test_what_low_stands_for(sensor, said, limit):
    """What was said, else the sensor's own, else the usual one, which is said."""
    trial = a_trial()
    trial = dataclasses.replace(
        trial, sensors=(dataclasses.replace(trial.sensors[0], **sensor), trial.sensors[1])
    )
    text = "Time,Glucose mg/dL\n2026-03-01 07:42,LOW\n2026-03-01 07:47,90\n"
    found = take(text, of="Fern", trial=trial, **said)
    assert found.change.batches[0].readings.value[0] == pytest.approx(limit, abs=1e-3)
    assert bool(found.notes) is (not sensor and not said)


def test_a_limit_stated_elsewhere_in_the_column():
    """'<50' in one row says what LOW means in the others."""
    text = "Time,Glucose mg/dL\n2026-03-01 07:42,LOW\n2026-03-01 07:47,<50\n2026-03-01 07:52,90\n"
    found = take(text, of="Fern")
    assert found.change.batches[0].readings.value.tolist() == [50, 50, 90]
    assert not found.notes


def test_values_nobody_owns_wait():
    """Until it is said whose they are."""
    found = take("Time,Glucose mg/dL\n2026-03-01 07:42,110\n2026-03-01 07:47,112\n")
    assert [asked.set for asked in found.questions] == ["of=NAME"]
    assert found.counts[Fate.WAITING] == 2


def test_two_columns_one_of_them_empty():
    """A row is kept for the column that holds a value."""
    text = "Time,Fern mg/dL,Slate mg/dL\n2026-03-01 07:42,110,\n2026-03-01 07:47,,120\n2026-03-01 07:52,,\n"
    found = take(text)
    assert readings_of(found, a_trial()) == {
        "Fern": [f"{ISO} 110 mg/dL"],
        "Slate": ["2026-03-01T07:47:00+01:00 120 mg/dL"],
    }
    assert [(row.line, row.reason) for row in found.not_kept()] == [(4, "no value")]


def test_a_bad_cell_beside_a_good_one_is_remarked():
    """The row is kept for Fern; that Slate's cell was no value stays as a remark."""
    text = "Time,Fern mg/dL,Slate mg/dL\n2026-03-01 07:42,110,oops\n2026-03-01 07:47,111,120\n"
    found = take(text)
    row = found.ledger[0]
    assert (row.fate, row.reason) == (Fate.KEPT, "'oops' in 'Slate mg/dL' is not a value")
