"""Cautions in sight and in the fold."""

from __future__ import annotations

from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.findings.findings import Caution
from evenhand.say import mind


def test_cautions_are_folded_but_never_lost():
    """Every caution is in sight or in the fold; a code nobody knows stays in sight."""
    findings, _ = scenario("closer")
    more = (
        Caution("alarms-rehearsed", "trial", "one"),
        Caution("zones-from-memory", "trial", "two"),
        Caution("brand-new", "trial", "three"),
    )
    seen, folded = mind.minded(structs.replace(findings, cautions=(*findings.cautions, *more)))
    assert folded == ("one", "two")
    assert seen[-1] == "three"
    assert len(seen) + len(folded) == len(findings.cautions) + 3
