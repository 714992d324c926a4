"""JSON to tables: what is found, what keeps its place, what is refused."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import BadFile
from evenhand.intake.objects import MAX_DEPTH, tables


def rows(text: str) -> list[list[str]]:
    """The rows of the one table in a text."""
    found = tables(text, "a.json")
    assert found is not None
    assert len(found) == 1
    return found[0].rows


@pytest.mark.parametrize(
    "text", ["time,value\n1,2\n", "", "6.1 felt fine", "<html>", "[sic] a note,b\n1,2\n"]
)
def test_what_is_no_json_is_left_to_other_readers(text):
    """A text that does not begin like JSON, or only with a bracketed word, is not refused here."""
    assert tables(text, "a.csv") is None


def test_numbers_stay_as_they_are_written():
    """6.10 is not 6.1, and 1e2 is not 100: what was recorded stays as recorded."""
    assert rows('[{"v": 6.10}, {"v": 1e2}, {"v": 110}]') == [["v"], ["6.10"], ["1e2"], ["110"]]


def test_entries_may_differ_in_their_names_and_order():
    """Columns are all names in order of first appearance; what an entry lacks is empty."""
    assert rows('[{"a": "1", "b": "2"}, {"c": "3", "a": "4"}]') == [
        ["a", "b", "c"],
        ["1", "2", ""],
        ["4", "", "3"],
    ]


def test_nested_values_get_dotted_names():
    """An object in an entry becomes columns, a list of words one cell, a list of objects numbered columns."""
    text = '[{"t": {"at": "x", "zone": null}, "tags": ["p", 1, true], "parts": [{"v": 1}, {"v": 2}]}]'
    assert rows(text) == [
        ["t.at", "t.zone", "tags", "parts.0.v", "parts.1.v"],
        ["x", "", "p; 1; true", "1", "2"],
    ]


def test_names_in_camel_case_are_words():
    """So that 'glucoseValue' and 'createdAt' are recognised as anybody would."""
    assert rows('[{"glucoseValue": 1, "createdAt": 2}]')[0] == ["glucose Value", "created At"]


def test_every_list_of_objects_is_a_table_with_its_path():
    """Two lists in one object are two tables, named by where they stand."""
    found = tables(
        '{"sensor": {"rows": [{"v": 1}]}, "meter": [{"v": 2}], "none": [], "words": ["a"]}', "a.json"
    )
    assert found is not None
    assert [table.sheet for table in found] == ["sensor.rows", "meter"]


def test_lines_are_entries():
    """A row's line is the entry's number, from 1; the made-up header stands at 0."""
    found = tables('[{"v": 1}, {"v": 2}]', "a.json")
    assert found is not None
    assert list(found[0].lines) == [0, 1, 2]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('[{"v": 1}', "cannot be read"),
        ('{"v": 1} trailing', "cannot be read"),
        ('[{"v": 1, "v": 2}]', "'v' twice"),
        ("[1, 2, 3]", "no list of objects"),
        ("{}", "no list of objects"),
        ("[]", "no list of objects"),
        ('["a", {"v": 1}]', "no list of objects"),
        ("[" * 100_000, "too deep"),
    ],
)
def test_json_that_is_no_table_is_refused_with_the_reason(text, found):
    """One error that names the file, and the line where the JSON breaks off."""
    with pytest.raises(BadFile, match=found) as caught:
        tables(text, "a.json")
    assert caught.value.place.file == "a.json"


def test_an_entry_nested_too_deep_is_named():
    """The entry's number stands in the error."""
    deep: object = 1
    for _ in range(MAX_DEPTH + 1):
        deep = {"x": deep}
    with pytest.raises(BadFile, match="too deep") as caught:
        tables(json.dumps([{"v": 1}, deep]), "a.json")
    assert caught.value.place.line == 2


def test_the_line_of_a_break_is_named():
    """Where the JSON breaks off, counted in lines of the file."""
    with pytest.raises(BadFile) as caught:
        tables('[\n{"v": 1},\n{"v": }\n]', "a.json")
    assert caught.value.place.line == 3


def test_one_object_a_line_is_a_table():
    """With and without an empty line at the end."""
    assert rows('{"v": 1}\n{"v": 2}\n\n') == [["v"], ["1"], ["2"]]


NAMES = st.text(st.characters(codec="ascii", categories=["Ll"]), min_size=1, max_size=8)
SCALARS = st.one_of(st.none(), st.booleans(), st.integers(-(10**6), 10**6), st.text(max_size=12))


@given(st.lists(st.dictionaries(NAMES, SCALARS, min_size=1, max_size=4), min_size=1, max_size=6))
def test_every_value_of_a_flat_list_comes_back(entries):
    """Whatever stands in a list of flat objects stands in the table, in its row and under its name."""
    header, *body = rows(json.dumps(entries))
    assert len(body) == len(entries)
    for entry, row in zip(entries, body, strict=True):
        told = dict(zip(header, row, strict=True))
        for name, value in entry.items():
            expected = "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)
            assert told[name] == expected


@given(
    st.recursive(
        SCALARS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=4)
    )
)
def test_any_json_is_a_table_or_refused(value):
    """No JSON at all makes a traceback."""
    try:
        found = tables(json.dumps(value), "a.json")
    except BadFile as error:
        found = ()
        told = error
        assert told.cure
    assert found is None or all(len(table.rows) > 1 for table in found)


def test_the_same_readings_in_json_and_csv_are_the_same():
    """The form of a file does not change what is read from it."""
    table = "time,value,unit\n2026-03-01T07:42:00Z,6.1,mmol/L\n2026-03-01T07:47:00Z,6.3,mmol/L\n"
    listed = json.dumps(
        [{"time": f"2026-03-01T07:4{m}:00Z", "value": v, "unit": "mmol/L"} for m, v in ((2, 6.1), (7, 6.3))]
    )
    trial = a_trial()
    assert readings_of(take(table, of="Fern"), trial) == readings_of(take(listed, "a.json", of="Fern"), trial)
