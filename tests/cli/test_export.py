"""`evenhand export`."""

import csv
import io
import json

import numpy as np
import pytest

from evenhand.records.change import Change
from evenhand.records.files import Fate, FileKey, LedgerRow, SourceFile
from evenhand.records.readings import Batch, Readings
from evenhand.store import file as store


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


@pytest.fixture
def filled(trial):
    """A trial with a file of four readings of Fern (one in mg/dL, one LOW), a wear, sticks and notes."""
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-28 08:00", "--removed", "2026-02-28 09:00")
    fern = store.read("spring.trial").sensor("Fern").id
    start = trial.now.now - 86_400
    readings = Readings(
        np.array([start - 300, start, start + 300, start + 7200], np.int64), np.zeros(4, np.int32),
        np.array([6.0, 2.2, 110.0, 7.15]), np.array([True, True, False, True]), np.array([0, 1, 0, 0], np.int8),
        np.array([2, 3, 4, 5], np.int32), ("6,0", "LOW", "110", "7.15"),
    )  # fmt: skip
    source = SourceFile("f1", "=fern.csv", "0" * 64, 90, fern, start, 5)
    ledger = (
        LedgerRow("f1", None, 1, Fate.SET_ASIDE, "header"),
        *(LedgerRow("f1", None, line, Fate.KEPT) for line in (2, 3, 4, 5)),
    )
    key = FileKey("k1", "fern", (("time", "Time, local"), ("value", "Glucose")))
    batch = Batch("b1", "f1", None, fern, readings)
    store.write("spring.trial", Change("took in a file", trial.now.now, (source, key), (batch,), ledger))
    return trial


def test_readings_are_as_recorded(filled):
    """Value and unit as recorded with a decimal point; beyond the limits the word; the wear by number."""
    found = rows(filled.done("export", "readings", "--format", "csv").out)
    assert list(found[0]) == ["time", "sensor", "value", "unit", "flag", "wear"]
    assert [tuple(row.values()) for row in found] == [
        ("2026-02-28T07:55:00+00:00", "Fern", "6.0", "mmol/L", "", ""),
        ("2026-02-28T08:00:00+00:00", "Fern", "low", "mmol/L", "low", "1"),
        ("2026-02-28T08:05:00+00:00", "Fern", "110", "mg/dL", "", "1"),
        ("2026-02-28T10:00:00+00:00", "Fern", "7.15", "mmol/L", "", ""),
    ]


def test_sticks_carry_marks_and_what_was_shown(filled):
    """All eight columns; a mark set after a reading of that time was known says so."""
    filled.done(
        "stick", "6.1", "--reason", "habit", "--meter", "Bag", "--shown", "Fern=6,4", "--shown", "Slate=high"
    )
    filled.done("stick", "110 mg/dL", "--at", "2026-02-28 08:01", "--mark", "unwashed")
    filled.done("stick", "low", "--mark", "control")
    found = rows(filled.done("export", "sticks").out)
    assert list(found[0]) == ["time", "value", "unit", "flag", "reason", "meter", "marks", "shown"]
    assert [tuple(row.values()) for row in found] == [
        ("2026-02-28T08:01:00+00:00", "110", "mg/dL", "", "unknown", "meter", "unwashed (set later)", ""),
        (
            "2026-03-01T08:00:00+00:00",
            "6.1",
            "mmol/L",
            "",
            "habit",
            "Bag",
            "",
            "Fern=6.4 mmol/L;Slate=high mmol/L",
        ),
        ("2026-03-01T08:00:00+00:00", "low", "mmol/L", "low", "unknown", "meter", "control", ""),
    ]
    objects = json.loads(filled.done("export", "sticks", "--format", "json").out)
    assert objects[1]["shown"] == {"Fern": "6.4 mmol/L", "Slate": "high mmol/L"}
    assert objects[2]["marks"] == ["control"]


def test_the_ledger_names_every_row_and_no_formula(filled):
    """Each row of the file with its fate; a file's name that looks like a formula is made harmless."""
    found = rows(filled.done("export", "ledger").out)
    assert list(found[0]) == ["file", "sheet", "line", "fate", "reason"]
    assert [(row["file"], row["line"], row["fate"]) for row in found] == [
        ("'=fern.csv", "1", "set aside"), *(("'=fern.csv", str(line), "kept") for line in (2, 3, 4, 5))
    ]  # fmt: skip
    assert json.loads(filled.done("export", "ledger", "--format", "json").out)[0]["file"] == "=fern.csv"


def test_diary_and_keys(filled):
    """The other two sorts of record."""
    filled.done("note", "meal", "@soup, hot", "--of", "Fern", "--to", "08:30")
    diary = rows(filled.done("export", "diary").out)
    assert diary == [
        {"time": "2026-03-01T08:00:00+00:00", "until": "2026-03-01T08:30:00+00:00", "kind": "meal", "text": "'@soup, hot", "sensor": "Fern"}
    ]  # fmt: skip
    assert rows(filled.done("export", "keys").out) == [
        {"kind": "fern", "setting": "time", "value": "Time, local"},
        {"kind": "fern", "setting": "value", "value": "Glucose"},
    ]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("export",), "not said what to export"),
        (("export", "wears"), "'wears' cannot be exported"),
        (("export", "sticks", "--format", "xml"), "Possible: csv, json."),
    ],
)
def test_wrong_use(trial, words, told):
    """What there is to choose from is said; exit code 2."""
    said = trial(*words)
    assert (said.code, said.out) == (2, "")
    assert told in said.err
