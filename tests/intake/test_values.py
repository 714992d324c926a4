"""Columns of values: what each cell is, and the unit of every row; what fits two ways is asked."""

from __future__ import annotations

import numpy as np
import pytest

from evenhand.intake.layout import Section
from evenhand.intake.numerals import Reader
from evenhand.intake.settings import parse
from evenhand.intake.values import (
    BARE_HIGH,
    BARE_LOW,
    EMPTY,
    NO_UNIT,
    NUMBER,
    WORD,
    decide_unit,
    plausible,
    read_column,
    span_of,
    stated_units,
)  # fmt: skip


def section(
    name: str, cells: list[str], units: list[str] | None = None, preamble: str = "", under: str = ""
) -> Section:
    """A section with a column of values and perhaps one of units."""
    columns, names = [cells], [name]
    if units is not None:
        columns.append(units)
        names.append("Unit")
    return Section(
        None, tuple(names), (under,), (1,), tuple(columns), range(2, len(cells) + 2), None, preamble
    )


def decided(made: Section, unit_column: int | None = None, alone: bool = True, **said: str):
    """The units decided for the first column."""
    column = read_column(made, 0, Reader())
    return decide_unit(column, made, unit_column, parse(said), alone, np.full(column.what.size, True))


def test_what_cells_are():
    """Nothing, a word, a number, or a word beyond the limits."""
    column = read_column(
        section("v", ["", "--", "n/a", "hello", "110", "6,1 mmol/L", "LOW", "hoch", "<40"]), 0, Reader()
    )
    assert column.what.tolist() == [EMPTY, EMPTY, EMPTY, WORD, NUMBER, NUMBER, BARE_LOW, BARE_HIGH, NUMBER]
    assert column.flag.tolist() == [0, 0, 0, 0, 0, 0, 1, 2, 1]
    assert column.glued.tolist() == [NO_UNIT] * 5 + [1] + [NO_UNIT] * 3
    assert np.isnan(column.number[[0, 3, 6]]).all()
    assert span_of(column) == {"empty": 3, "words": 1, "numbers": 3, "low": 1, "high": 1}


@pytest.mark.parametrize(
    ("made", "unit_column", "unit", "evidence"),
    [
        (section("Glucose mg/dL", ["110", "112"]), None, 0, "the header says so"),
        (section("Glucose", ["6.1", "6.3"], under="mmol/L"), None, 1, "the units row says so"),
        (section("Glucose", ["25 mmol/L", "24 mmol/L"]), None, 1, "written beside the values"),
        (section("Glucose", ["25", "24"], ["mmol/L", "mmol/L"]), 1, 1, "column 'Unit' says so"),
        (
            section("Glucose", ["25", "24"], preamble="All values in mmol/L"),
            None,
            1,
            "a line before the table",
        ),
        (section("Glucose", ["110", "112"]), None, 0, "can only be mg/dL"),
        (section("Glucose", ["6.1", "25"]), None, 1, "can only be mmol/L"),
    ],
)
def test_where_a_unit_comes_from(made, unit_column, unit, evidence):
    """The cell, the row, the header, the row under it, a line above, or the values alone; and it is said."""
    found = decided(made, unit_column)
    assert found.unit.tolist() == [unit, unit]
    assert evidence in found.guesses[0].evidence
    assert found.by_values is ("can only" in evidence)


@pytest.mark.parametrize(
    ("made", "code"),
    [
        (section("Glucose", ["25", "30", "22"]), "unit"),
        (section("Glucose", ["LOW", "HIGH"]), "unit"),
        (section("Glucose mg/dL", ["6.1", "6.3", "7.2"]), "unit-contradiction"),
        (section("Glucose mmol/L", ["110", "112", "140"]), "unit-contradiction"),
        (section("Glucose", ["110", "112", "115", "6.1", "6.3", "6.4"]), "unit-changes"),
    ],
)
def test_what_is_asked(made, code):
    """A missing unit that the values cannot prove, a factor of 18, a change halfway."""
    assert [asked.code for asked in decided(made).asked] == [code]


def test_the_line_of_a_change_is_said():
    """Where the device was set to the other unit."""
    found = decided(section("Glucose", ["110", "112", "115", "6.1", "6.3", "6.4"]))
    assert "changes in line 5" in found.asked[0].text
    assert found.asked[0].choices == ("by-value", "mg/dL", "mmol/L")


def test_by_value():
    """Each in the unit it can only be in; what has no number goes with the row before."""
    found = decided(section("Glucose", ["110", "LOW", "6.1", "LOW"]), unit="by-value")
    assert found.unit.tolist() == [0, 0, 1, 1]


def test_a_unit_that_was_said():
    """Goes before everything; for one column where the table has several."""
    made = section("Glucose", ["25", "30"])
    assert decided(made, unit="mmol/L").unit.tolist() == [1, 1]
    assert decided(made, alone=False, **{"unit.glucose": "mg/dL"}).unit.tolist() == [0, 0]
    assert decided(made, alone=False).asked[0].set == "unit.Glucose=UNIT"


def test_units_row_by_row():
    """A unit column may change."""
    made = section("Glucose", ["110", "6.1"], ["mg/dL", "mmol/L"])
    assert decided(made, 1).unit.tolist() == [0, 1]
    column = read_column(made, 0, Reader())
    assert stated_units(column, made, 1).tolist() == [0, 1]
    assert stated_units(column, made, None).tolist() == [NO_UNIT, NO_UNIT]


def test_a_row_without_a_unit_goes_with_the_others():
    """One unit everywhere else."""
    assert decided(section("Glucose", ["110", "112"], ["mg/dL", ""]), 1).unit.tolist() == [0, 0]


@pytest.mark.parametrize(
    ("number", "unit", "can"),
    [(9.9, 0, False), (10, 0, True), (1000, 0, True), (1001, 0, False), (0.4, 1, False), (0.5, 1, True), (60, 1, True), (60.1, 1, False)],
)  # fmt: skip
def test_what_a_body_can_have(number, unit, can):
    """In either unit."""
    assert plausible(np.array([number]), np.array([unit], np.int8)).tolist() == [can]
