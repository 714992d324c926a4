"""The tables of a page."""

from __future__ import annotations

import pytest
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.handouts import parts
from evenhand.units import Unit


@pytest.mark.parametrize("name", SCENARIOS)
def test_rows_are_as_wide_as_their_headings(name: str):
    """Every row of every table has a cell for each heading, and no cell says 'None'."""
    findings, trial = scenario(name)
    unit = trial.header.unit
    tables = [
        parts.phase_table(findings, unit),
        parts.day_table(findings, unit),
        parts.split_table(findings, unit),
        *parts.level_tables(findings, unit),
        parts.fate_table(findings),
        parts.numbers_table(findings, sealed=findings.sealed, unit=unit),
    ]
    for table in tables:
        assert all(len(row) == len(table.columns) for row in table.rows)
        assert not any("None" in cell or "nan" in cell for row in table.rows for cell in row)
        assert table.caption


def test_a_sealed_table_has_no_error_in_it():
    """Only readings and gaps while sealed."""
    findings, _ = scenario("sealed")
    table = parts.numbers_table(findings, sealed=True, unit=Unit.MG_DL)
    assert [row[0] for row in table.rows] == ["readings", "hours missed while worn"]


def test_the_two_level_tables_say_how_they_are_sorted():
    """By the stick, and by the sensor: two tables, never mixed."""
    findings, _ = scenario("closer")
    by_stick, by_sensor = parts.level_tables(findings, Unit.MG_DL)
    assert "sorted by the stick" in by_stick.caption
    assert "sorted by each sensor" in by_sensor.caption
    assert by_stick.rows != by_sensor.rows


def test_every_wear_is_in_the_fate_table():
    """As many rows as wears."""
    findings, _ = scenario("three")
    assert len(parts.fate_table(findings).rows) == len(findings.wears) == 7
