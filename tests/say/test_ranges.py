"""Time in range in words."""

from __future__ import annotations

from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.say.ranges import range_lines
from evenhand.units import Unit


def cells(unit: Unit) -> dict[str, tuple[str, ...]]:
    """The rows by their labels."""
    return {line.label: line.cells for line in range_lines(scenario("closer")[0], unit)}


def test_limits_are_pairs_and_not_conversions():
    """The consensus limits in mmol/L are 3.0, 3.9, 10.0, 13.9 (Battelino et al. 2019, Table 1)."""
    assert list(cells(Unit.MMOL_L))[:5] == [
        "below 3.0",
        "3.0 to below 3.9",
        "3.9 to 10.0",
        "above 10.0 to 13.9",
        "above 13.9",
    ]
    assert list(cells(Unit.MG_DL))[:5] == [
        "below 54",
        "54 to below 70",
        "70 to 180",
        "above 180 to 250",
        "above 250",
    ]


def test_shares_are_those_of_common_time():
    """Each sensor has its own cell, from the time both were reading."""
    rows = cells(Unit.MG_DL)
    assert rows["70 to 180"] == ("71.0 %", "71.0 %")
    assert rows["mean"] == ("148 mg/dL", "148 mg/dL")
    assert rows["glucose management indicator (GMI)"][0] == "6.9 %"
    assert rows["days covered"] == ("19.0", "19.0")


def test_what_is_not_known_is_said():
    """No readings, no share; sealed, no row."""
    findings, _ = scenario("closer")
    first = findings.sensors[0]
    bare = structs.replace(first.ranges.common, below_54=None, mean=None)
    changed = structs.replace(first, ranges=structs.replace(first.ranges, common=bare))
    rows = {
        line.label: line.cells
        for line in range_lines(structs.replace(findings, sensors=(changed,)), Unit.MG_DL)
    }
    assert rows["below 54"] == rows["mean"] == ("not known",)
    assert range_lines(scenario("sealed")[0], Unit.MG_DL) == ()
