"""How it was done."""

from __future__ import annotations

import re

from tests.support.fake_findings import scenario

from evenhand.say import how


def test_how_it_was_done_names_the_question_as_asked():
    """Steady or all, which sticks judge, margin with its trade word once, the whole fingerprint."""
    findings, trial = scenario("closer")
    said = " ".join(how.how(findings, trial.header.unit))
    assert said.count("(margin)") == 1
    assert "planned ones and ones taken by habit judge" in said
    assert findings.primary.fingerprint in said
    assert not re.search(r"[Bb]ootstrap|cluster|even scale", said)
