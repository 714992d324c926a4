"""Headings chosen from the numbers."""

from __future__ import annotations

import pytest
from msgspec import structs
from tests.judge.making import twenty_days
from tests.support.fake_findings import SCENARIOS, accuracy, scenario

from evenhand.findings.findings import Findings
from evenhand.findings.looks import exploratory_looks
from evenhand.findings.parts import Phases
from evenhand.judge.judge import judge
from evenhand.say import headings
from evenhand.stats.estimate import Est
from evenhand.units import Unit


def with_phases(findings: Findings, **parts: float) -> Findings:
    """Findings whose first sensor has these errors by phase, with 100 sticks each."""
    phases = Phases(**{name: accuracy(mad, 100) for name, mad in parts.items()})
    first, *others = findings.sensors
    return structs.replace(findings, sensors=(structs.replace(first, phases=phases), *others))


def test_the_first_24_hours_are_named_when_they_stand_out():
    """A phase whose whole interval lies above the middle's is named, with the sensor."""
    found = with_phases(scenario("closer")[0], first_24h=30.0, middle=10.0, last_24h=11.0)
    assert headings.phase_title(found) == "In the first 24 h Fern was farther off than in the middle"


def test_the_last_24_hours_may_be_the_worst():
    """The larger of two that stand out is named."""
    found = with_phases(scenario("closer")[0], first_24h=20.0, middle=10.0, last_24h=40.0)
    assert headings.phase_title(found) == "In the last 24 h Fern was farther off than in the middle"


def test_no_phase_is_named_when_intervals_overlap():
    """Overlapping intervals name nothing."""
    found = with_phases(scenario("closer")[0], first_24h=11.0, middle=10.0, last_24h=10.5)
    assert headings.phase_title(found) == "No part of the wear stood out"


def test_too_few_sticks_are_said():
    """Without intervals nothing is compared."""
    assert headings.phase_title(scenario("too-few")[0]) == "Too few sticks to compare the parts of a wear"


def test_a_bad_day_is_named_by_its_date():
    """A day that stands out is named for its sensor."""
    findings, _ = scenario("closer")
    first, other = findings.sensors
    bad = structs.replace(first.days[3], accuracy=accuracy(80.0, 60))
    days = (*first.days[:3], bad, *first.days[4:])
    found = structs.replace(findings, sensors=(structs.replace(first, days=days), other))
    assert headings.day_title(found) == "5 March stood out for Fern"


def test_many_bad_days_are_counted():
    """Four dates would be no heading."""
    findings, _ = scenario("closer")
    first, other = findings.sensors
    days = tuple(structs.replace(one, accuracy=accuracy(80.0, 60)) for one in first.days[:4])
    found = structs.replace(findings, sensors=(structs.replace(first, days=days), other))
    assert headings.day_title(found) == "Four days stood out for Fern"


def test_levels_that_stand_out_are_named():
    """Errors at highs above those in range are said for the sensor."""
    findings, _ = scenario("closer")
    first, other = findings.sensors
    tables = structs.replace(
        first.levels, by_stick=structs.replace(first.levels.by_stick, above=accuracy(60.0, 90))
    )
    found = structs.replace(findings, sensors=(structs.replace(first, levels=tables), other))
    assert headings.level_title(found) == "Fern was farther off at highs; too few lows to tell"


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("closer", "Fern was 5.6 mg/dL closer to your meter: clear of the margin"),
        (
            "closer-open",
            "Slate was 3.4 mg/dL closer to your meter: past zero; whether past the margin is open",
        ),
        ("equal", "Fern and Slate equal within the margin"),
        ("equal-but-closer", "Fern 1.4 mg/dL closer to your meter, equal within the margin"),
        ("not-settled", "Fern and Slate: not settled"),
        ("too-few", "Too little yet to hold Fern against Slate"),
        ("mmol", "Fern was 0.31 mmol/L closer to your meter: clear of the margin"),
    ],
)
def test_the_balance_is_titled_by_its_finding(name: str, title: str):
    """Each state has its title, in the wearer's unit."""
    findings, trial = scenario(name)
    assert headings.balance_title(findings.head_to_head[0], trial.header.unit) == title


def test_traces_are_titled_by_which_read_higher():
    """Side by side, the higher one is named; never alike, and where zero is inside other days may differ."""
    findings, _ = scenario("closer")
    assert (
        headings.traces_title(findings, Unit.MG_DL)
        == "Side by side, Slate read 6.5 mg/dL higher than Fern on average"
    )
    head = findings.head_to_head[0]
    alike = structs.replace(
        head, between_sensors=structs.replace(head.between_sensors, mean_difference=Est(0.5, -1.0, 2.0))
    )
    told = headings.traces_title(structs.replace(findings, head_to_head=(alike,)), Unit.MG_DL)
    assert "Fern read 0.5 mg/dL higher than Slate on average; on other days it could be the other way" in told


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_heading_is_a_finding_and_not_a_label(name: str):
    """No heading is 'Phases' or the like, in any state."""
    findings, trial = scenario(name)
    for title in (
        headings.phase_title(findings),
        headings.day_title(findings),
        headings.level_title(findings),
        headings.traces_title(findings, trial.header.unit),
    ):
        assert len(title.split()) >= 3
        assert title[0].isupper() or title[0].isdigit()


def test_the_number_of_looks_is_said():
    """The count is that of the caution: every mean difference with an interval beside those over the whole wear."""
    findings, _ = scenario("closer")
    looks = exploratory_looks(findings.sensors)
    assert headings.looked(findings).startswith(f"Beside the answer, {looks} looks at the same sticks")
    judged = judge(twenty_days())
    (said,) = (each.text for each in judged.cautions if each.code == "exploratory-looks")
    assert f" {exploratory_looks(judged.sensors)} looks " in said
    assert f" {exploratory_looks(judged.sensors)} looks " in headings.looked(judged)
    assert (
        headings.looked(structs.replace(findings, sensors=()))
        == "Too few sticks for any look beside the answer."
    )


def test_where_nothing_has_an_interval_nothing_is_said_not_to_stand_out():
    """Absence of sticks is no finding: days, phases and levels that could not be compared are told as that."""
    found = scenario("too-few")[0]
    assert "stood out" not in headings.day_title(found)
    assert "stood out" not in headings.phase_title(found)
    assert "too few" in headings.level_title(found).lower()
