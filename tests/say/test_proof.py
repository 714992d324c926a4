"""What an answer does not prove."""

from __future__ import annotations

import pytest
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.say import proof


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_it_does_not_prove_is_three_lines_at_most(name: str):
    """Never more than three, never empty, always the meter and the body."""
    findings, _ = scenario(name)
    lines = proof.does_not_prove(findings)
    assert 1 <= len(lines) <= 3
    assert "one body" in lines[0]
    assert "your meter" in lines[1]


def test_the_caveat_counts_the_sensors_worn():
    """'one body, 2 + 4 sensors, one meter'."""
    assert proof.body(scenario("closer")[0]) == "one body, 2 + 4 sensors, one meter"
    assert proof.body(scenario("one")[0]) == "one body, 1 sensor, one meter"
