"""The meter in words."""

from __future__ import annotations

import pytest
from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.findings.findings import ControlCheck
from evenhand.say import meter


@pytest.mark.parametrize(
    ("span", "words"),
    [
        ((-4.0, 2.0), "between 4 % low and 2 % high"),
        ((-4.5, None), "from 4.5 % low up to at least 15 % high (not checked further)"),
        ((None, 2.0), "from at least 15 % low (not checked further) up to 2 % high"),
        ((None, None), "up to 15 % low or high"),
        ((0.0, 2.0), "between exactly right and 2 % high"),
    ],
)
def test_the_meter_span_in_words(span: tuple[float | None, float | None], words: str):
    """Both ends, one end, or none within 15 %."""
    head = structs.replace(scenario("closer")[0].head_to_head[0], meter_span_percent=span)
    assert words in meter.span_words(head)


def test_what_is_known_of_the_meter():
    """Reasons, repeats, control and lots, each said; none is guessed where it is not there."""
    findings, _ = scenario("closer")
    said = " ".join(meter.known(findings.meter))
    assert "104 planned, 20 by habit, 15 prompted and 1 for calibration" in said
    assert "4.1 % (95 %: 2.9 to 5.3)" in said
    assert "No control solution was logged" in said
    checks = (
        ControlCheck("2026-03-01T08:00:00+00:00", True),
        ControlCheck("2026-03-02T08:00:00+00:00", None),
    )
    checked = structs.replace(findings.meter, control=checks, repeat_sd_percent=None)
    said = " ".join(meter.known(checked))
    assert "1 of 2 checks inside the printed range" in said
    assert "too few planned repeats" in said


@pytest.mark.parametrize(
    ("span", "said"),
    [
        ((0.0, None), "from exactly right up to at least 15 % high"),
        ((None, 0.0), "from at least 15 % low (not checked further) up to exactly right"),
    ],
)
def test_a_span_that_ends_at_zero_says_where_the_answer_does_not_hold(span, said):
    """'No more than exactly right (checked up to 15 % high)' would say the opposite of what was found."""
    head = structs.replace(scenario("closer")[0].head_to_head[0], meter_span_percent=span)
    assert said in meter.span_words(head)
