"""Rows as CSV and JSON."""

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.desk.tables import Format, as_csv, cell_text, harmless, written

TEXT = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"))
CELL = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), TEXT
)


@given(st.lists(st.fixed_dictionaries({"a": CELL, "b": CELL, "c": CELL}), max_size=8))
def test_what_is_written_reads_back_the_same(rows):
    """Whatever stands in the cells - quotes, commas, line ends, any script - the csv module reads it back."""
    text = as_csv(rows, ("a", "b", "c"))
    back = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert back == [["a", "b", "c"], *([cell_text(row[name]) for name in "abc"] for row in rows)]


@given(st.lists(TEXT, max_size=5))
def test_one_column_reads_back_too(cells):
    """An empty cell alone on its line is still a row."""
    text = as_csv([{"a": cell} for cell in cells], ("a",))
    back = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert back == [["a"], *([harmless(cell)] for cell in cells)]


@given(TEXT)
def test_no_text_becomes_a_formula(text):
    """A cell never starts as a formula does unless it is a number, and only an apostrophe is added."""
    safe = harmless(text)
    assert safe in (text, f"'{text}")
    if safe.startswith(("=", "+", "-", "@", "\t", "\r")):
        assert float(safe) == float(text)


@pytest.mark.parametrize("number", ["-4.2", "+3", "-1e-5", "12"])
def test_numbers_are_left_alone(number):
    """A negative number is no formula."""
    assert harmless(number) == number
    assert cell_text(-4.25) == "-4.25"


@pytest.mark.parametrize("text", ["=1+1", "+49 300", "-", "@x", "\tx", "\rx", "-4.2 mmol", "--5"])
def test_what_a_spreadsheet_could_run_is_neutralised(text):
    """These are text: each gets an apostrophe."""
    assert harmless(text) == f"'{text}"


def test_json_keeps_types_and_structure():
    """JSON has null, numbers, lists and objects, and only the columns asked for."""
    rows = [{"a": None, "b": 1.5, "c": ["x", "=y"], "d": {"Fern": "6.1 mmol/L"}, "left": 1}]
    assert json.loads(written(rows, ("a", "b", "c", "d"), Format.JSON)) == [
        {"a": None, "b": 1.5, "c": ["x", "=y"], "d": {"Fern": "6.1 mmol/L"}}
    ]


def test_lists_and_pairs_become_one_cell():
    """In CSV a list is joined by semicolons, pairs as name=value."""
    rows = [{"a": ["unwashed", "same-drop"], "b": {"Fern": "low", "Slate": "6.1"}, "c": True}]
    assert as_csv(rows, "abc") == "a,b,c\nunwashed;same-drop,Fern=low;Slate=6.1,yes\n"


def test_nothing_is_a_header_line():
    """An export without rows still says its columns; in JSON it is an empty list."""
    assert as_csv([], ("a", "b")) == "a,b\n"
    assert json.loads(written([], ("a",), Format.JSON)) == []
