"""Columns that look like values and are none to be kept as they are."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import BadFile, UnknownName
from evenhand.intake.odd_columns import derived
from evenhand.intake.words import other_unit

PEOPLE = "Patient,Time,Glucose mg/dL\nAnn,2026-03-01 07:00,110\nBob,2026-03-01 07:05,112\nAnn,2026-03-01 07:10,114\n"


@pytest.mark.parametrize(
    "unit", ["g/L", "mg/L", "mmol/mol", "µmol/L", "umol/l", "g/dL", "mg/kg", "mEq/L", "%"]
)
def test_units_that_are_not_read(unit):
    """In brackets, after a space, alone; a column of them is refused with the unit named, unless the unit is said."""
    assert other_unit(f"Glucose ({unit})") == other_unit(f"Glucose {unit}") == other_unit(unit) == unit
    text = f"Time,Glucose ({unit})\n2026-03-01 07:00,5.1\n2026-03-01 07:05,5.2\n2026-03-01 07:10,5.3\n"
    with pytest.raises(BadFile, match="only mg/dL and mmol/L are read") as caught:
        take(text, of="Fern")
    assert unit in caught.value.found
    assert take(text, of="Fern", unit="mmol/L").kept == 3


@pytest.mark.parametrize("unit", ["mg/dL", "mmol/L", "mg%", "mg/dl", "MMOL/L", "ммоль/л", "mM"])
def test_units_that_are_read(unit):
    """None of them is taken for another."""
    assert other_unit(f"Glucose ({unit})") is None


def test_a_unit_under_the_header_counts():
    """A units row says it as well."""
    with pytest.raises(BadFile, match="is in g/L"):
        take("Time,Glucose\n(local),(g/L)\n2026-03-01 07:00,1.10\n2026-03-01 07:05,1.12\n", of="Fern")


@pytest.mark.parametrize(
    ("name", "is_derived"),
    [
        ("Average glucose", True), ("Glucose target (mg/dL)", True), ("Predicted value", True), ("Mittelwert", True), ("平均血糖値", True),
        ("Glucose", False), ("Minutes", False), ("Estimated glucose value", False), ("Meanwhile", False), ("Fern", False),
    ],
)  # fmt: skip
def test_names_of_derived_values(name, is_derived):
    """By whole words."""
    assert derived(name) is is_derived


def test_derived_values_beside_measured_ones_are_left_out_and_said():
    """The column of values is read, the others named in a note."""
    rows = "".join(f"2026-03-01 07:{5 * i:02d},{110 + i},{120 + i},{100 + i}\n" for i in range(4))
    found = take(f"Time,Glucose mg/dL,Average glucose mg/dL,Predicted glucose mg/dL\n{rows}", of="Fern")
    assert not found.questions
    assert found.kept == 4
    assert sum("is not read" in note for note in found.notes) == 2


def test_a_sensor_called_so_is_no_derived_value():
    """A column that holds a sensor's name is that sensor's."""
    found = take("Time,Fern mean\n2026-03-01 07:00,110\n2026-03-01 07:05,112\n")
    assert found.kept == 2


def test_people_are_asked_and_the_others_rows_set_aside():
    """Whoever is chosen; a name that is nobody's is refused."""
    asked = take(PEOPLE, of="Fern")
    assert [(one.code, one.choices) for one in asked.questions] == [("person", ("Ann", "Bob"))]
    for who, kept in (("Ann", 2), ("BOB", 1)):
        found = take(PEOPLE, of="Fern", person=who)
        assert (found.kept, not found.questions) == (kept, True)
        assert {row.reason for row in found.not_kept()} == {"of another person"}
    with pytest.raises(UnknownName, match="No row is of 'Cleo'"):
        take(PEOPLE, of="Fern", person="Cleo")


def test_one_person_and_devices_by_name_are_no_question():
    """One name in every row, or the trial's sensors in a column called 'Name'."""
    assert not take(PEOPLE.replace("Bob", "Ann"), of="Fern").questions
    text = (
        "Name,Time,mg/dL\nFern,2026-03-01 07:00,110\nSlate,2026-03-01 07:00,112\nFern,2026-03-01 07:05,111\n"
    )
    found = take(text)
    assert not found.questions
    assert sorted(readings_of(found, a_trial())) == ["Fern", "Slate"]
