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


def test_wears_have_their_own_rows():
    """Wear by wear; a sensor with fewer wears says so, one left out says why."""
    findings, _ = scenario("closer")
    lines = accuracy.wear_lines(findings, Unit.MG_DL)
    assert [line.label for line in lines] == ["wear 1", "wear 2", "wear 3", "wear 4"]
    assert lines[2].cells[0] == "no such wear"
    assert lines[1].cells[0] == "not given: too few separate visits to the meter; 40 sticks"
    assert lines[0].cells[1].startswith("at least 14.6 (95 %: ")


def test_times_between_reading_and_stick_are_signed():
    """After the stick is plus, before it minus, together neither."""
    assert accuracy.apart(0.0) == "0.0 min, median"
    assert accuracy.apart(-30.0) == "−0.5 min, median"


def test_the_main_numbers_of_a_sensor():
    """Error, bias, percent and agreement, each with the trade word once and its interval."""
    findings, _ = scenario("closer")
    rows = dict(accuracy.whole(findings.sensors[0], Unit.MG_DL, "20/20"))
    assert rows["average error (MAD)"] == "at least 9.8 mg/dL (95 %: 8.1 to 11.5), n 126"
    assert rows["within 20 (20/20 agreement)"] == "84 % (95 %: 81 to 87)"
    sealed, _ = scenario("sealed")
    assert accuracy.whole(sealed.sensors[0], Unit.MG_DL, "20/20") == ()
