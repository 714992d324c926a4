"""Which column is what: by its cells, by its name, by what a person says; rivals are asked."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial

from evenhand.errors import UnknownName
from evenhand.intake import dialect, facts
from evenhand.intake.enough import require
from evenhand.intake.layout import lay_out
from evenhand.intake.names import names_of
from evenhand.intake.numerals import Reader
from evenhand.intake.roles import column_named, find, unit_in
from evenhand.intake.settings import parse
from evenhand.intake.words import Role

T = ("2026-03-01 07:42", "2026-03-01 07:47", "2026-03-01 07:52")


def section(*columns: tuple[str, list[str]]):
    """A section of named columns, as the layout of a tab-parted text finds it."""
    names = "\t".join(name for name, _ in columns)
    rows = ["\t".join(cells) for cells in zip(*(cells for _, cells in columns), strict=True)]
    text = "\n".join([names, *rows]) + "\n"
    return lay_out(dialect.split(dialect.lines_of(text), "\t")).sections[0]


def found(*columns: tuple[str, list[str]], **said: str):
    """Roles by column name, the codes asked, and what is left unread."""
    made = section(*columns)
    roles, told = find(made, facts.gather(made, Reader()), parse(said), names_of(a_trial(), "a.csv"), "a.csv")
    if roles is None:
        return None, told
    named = {role.value: made.names[index] for role, index in roles.others.items()}
    named["time"] = made.names[roles.time]
    if roles.date is not None:
        named["date"] = made.names[roles.date]
    named["values"] = [(made.names[column.index], column.owner) for column in roles.values]
    return named, told


TIME = ("Time", list(T))
VALUE = ("Glucose", ["110", "112", "115"])


def test_time_and_value_by_name_and_cells():
    """The plainest table there is."""
    named, told = found(TIME, VALUE)
    assert named == {"time": "Time", "values": [("Glucose", None)]}
    assert not told.asked


def test_columns_without_telling_names():
    """Cells alone: what reads as date and time, what reads as values."""
    named, _ = found(("a", list(T)), ("b", ["110", "112", "115"]))
    assert named == {"time": "a", "values": [("b", None)]}


def test_every_guess_has_evidence_and_a_score():
    """A sentence a person can check, and a number from 0 to 1."""
    _, told = found(TIME, VALUE, ("Unit", ["mg/dL"] * 3))
    assert {guess.what for guess in told.guesses} == {"time", "value", "unit"}
    assert all(guess.evidence and 0 < guess.score <= 1 for guess in told.guesses)


@pytest.mark.parametrize(
    ("column", "role"),
    [
        (("Unit", ["mg/dL"] * 3), "unit"),
        (("x", ["mg/dL"] * 3), "unit"),
        (("Type", ["reading", "reading", "alarm"]), "kind"),
        (("x", ["fingerstick", "calibration", "alarm"]), "kind"),
        (("Device", ["Fern", "Slate", "Fern"]), "device"),
        (("x", ["Fern", "Slate", "Fern"]), "device"),
        (("Note", ["lunch", "", "tired"]), "note"),
        (("Reason", ["plan", "habit", "alarm"]), "reason"),
        (("x", ["unwashed", "strip error", "unwashed"]), "marks"),
        (("Lot", ["L1", "L1", "L1"]), "lot"),
        (("UTC offset", ["+01:00", "+01:00", "+02:00"]), "zone"),
        (("x", ["+01:00", "+01:00", "+02:00"]), "zone"),
        (("x", ["Europe/Berlin", "Europe/Lisbon", "Europe/Berlin"]), "zone"),
    ],
)
def test_other_columns_by_name_or_by_their_words(column, role):
    """A name that says it, or cells that are all words for it."""
    named, _ = found(TIME, VALUE, column)
    assert named[role] == column[0]


def test_date_and_time_of_day_in_two_columns():
    """Either way round."""
    date, clock = ("Day", ["2026-03-01"] * 3), ("Clock", ["07:42", "07:47", "07:52"])
    for columns in ((date, clock), (clock, date)):
        named, _ = found(*columns, VALUE)
        assert (named["date"], named["time"]) == ("Day", "Clock")


def test_an_export_time_is_no_rival():
    """A name such as 'Uploaded' says that it is not when it was measured."""
    named, told = found(
        ("Uploaded", ["2026-03-05 10:00", "2026-03-05 10:01", "2026-03-05 10:02"]), TIME, VALUE
    )
    assert named["time"] == "Time"
    assert not told.asked


def test_two_times_that_are_alike_are_asked_for():
    """Two clocks that differ: only a person knows which one was right."""
    _, told = found(
        ("Device time", list(T)), ("Display time", [cell.replace("07", "08") for cell in T]), VALUE
    )
    assert [asked.set for asked in told.asked] == ["time=COLUMN"]
    _, told = found(("Device time", list(T)), ("Display time", list(T)), VALUE)
    assert not told.asked


def test_columns_called_like_sensors_are_theirs():
    """And a column of fingersticks is the meter's."""
    named, _ = found(
        TIME, ("Fern mg/dL", ["110"] * 3), ("Slate (mg/dL)", ["112"] * 3), ("Fingerstick", ["111"] * 3)
    )
    assert [owner for _, owner in named["values"]] == ["s1", "s2", "meter"]


def test_two_unnamed_columns_of_values_are_asked_for():
    """Each of them, with the sensors and the meter to choose from."""
    _, told = found(TIME, ("Glucose 1", ["110", "112", "115"]), ("Glucose 2", ["120", "125", "130"]))
    assert [asked.set for asked in told.asked] == ["sensor.Glucose 1=NAME", "sensor.Glucose 2=NAME"]
    assert told.asked[0].choices == ("Fern", "Slate", "meter", "ignore")


def test_the_same_values_in_both_units_are_one_column():
    """A factor of 18 between them."""
    named, told = found(
        TIME, ("Glucose mg/dL", ["110", "112", "115"]), ("Glucose mmol/L", ["6.1", "6.2", "6.4"])
    )
    assert len(named["values"]) == 1
    assert not told.asked


@pytest.mark.parametrize(
    "name", ["Insulin", "Carbs", "Heart rate", "Battery", "Temperature", "Row id", "Steps"]
)
def test_numbers_of_something_else_are_not_values(name):
    """Their names say so."""
    named, told = found(TIME, VALUE, (name, ["60", "70", "80"]))
    assert named["values"] == [("Glucose", None)]
    assert not told.asked


def test_a_number_column_left_unread_is_said():
    """Nothing is dropped silently."""
    _, told = found(TIME, VALUE, ("Thing", ["60", "70", "85"]))
    assert told.unread == ["Thing"]


def test_running_numbers_are_no_values():
    """One, two, three ... are rows counted."""
    times = [f"2026-03-01 07:{minute:02d}" for minute in range(12)]
    named, _ = found(
        ("Time", times),
        ("n", [str(60 + number) for number in range(12)]),
        ("v", [str(100 + number % 5) for number in range(12)]),
    )
    assert named["values"] == [("v", None)]


def test_what_a_person_names_is_taken():
    """By name whatever its case, or by number."""
    for said in ("thing", "#3", "3"):
        named, _ = found(TIME, VALUE, ("Thing", ["60", "70", "85"]), value=said)
        assert named["values"][0][0] == "Thing"


def test_a_column_there_is_not():
    """The nearest name is the cure."""
    with pytest.raises(UnknownName, match="Did you mean 'Glucose'") as caught:
        column_named(section(TIME, VALUE), "Glukose", "value", "a.csv")
    assert (caught.value.place.file, caught.value.place.line) == ("a.csv", 1)


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ((("Day", ["2026-03-01", "2026-03-02", "2026-03-03"]), VALUE), "dates without a time of day"),
        ((("Word", ["x", "y", "z"]), VALUE, ("More", ["60", "70", "85"])), "No column of times and values"),
    ],
)
def test_why_a_section_cannot_be_read(columns, words):
    """One error with the columns' names or the column's trouble."""
    made = section(*columns)
    gathered = facts.gather(made, Reader())
    roles, _ = find(made, gathered, parse({}), names_of(a_trial(), "a.csv"), "a.csv")
    error = require(roles, made, gathered, "a.csv")
    assert error is not None
    assert words in error.found


def test_a_zone_in_words_that_mean_several_things_is_asked_for():
    """EST is in America and in Australia."""
    _, told = found(TIME, VALUE, ("Time zone", ["EST"] * 3))
    assert [asked.code for asked in told.asked] == ["zone"]
    _, told = found(TIME, VALUE, ("Time zone", ["EST"] * 3), zone="America/New_York")
    assert not told.asked


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("Glucose (mg/dL)", "mg dl"),
        ("mmol/l", "mmol l"),
        ("BG [mmol/L]", "mmol l"),
        ("Glucose", None),
        ("mgmt", None),
    ],
)
def test_a_unit_in_a_name(text, unit):
    """As a word of its own."""
    assert unit_in(text) == unit
    assert Role.UNIT.value == "unit"
