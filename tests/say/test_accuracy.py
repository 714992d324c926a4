"""Tables of how far off."""

from __future__ import annotations

from tests.support.fake_findings import scenario

from evenhand.say import accuracy
from evenhand.units import Unit


def test_tables_mark_at_least_and_count():
    """A cell has the error, its interval, n, and 'at least' where readings stood at a limit."""
    findings, _ = scenario("closer")
    first, middle, _ = accuracy.phase_lines(findings, Unit.MG_DL)
    assert first.cells[0] == "18.6 (95 %: 9.2 to 28.1), n 14"
    assert middle.cells[0].startswith("at least 8.3 (95 %: ")
    assert len(accuracy.day_lines(findings, Unit.MG_DL)) == 20
    assert [line.label for line in accuracy.level_lines(findings, Unit.MMOL_L)] == [
        "below 3.9",
        "3.9 to 10.0",
        "above 10.0",
    ]
