"""Whatever `export` writes, intake reads back the same: readings, sticks, diary and file keys, as CSV and as JSON."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.intake.helpers import NOW, a_trial, new_ids, take

from evenhand.clock import Stamp
from evenhand.desk.exporting import COLUMNS, What, export
from evenhand.desk.tables import Format
from evenhand.errors import BadFile
from evenhand.intake import columns
from evenhand.intake.own import kind_of
from evenhand.intake.source import open_document
from evenhand.records.change import Change
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Shown, Stick
from evenhand.records.files import FileKey
from evenhand.records.trial import Trial
from evenhand.store import file as store
from evenhand.units import Beyond, Glucose, Unit

NOON = 1_772_362_800
WORDS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S"]), max_size=12)


def saved(folder: Path, name: str, trial: Trial, *records, batches=()) -> Path:
    """A trial file with these records in it."""
    path = folder / f"{name}.trial"
    path.unlink(missing_ok=True)
    store.create(path, trial.header, Change("made", 0, (*trial.sensors, *records), tuple(batches)))
    return path


def again(folder: Path, trial: Trial, text: str, form: str) -> Path:
    """A fresh trial into which an exported text was taken."""
    found = take(text, f"x.{form}", trial=trial, prefix="n")
    assert not found.questions
    assert found.change is not None, found.not_kept()
    assert found.kept == found.rows, found.not_kept()
    path = saved(folder, "again", trial)
    store.write(path, found.change)
    return path


@st.composite
def glucose(draw) -> Glucose:
    """A value as recorded: a number in either unit, or a word beyond the limits."""
    unit = draw(st.sampled_from(list(Unit)))
    if draw(st.booleans()) and draw(st.booleans()):
        side = draw(st.sampled_from(list(Beyond)))
        limit = {(Unit.MG_DL, Beyond.LOW): 20.0, (Unit.MG_DL, Beyond.HIGH): 600.0}.get((unit, side))
        return Glucose(limit or (1.1 if side is Beyond.LOW else 33.3), unit, str(side), side)
    text = str(draw(st.integers(30, 500))) if unit is Unit.MG_DL else f"{draw(st.integers(20, 300)) / 10:.1f}"
    return Glucose(float(text), unit, text)


@st.composite
def sticks(draw) -> list[Stick]:
    """Sticks minutes apart, with everything a stick can say."""
    made, at = [], NOON
    for number in range(draw(st.integers(1, 6))):
        at += draw(st.integers(60, 40_000))
        reason = draw(st.sampled_from(list(Reason)))
        made.append(
            Stick(
                f"k{number}", Stamp.at(at, "Europe/Berlin"), draw(glucose()), reason, NOW, reason is not Reason.UNKNOWN,
                draw(st.sampled_from([None, "Other", "=odd", "a;b"])), None,
                tuple(Mark(kind, draw(st.booleans())) for kind in draw(st.sets(st.sampled_from(list(MarkKind))))),
                tuple(Shown(sensor, draw(glucose()), NOW) for sensor in sorted(draw(st.sets(st.sampled_from(["s1", "s2"]))))),
                repeat=draw(st.booleans()) and reason is not Reason.CALIBRATION,
            )
        )  # fmt: skip
    return made


@st.composite
def events(draw) -> list[Event]:
    """Diary entries, at least a minute apart so that none is another's double."""
    made, at = [], NOON
    kinds = [kind for kind in EventKind if kind is not EventKind.TRIP]
    for number in range(draw(st.integers(1, 6))):
        at += draw(st.integers(60, 40_000))
        end = draw(st.sampled_from([None, at + 3_600]))
        text = draw(WORDS.map(str.strip))
        made.append(
            Event(
                f"e{number}", draw(st.sampled_from(kinds)), Stamp.at(at, "Europe/Berlin"), NOW,
                Stamp.at(end, "Europe/Berlin") if end else None, text, draw(st.sampled_from([None, "s1", "s2"])),
            )
        )  # fmt: skip
    return made


CALM = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@CALM
@given(sticks(), st.sampled_from(list(Format)))
def test_sticks_come_back(tmp_path, made, form):
    """Time, value, unit, flag, reason, meter, marks (and when they were set) and what was shown."""
    trial = a_trial()
    text = export(saved(tmp_path, "first", trial, *made), What.STICKS, form)
    assert export(again(tmp_path, trial, text, form), What.STICKS, form) == text


@CALM
@given(events(), st.sampled_from(list(Format)))
def test_the_diary_comes_back(tmp_path, made, form):
    """Start, end, kind, text (also one that looks like a formula) and sensor."""
    trial = a_trial()
    text = export(saved(tmp_path, "first", trial, *made), What.DIARY, form)
    assert export(again(tmp_path, trial, text, form), What.DIARY, form) == text


@CALM
@given(
    st.lists(
        st.tuples(st.integers(1, 5_000), glucose(), st.sampled_from(["Fern", "Slate"])),
        min_size=4,
        max_size=20,
    ),
    st.sampled_from(list(Format)),
)
def test_readings_come_back(tmp_path, made, form):
    """As a table like any other: time, sensor, value and unit as recorded, the words beyond the limits."""
    trial = a_trial()
    lines, at = ["time,sensor,value,unit"], 0
    for step, value, name in made:
        at += step
        stamp = Stamp.at(NOON + 60 * at, "Europe/Berlin")
        lines.append(f"{stamp.iso},{name},{value.beyond or value.text},{value.unit}")
    first = take("\n".join(lines), "r.csv", trial=trial, sure="yes")
    if first.questions:
        assert {asked.code for asked in first.questions} <= {"unit", "unit-contradiction", "unit-changes"}
        return
    path = saved(tmp_path, "first", trial)
    store.write(path, first.change)
    text = export(path, What.READINGS, form)
    found = take(text, f"x.{form}", trial=trial, prefix="n", sure="yes")
    if found.questions:
        assert {asked.code for asked in found.questions} <= {"unit", "unit-contradiction", "unit-changes"}
        return
    other = saved(tmp_path, "again", trial)
    store.write(other, found.change)
    assert export(other, What.READINGS, form) == text


@pytest.mark.parametrize("form", list(Format))
def test_file_keys_come_back(tmp_path, form):
    """Edited elsewhere, or brought from another trial: the kind with its settings."""
    trial = a_trial()
    keys = [
        FileKey("a.key", "csv: When | Value #0405b0", (("order", "day-month"), ("unit", "mg/dL"))),
        FileKey("b.key", "xlsx: =odd | Zeit #123456", (("low", "2.2"), ("zone", "+01:00"))),
    ]
    text = export(saved(tmp_path, "first", trial, *keys), What.KEYS, form)
    assert export(again(tmp_path, trial, text, form), What.KEYS, form) == text


def test_a_key_brought_in_serves_the_next_file():
    """Taken in as a file of its own, it is the newest of its kind."""
    data = "When;Value\n03/04/2026 07:42;110\n03/04/2026 07:47;112\n"
    trial = a_trial()
    assert [asked.code for asked in take(data, of="Fern", trial=trial).questions] == ["day-month-order"]
    from evenhand.intake.filekey import kind_of as kind

    found = take(
        f"kind,setting,value\n{kind(data.encode(), 'a.csv')},order,day-month\n", "keys.csv", trial=trial
    )
    keys = tuple(record for record in found.change.records if isinstance(record, FileKey))
    with_key = dataclasses.replace(trial, keys=keys)
    assert not take(data, of="Fern", trial=with_key, prefix="b").questions


def test_an_emptied_key_settles_nothing():
    """A kind with no setting takes the key's answers back."""
    found = take("kind,setting,value\ncsv: a #1,,\n", "keys.csv")
    assert [record.settings for record in found.change.records if isinstance(record, FileKey)] == [()]


def test_the_same_sticks_again_are_doubled(tmp_path):
    """Taking an export into the trial it came from adds nothing."""
    stick = Stick(
        "k", Stamp.at(NOON, "Europe/Berlin"), Glucose(110, Unit.MG_DL, "110"), Reason.PLAN, NOW, stated=True
    )
    trial = dataclasses.replace(a_trial(), sticks=(stick,))
    text = export(saved(tmp_path, "first", a_trial(), stick), What.STICKS, Format.CSV)
    assert take(text, "s.csv", trial=trial).adds_nothing


def test_a_sensor_that_is_not_in_this_trial_sets_the_row_aside():
    """What it showed cannot be kept, so the whole stick is said."""
    text = ",".join(columns.STICKS) + "\n2026-03-01T07:42:00+01:00,110,mg/dL,,plan,,,Moss=110 mg/dL\n"
    with pytest.raises(BadFile, match="no sensor 'Moss'"):
        take(text, "s.csv")


def test_the_columns_are_those_that_export_writes():
    """One place says them."""
    assert [COLUMNS[what] for what in What] == [
        columns.READINGS, columns.STICKS, columns.DIARY, columns.LEDGER, columns.KEYS,
    ]  # fmt: skip


def test_other_tables_are_no_exports():
    """A column more, or in another order, and it is a table like any other."""
    for head in ("time,value,unit", "kind,value,setting", "time,until,kind,text,sensor,more"):
        assert kind_of(open_document(f"{head}\na,b,c\n".encode(), "a.csv", {})) is None


def test_an_export_without_rows():
    """Nothing to take in."""
    with pytest.raises(BadFile, match="no rows"):
        take(",".join(columns.STICKS) + "\n", "s.csv")
    assert next(new_ids())
