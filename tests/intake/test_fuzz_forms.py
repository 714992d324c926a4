"""Jotted lines, JSON, Bundles and exports with anything in them: an answer or an `EvenhandError`, and fates that sum."""

from __future__ import annotations

import copy
import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, after, take
from tests.intake.test_fuzz import survives

from evenhand.clock import Stamp
from evenhand.errors import EvenhandError
from evenhand.records.diary import Reason, Stick
from evenhand.records.files import Fate
from evenhand.units import Glucose, Unit

TOKENS = (
    "07:42", "7.42", "0742", "742", "7:42 pm", "7 pm", "25:10", "24:00", "00:00", "2026-03-01", "2026-03-29 02:30", "2025-10-26 02:30",
    "3/4", "31.2.", "1.3.", "1 March", "March 1, 2026", "Tue", "yesterday", "today:", "Sunday, 1 March 2026:", "110", "6.1", "6,1", "25",
    "0110", "9999", "LOW", "hi", "< 40", ">", "mg/dL", "mmol/l", "mmol", "alarm", "plan", "or", "felt low", "no", "unwashed", "repeat", "cal",
    "Fern", "Slate", "at", "@", "-", "•", "(", ")", ",", ";", "felt fine", "breakfast", "\u200e", "１１０", "٣", "\x00", "T07:42", "Z", "+25:00",
    "2026-03-01T02:10+02:00", "1e3", "nan", "½", "", "9" * 40, "2199-12-31 23:59", "0001-01-01 00:00", "29.2.", "12.12.2026",
)  # fmt: skip
LINES = st.lists(
    st.lists(st.sampled_from(TOKENS), min_size=1, max_size=6).map(" ".join), min_size=1, max_size=8
)


def with_sticks():
    """A trial with two sticks of one value on one day, and one of another."""
    made = [
        Stick(
            f"k{at}",
            Stamp.at(1_780_300_000 + at, "Europe/Berlin"),
            Glucose(value, Unit.MG_DL, str(value)),
            Reason.UNKNOWN,
            0,
        )
        for at, value in ((0, 110), (3_000, 110), (6_000, 25))
    ]
    return a_trial(sticks=tuple(made))


@settings(max_examples=300, deadline=None)
@given(
    LINES,
    st.sampled_from([None, "meter"]),
    st.booleans(),
    st.sampled_from([{}, {"order": "day-month"}, {"day": "2026-05-01"}, {"unit": "mmol/L"}]),
)
def test_any_jotted_lines(lines, of, held, said):
    """Lines of words that mean something, in any order."""
    survives(
        "\n".join(lines).encode(), name="notes.txt", of=of, trial=with_sticks() if held else None, **said
    )


@settings(max_examples=150, deadline=None)
@given(LINES)
def test_every_choice_is_an_answer(lines):
    """Whatever is asked of a line, each choice answers that question and no row is lost."""
    text = "\n".join(lines)
    try:
        found = take(text, "notes.txt")
    except EvenhandError:
        return
    for asked in found.questions:
        if asked.code != "which-reading":
            continue
        key = asked.set.partition("=")[0]
        for choice in asked.choices:
            try:
                answered = take(text, "notes.txt", **{key: choice})
            except EvenhandError as error:
                assert "None of the" in error.found  # noqa: PT017
                continue
            assert answered.rows == found.rows
            assert key not in [
                one.set.partition("=")[0] for one in answered.questions if one.text == asked.text
            ]


@settings(max_examples=100, deadline=None)
@given(LINES)
def test_taken_in_twice_adds_no_stick(lines):
    """The same lines again double every stick and entry they made. A value without a time waited for a stick, and may find
    it the second time: it then says more of that stick, and adds none."""
    trial = a_trial()
    try:
        found = take("\n".join(lines), "notes.txt", trial=trial)
    except EvenhandError:
        return
    if found.change is None:
        return
    again = take("\n".join(lines), "notes.txt", trial=after(trial, found.change), prefix="b")
    assert again.kept <= found.counts[Fate.WAITING], again.questions
    assert again.change is None or not [
        record for record in again.change.records if isinstance(record, Stick) and record.id.startswith("b")
    ]


CELLS = st.sampled_from(
    ["2026-03-01T07:42:00Z", "2026-03-01 07:47", "03/04/2026 07:42", 110, 6.1, "LOW", None, True, "", [], {}, [1, 2], {"value": 110}, {"v": {"v": 6.1}}, -1, 1e300, "mg/dL", "Fern"]
)  # fmt: skip
KEYS = st.sampled_from(
    [
        "time",
        "glucose",
        "value",
        "unit",
        "device",
        "note",
        "a",
        "",
        "time ",
        "Time",
        "kind",
        "shown",
        "flag",
        "\u0000",
    ]
)


@settings(max_examples=250, deadline=None)
@given(
    st.lists(st.dictionaries(KEYS, CELLS, max_size=5) | CELLS, max_size=8),
    st.sampled_from(["list", "under", "lines", "two"]),
    st.sampled_from([None, "Fern", "meter"]),
)
def test_any_json_table(entries, form, of):
    """Lists of objects with names and values that mean something, whole, nested, by line."""
    text = {
        "list": json.dumps(entries),
        "under": json.dumps({"unit": "mg/dL", "rows": entries}),
        "lines": "\n".join(map(json.dumps, entries)),
        "two": json.dumps({"Fern": entries, "Slate": entries[:2]}),
    }[form]
    survives(text.encode(), name="a.json", of=of)


GOOD = {
    "resourceType": "Bundle",
    "entry": [
        {
            "resource": {
                "resourceType": "Observation",
                "status": "final",
                "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
                "subject": {"reference": "Patient/1"},
                "effectiveDateTime": f"2026-03-01T07:{minute:02d}:00Z",
                "valueQuantity": {
                    "value": value,
                    "unit": unit,
                    "system": "http://unitsofmeasure.org",
                    "code": unit,
                },
                "device": {"display": "Fern"},
                "note": [{"text": "x"}],
            }
        }
        for minute, (code, value, unit) in enumerate(
            [
                ("99504-3", 110, "mg/dL"),
                ("105272-9", 6.1, "mmol/L"),
                ("41653-7", 112, "mg/dL"),
                ("2339-0", 113, "mg/dL"),
            ]
        )
    ],
}
ODD = (None, 0, -1.5, "", "x", [], {}, [None], [[]], {"a": 1}, True, "2026-03-01", "1e9", "9" * 400)


def broken(value: object, chance: random.Random) -> object:
    """A value in which something was replaced, taken out or doubled, somewhere."""
    if isinstance(value, dict) and value and chance.random() < 0.9:
        key = chance.choice(list(value))
        if chance.random() < 0.1:
            del value[key]
        else:
            value[key] = broken(value[key], chance)
        return value
    if isinstance(value, list) and value and chance.random() < 0.9:
        at = chance.randrange(len(value))
        value[at] = broken(value[at], chance)
        return value
    return copy.deepcopy(chance.choice(ODD))


@pytest.mark.parametrize("seed", range(150))
def test_a_good_bundle_with_parts_broken(seed):
    """Any element may be missing or of the wrong kind: its entry is set aside, never a traceback."""
    chance = random.Random(seed)
    made = copy.deepcopy(GOOD)
    for _ in range(chance.randint(1, 4)):
        broken(made, chance)
    survives(json.dumps(made).encode(), name="b.json", of="Fern")


OWN = {
    "sticks.csv": "time,value,unit,flag,reason,meter,marks,shown\n2026-03-01T07:42:00+01:00,110,mg/dL,,plan,Kitchen,unwashed,Fern=110 mg/dL\n",
    "diary.csv": "time,until,kind,text,sensor\n2026-03-01T07:42:00+01:00,2026-03-01T08:42:00+01:00,meal,bread,Fern\n",
    "keys.csv": "kind,setting,value\ncsv: a | b #123456,order,day-month\n",
}


@pytest.mark.parametrize("seed", range(120))
def test_an_export_with_cells_changed(seed):
    """Cells of an export replaced by what does not belong there."""
    chance = random.Random(seed)
    name = chance.choice(sorted(OWN))
    head, row, *_ = OWN[name].splitlines()
    rows = [head]
    for _ in range(4):
        cells = row.split(",")
        for _ in range(chance.randint(0, 2)):
            cells[chance.randrange(len(cells))] = chance.choice(
                ["", "x", "low", "repeat", "trip", "Moss", "=1", "2026-03-01", "-1", "a;b=c", "Fern="]
            )
        rows.append(",".join(cells))
    survives("\n".join(rows).encode(), name=name)
