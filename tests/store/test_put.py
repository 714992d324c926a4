"""A change held against what is there before it is written."""

import sqlite3
from dataclasses import replace

import pytest
from tests.store.making import T0, Change, add_stick, beginning, header, sensor, stick, wear

from evenhand.errors import BadRecord, ContradictingRecords
from evenhand.store import file


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    return made


def test_two_wears_at_once_are_refused_even_from_two_forms(path):
    """Each form alone was right; the second to be written is refused inside the transaction."""
    file.write(path, Change("first", T0, records=(wear(1, end=9000),)))
    with pytest.raises(ContradictingRecords, match="Two wears of Fern ran at once"):
        file.write(path, Change("second", T0, records=(wear(2, start=100, end=5000),)))
    assert [made.id for made in file.read(path).wears] == ["w-1"]


def test_what_was_wrong_before_does_not_stop_a_stick(path):
    """A contradiction that stands in the file already (an older rule) never stops what adds none."""
    file.write(path, Change("first", T0, records=(wear(1, end=9000),)))
    connection = sqlite3.connect(path)
    connection.execute(
        "INSERT INTO record SELECT 'w-2', change, kind, replace(body, 'w-1', 'w-2') FROM record WHERE kind = 'wear'"
    )
    connection.commit()
    connection.close()
    assert file.write(path, add_stick(1)) == 3
    with pytest.raises(ContradictingRecords, match="Two sensors are called slate"):
        file.write(path, Change("x", T0, records=(replace(sensor("slate", 2), id="s-9"),)))


def test_a_value_that_cannot_be_kept_is_named(path):
    """A record with a wrong type inside is a defect, told by field; nothing is written."""
    with pytest.raises(BadRecord, match=r"A stick cannot be kept: logged is 1\.5, not a whole number"):
        file.write(path, Change("x", T0, records=(replace(stick(1), logged=1.5),)))
    assert len(file.history(path)) == 1


def test_an_empty_change_is_a_line_in_the_history(path):
    """A change without records is kept as said."""
    assert file.write(path, Change("looked", T0)) == 2
    assert file.history(path)[1].what == "looked"


def test_records_that_name_each_other_come_together(path):
    """A sensor and its wear in one change, in any order."""
    assert file.write(path, Change("both", T0, records=(wear(1, "Moss"), sensor("Moss", 2)))) == 2


def test_what_is_left_out_of_the_check_is_found_all_the_same(path):
    """Old sticks and notes are left out of the check of a change (`ALONE`), but not what the change does to
    them: taking away the sensor that an old stick names is refused."""
    from tests.store.making import full_stick, source

    from evenhand.store.put import ALONE

    assert ALONE.isdisjoint({"sensor", "wear", "question"})
    file.write(path, Change("old", T0, records=(full_stick(), source(1))))
    with pytest.raises(ContradictingRecords, match="A stick names 's-slate'"):
        file.write(path, Change("x", T0, withdrawn=("s-slate",)))
    with pytest.raises(ContradictingRecords, match="Two sensors are called Fern"):
        file.write(
            path, Change("x", T0, records=(sensor("Moss", 2), replace(sensor("Slate", 1), name="Fern")))
        )
    assert file.check(path).sound
