"""The order in which a judgement is told, and the numbers beside the answer."""

from __future__ import annotations

import pytest
from msgspec import structs
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.findings.findings import ToSettle
from evenhand.say.answer import notes, to_settle
from evenhand.say.blocks import head_rows, judgement, ratio, squares
from evenhand.stats.estimate import Est
from evenhand.units import Unit


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_judgement_opens_with_its_sentence_and_closes_with_safety(name):
    """Sentence, then the quiet line, then what was dangerous; the safety lines end it."""
    findings, trial = scenario(name)
    kinds = [block.kind for block in judgement(findings, trial.header.unit)]
    assert kinds[:2] == ["sentence", "quiet"]
    assert kinds[-1] == "safety"
    assert "danger" not in kinds[3:]


@pytest.mark.parametrize("unit", list(Unit))
def test_mean_squares_and_the_next_ratio_stand_beside_the_answer(unit):
    """Each with its interval; the unit of squares is that of the findings whatever the wearer's."""
    findings, _ = scenario("closer")
    rows = dict(head_rows(findings.head_to_head[0], unit))
    squared = next(text for label, text in rows.items() if label.startswith("mean squares"))
    assert "mg²/dL²" in squared or "not given" in squared
    assert any(label.startswith("next pair") for label in rows)


def test_a_missing_square_or_ratio_says_why():
    """Never a bare dash."""
    assert "not" in squares(Est.missing("no-pairs"))
    assert "not" in ratio(Est.missing("no-wears"))


@pytest.mark.parametrize(
    ("settle", "said"),
    [
        (ToSettle("sticks", 40), "About 40 sticks more"),
        (ToSettle("days", 1), "About 1 day more"),
        (ToSettle("no", None), "No number of further sticks"),
        (ToSettle("days", None), "how many cannot be told yet"),
    ],
)
def test_what_would_settle_it_is_said_in_what_binds(settle, said):
    """Sticks, days, or that no number would."""
    assert said in (to_settle(settle) or "")


def test_what_is_settled_needs_nothing_more():
    """No sentence at all."""
    assert to_settle(None) is None


def test_without_pairs_nothing_is_foretold():
    """A forecast from nothing would be made up."""
    findings, _ = scenario("not-settled")
    empty = structs.replace(findings.head_to_head[0], pairs=0, to_settle=ToSettle("wears", 1))
    told = " ".join(notes(findings, empty, Unit.MG_DL))
    assert "about half" not in told
    assert "nothing yet" in told
