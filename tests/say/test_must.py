"""Must-haves in words."""

from __future__ import annotations

import pytest
from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.findings.findings import MustHaveFinding
from evenhand.say.must import must_haves


@pytest.mark.parametrize(
    ("met", "words"),
    [
        (False, "Fern does not have what you must have: reads on my watch."),
        (None, "Whether Fern has what you must have is not known yet: reads on my watch."),
        (True, "Fern has what you must have: reads on my watch."),
    ],
)
def test_met_unmet_and_unknown_are_told_apart(met: bool | None, words: str):
    """Not known is not the same as not met."""
    findings, _ = scenario("closer")
    asked = structs.replace(findings, must_haves=(MustHaveFinding("Fern", "reads on my watch", met),))
    assert must_haves(asked) == (words,)
