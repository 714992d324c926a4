"""JSON to tables: what is found, what keeps its place, what is refused."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import BadFile
from evenhand.intake.bounds import MAX_DEEP
from evenhand.intake.objects import like, read


def rows(text: str) -> list[list[str]]:
    """The rows of the one table in a text."""
    found, _ = read(text, "a.json")
    assert len(found) == 1
    return [list(found[0].names), *found[0].rows]


@pytest.mark.parametrize(
    "text", ["time,value\n1,2\n", "", "6.1 felt fine", "<html>", "[sic] a note,b\n1,2\n"]
)
def test_what_is_no_json_is_left_to_other_readers(text):
    """A text that does not begin like JSON, or only with a bracketed word, is not refused here."""
    assert not like(text)


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
        ["t.at", "t.zone", "tags", "parts.1.v", "parts.2.v"],
        ["x", "", "p;1;true", "1", "2"],
    ]


def test_names_in_camel_case_are_words():
    """So that 'glucoseValue' and 'createdAt' are recognised as anybody would."""
    assert rows('[{"glucoseValue": 1, "createdAt": 2}]')[0] == ["glucose Value", "created At"]


def test_every_list_of_objects_is_a_table_with_its_path():
    """Two lists in one object are two tables, named by where they stand."""
    found, _ = read(
        '{"sensor": {"rows": [{"v": 1}]}, "meter": [{"v": 2}], "none": [], "words": ["a"]}', "a.json"
    )
    assert [table.sheet for table in found] == ["sensor.rows", "meter"]


def test_lines_are_entries():
    """A row's line is the entry's number, from 1."""
    found, _ = read('[{"v": 1}, {"v": 2}]', "a.json")
    assert list(found[0].lines) == [1, 2]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('[{"v": 1}', "cannot be read"),
        ('{"v": 1} trailing', "cannot be read"),
        ('[{"v": 1, "v": 2}]', "'v' stands in it twice"),
        ("[1, 2, 3]", "not an object"),
        ("{}", "no list of objects"),
        ("[]", "no list of objects"),
        ("[" * 100_000, "nested"),
    ],
)
def test_json_that_is_no_table_is_refused_with_the_reason(text, found):
    """One error that names the file, and the line where the JSON breaks off."""
    with pytest.raises(BadFile, match=found) as caught:
        read(text, "a.json")
    assert caught.value.place.file == "a.json"


def test_deep_nesting_is_refused_with_the_limit():
    """Brackets inside texts do not count."""
    deep: object = 1
    for _ in range(MAX_DEEP):
        deep = {"x": deep}
    with pytest.raises(BadFile, match=f"at most {MAX_DEEP}"):
        read(json.dumps([{"v": 1}, deep]), "a.json")
    assert rows(json.dumps([{"v": "[" * 500}])) == [["v"], ["[" * 500]]


def test_a_large_text_is_refused_before_it_is_parsed(monkeypatch):
    """JSON takes several times its size in memory."""
    monkeypatch.setattr("evenhand.intake.objects.MAX_JSON", 10)
    with pytest.raises(BadFile, match="million characters"):
        read('[{"value": 1}]', "a.json")


def test_too_many_fields_name_the_entry():
    """The entry that goes over the limit is the line."""
    with pytest.raises(BadFile, match="fields") as caught:
        read(json.dumps([{"v": 1}, {f"n{number}": 1 for number in range(2_100)}]), "a.json")
    assert caught.value.place.line == 2


def test_one_bad_entry_keeps_its_place():
    """A field stated twice, a bare number, an empty object: each set aside with its entry, the others read."""
    text = '[{"time":"2026-03-01T07:42Z","mg/dL":110},{"time":"a","time":"b"},7,{},{"time":"2026-03-01T07:47Z","mg/dL":112}]'
    found = take(text, "a.json", of="Fern")
    assert found.kept == 2
    assert [(row.line, row.reason) for row in found.not_kept()] == [
        (2, "the field 'time' stands in it twice"),
        (3, "entry 3 is '7', not an object"),
        (4, "an entry without content"),
    ]


def test_what_stands_beside_the_list_tells_unit_and_owner():
    """An object with a list in it: its other fields are read like lines before a table."""
    text = '{"device": "Fern", "unit": "mmol/L", "list": [{"t": "2026-03-01T07:42Z", "v": 25}, {"t": "2026-03-01T07:47Z", "v": 24}]}'
    assert readings_of(take(text, "a.json"), a_trial())["Fern"][0] == "2026-03-01T07:42:00+00:00 25 mmol/L"


def test_a_list_of_lists_takes_its_first_as_names():
    """As tables are often written in JSON."""
    assert rows('[["time", "value"], ["x", 1.50]]') == [["time", "value"], ["x", "1.50"]]


def test_a_damaged_line_among_lines_of_objects_is_set_aside():
    """The others are read; its number is the line of the file."""
    found, _ = read('{"v": 1}\n\n{broken\n{"v": 2}\n', "a.jsonl")
    assert list(found[0].lines) == [1, 4]
    assert [aside.line for aside in found[0].asides] == [3]


def test_the_line_of_a_break_is_named():
    """Where the JSON breaks off, counted in lines of the file."""
    with pytest.raises(BadFile) as caught:
        read('[\n{"v": 1},\n{"v": }\n]', "a.json")
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
    text = json.dumps(value)
    if not like(text):
        return
    try:
        found, _ = read(text, "a.json")
    except BadFile as error:
        assert error.cure  # noqa: PT017
        return
    assert any(table.rows for table in found)


def test_the_same_readings_in_json_and_csv_are_the_same():
    """The form of a file does not change what is read from it."""
    table = "time,value,unit\n2026-03-01T07:42:00Z,6.1,mmol/L\n2026-03-01T07:47:00Z,6.3,mmol/L\n"
    listed = json.dumps(
        [{"time": f"2026-03-01T07:4{m}:00Z", "value": v, "unit": "mmol/L"} for m, v in ((2, 6.1), (7, 6.3))]
    )
    trial = a_trial()
    assert readings_of(take(table, of="Fern"), trial) == readings_of(take(listed, "a.json", of="Fern"), trial)
