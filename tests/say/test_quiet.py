"""The quiet line."""

from __future__ import annotations

from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.findings.findings import Deviation
from evenhand.say import how, quiet


def test_the_quiet_line_has_everything_it_must():
    """Sticks, wears, days, declared when, looks, fingerprint, edition's first eight."""
    findings, _ = scenario("closer")
    said = "; ".join(quiet.quiet_line(findings))
    for part in (
        "140 sticks, 98 of them judging",
        "6 wears, 19 days",
        "2 to 21 March 2026",
        "declared on 1 March 2026, before the first stick",
        "looks declared 1, taken 1",
        "fingerprint of the declaration a51c77e0",
        "edition 3f9c0a7d",
    ):
        assert part in said
    assert "a51c77e0b" not in said


def test_standing_in_every_case():
    """Undeclared, late, explored, opened early: each is said."""
    explored, _ = scenario("closer-open")
    assert "opened on day 9" in quiet.quiet_line(explored)
    assert "explored, not tested" in quiet.standing(explored.primary)
    undeclared, _ = scenario("too-few")
    assert quiet.standing(undeclared.primary) == "not declared beforehand"
    declared = explored.primary.declared
    late = structs.replace(
        explored.primary, standing="declared late", declared=structs.replace(declared, day=4, sticks_before=1)
    )
    assert quiet.standing(late) == "declared late, on 1 March 2026, day 4, after 1 stick"


def test_departures_are_counted_and_listed():
    """A departure from the declaration is counted in the quiet line and told in how it was done."""
    findings, trial = scenario("closer")
    primary = structs.replace(
        findings.primary,
        deviations=(Deviation("2026-03-09T10:00:00+00:00", "other strips", "the lot ran out"),),
    )
    changed = structs.replace(findings, primary=primary)
    assert "1 departure from the declaration" in quiet.quiet_line(changed)
    assert "Departure from the declaration, 9 March 2026: other strips (the lot ran out)." in how.how(
        changed, trial.header.unit
    )
