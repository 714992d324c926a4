"""Words after a jotted value: reasons and marks as people write them, in several languages."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake.remarks import understood
from evenhand.records.diary import MarkKind, Reason


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("plan", Reason.PLAN),
        ("planned", Reason.PLAN),
        ("as planned", Reason.PLAN),
        ("habit", Reason.HABIT),
        ("routine", Reason.HABIT),
        ("alarm", Reason.PROMPTED),
        ("felt low", Reason.PROMPTED),
        ("feeling high", Reason.PROMPTED),
        ("odd reading", Reason.PROMPTED),
        ("prompted", Reason.PROMPTED),
        ("calibration", Reason.CALIBRATION),
        ("cal", Reason.CALIBRATION),
        ("calibrated Fern", Reason.CALIBRATION),
        ("geplant", Reason.PLAN),
        ("Gewohnheit", Reason.HABIT),
        ("habitude", Reason.HABIT),
        ("alarma", Reason.PROMPTED),
        ("kalibrering", Reason.CALIBRATION),
        ("калибровка", Reason.CALIBRATION),
        ("計画", Reason.PLAN),
    ],
)
def test_a_reason(text, reason):
    """As a whole part or with its first words."""
    assert understood(text).reasons == (reason,)


@pytest.mark.parametrize(
    "text",
    ["", "felt fine", "low", "no alarm", "not planned", "ohne Alarm", "pas prévu", "sin alarma", "plan to eat", "check later", "unknown"],
)  # fmt: skip
def test_no_reason(text):
    """A 'no', a word that only begins a sentence, or nothing."""
    assert understood(text).reasons == ()


@pytest.mark.parametrize(
    ("text", "marks"),
    [
        ("unwashed", [MarkKind.UNWASHED]),
        ("hands not washed", [MarkKind.UNWASHED]),
        ("unwashed hands", [MarkKind.UNWASHED]),
        ("ungewaschen", [MarkKind.UNWASHED]),
        ("sin lavar", [MarkKind.UNWASHED]),
        ("strip error", [MarkKind.STRIP_ERROR]),
        ("control", [MarkKind.CONTROL]),
        ("same drop, unwashed", [MarkKind.SAME_DROP, MarkKind.UNWASHED]),
        ("washed", []),
        ("never unwashed", []),
    ],
)
def test_marks(text, marks):
    """Anywhere in a part, but not after a 'no'."""
    assert list(understood(text).marks) == marks


def test_two_reasons_are_both_told():
    """The caller asks; the text of the other reason can be left out."""
    found = understood("alarm or plan, in bed")
    assert found.reasons == (Reason.PROMPTED, Reason.PLAN)
    assert found.left(Reason.PLAN) == "in bed"


def test_the_same_reason_twice_is_one():
    """'alarm, felt low' is prompted by both."""
    assert understood("alarm, felt low").reasons == (Reason.PROMPTED,)


@pytest.mark.parametrize(
    ("text", "more"),
    [("alarm", False), ("alarm, unwashed", False), ("repeat", False), ("alarm woke me", True), ("in bed", True), ("", False)],
)  # fmt: skip
def test_whether_there_is_more_to_keep(text, more):
    """Words that only name reason or mark make no note."""
    assert understood(text).more is more


def test_a_repeat():
    """In two languages."""
    assert understood("repeat").repeat
    assert understood("plan, wiederholt").repeat
    assert not understood("no repeat").repeat


@given(st.text(max_size=60))
def test_any_words(text):
    """Nothing breaks, and the text is kept as it is."""
    assert understood(text).text == text
