"""The question and its defaults."""

from __future__ import annotations

import pytest

from evenhand.errors import BadRecord
from evenhand.records.question import PairsAsked, Question


def test_the_defaults_ask_for_the_mad_difference_at_steady_pairs() -> None:
    """Margin 3 mg/dL, tolerance 20, steady common pairs, one look, nothing declared."""
    question = Question("q")
    assert (question.margin, question.tolerance, question.looks) == (3.0, 20, 1)
    assert question.pairs is PairsAsked.STEADY
    assert question.declared is None


@pytest.mark.parametrize(
    "field", [{"margin": 0}, {"margin": -3}, {"tolerance": 25}, {"looks": 0}, {"looks": 4}]
)
def test_questions_that_cannot_be_answered_are_refused(field: dict[str, int]) -> None:
    """A margin of nothing, an unknown tolerance, looks that have no corrected level."""
    with pytest.raises(BadRecord):
        Question("q", **field)  # type: ignore[arg-type]
