"""The fate table."""

from __future__ import annotations

from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.findings.parts import Gaps
from evenhand.say import fates


def test_every_wear_has_its_line():
    """No opened sensor is dropped from the fate table, and a replacement names what it replaced."""
    findings, _ = scenario("closer")
    lines = fates.fates(findings)
    assert len(lines) == len(findings.wears) == 6
    assert [line.ending for line in lines if line.sensor == "Slate"] == [
        "worn to the end",
        "failed",
        "worn to the end; replaced wear 2",
        "worn to the end",
    ]
    assert fates.fate_title(findings) == "Six sensors opened: five worn to the end and one failed"


def test_fates_that_were_not_logged_are_said_so():
    """A wear without an end, or without a lot, is told as that."""
    findings, _ = scenario("closer")
    wear = structs.replace(
        findings.wears[0], ending=None, removed=None, lot=None, inserted=None, started=None
    )
    (line,) = fates.fates(structs.replace(findings, wears=(wear,)))
    assert (line.ending, line.lot, line.inserted) == (
        "still worn, or its end was not logged",
        "not noted",
        "not logged",
    )
    assert fates.fate_title(structs.replace(findings, wears=())) == "No sensor was logged as opened"


def test_upkeep_and_coverage():
    """Completeness, gaps by cause, cost with and without replacements."""
    findings, _ = scenario("closer")
    rows = dict(fates.upkeep(findings.sensors[0]))
    assert rows["readings"] == "5,648 of 5,734 (98.5 %)"
    assert rows["cost of a usable day, in your money"] == "8.40; 7.60 if failed ones were replaced free"
    assert fates.gaps(Gaps(0.0, 0.0, 0.0)) == "none"
    assert fates.coverage_title(findings).startswith("Readings so far: Fern 98.5 %")
    unknown = structs.replace(
        findings, sensors=tuple(structs.replace(one, expected_readings=None) for one in findings.sensors)
    )
    assert fates.coverage_title(unknown) == "Readings so far: 11,333 readings"
