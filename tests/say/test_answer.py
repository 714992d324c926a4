"""The answer in one sentence, in every state."""

from __future__ import annotations

import pytest
from msgspec import structs
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.findings.findings import Answer, AnsweredDifference, ChanceNext, ToSettle
from evenhand.say import answer as say
from evenhand.stats.estimate import Est
from evenhand.units import Unit

STATES = [name for name in SCENARIOS if name not in ("sealed", "one")]


@pytest.mark.parametrize("name", STATES)
def test_every_answer_names_these_wears_your_meter_and_the_next_sensor(name: str):
    """Whatever was found: these wears, your meter, the wearer's names, and what follows, in one sentence."""
    findings, trial = scenario(name)
    first = say.answer(findings, trial.header.unit)[0]
    assert first.startswith("On these wears, ")
    assert "your meter" in first
    assert "next" in first
    assert first.count(". ") == 0
    assert first.endswith(".")
    head = findings.head_to_head[0]
    assert head.a in first
    assert head.b in first


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_answer_claims_more_than_closeness(name: str):
    """Nothing is 'accurate', 'better' or 'reliable'; no sensor is A or B."""
    findings, trial = scenario(name)
    words = set(" ".join(say.answer(findings, trial.header.unit)).replace(",", " ").replace(".", " ").split())
    assert not words & {"accurate", "better", "best", "reliable", "winner", "A", "B"}


@pytest.mark.parametrize("name", STATES)
def test_closer_is_said_in_full_the_first_time(name: str):
    """The first 'closer' or 'close' on a page is to your meter."""
    findings, trial = scenario(name)
    first = say.answer(findings, trial.header.unit)[0]
    at = first.find("close")
    assert first[at:].startswith(("closer to your meter", "close to your meter"))


def test_the_four_answers():
    """Closer by more than the margin, closer with the margin open, equal, and not settled each have their words."""
    said = {name: say.answer(*_with_unit(name))[0] for name in STATES}
    assert "by more than the 3 mg/dL that would make you switch" in said["closer"]
    assert "(whether by more than the 3 mg/dL that would make you switch is open)" in said["closer-open"]
    assert "Slate was closer to your meter than Fern" in said["closer-open"]
    assert "equally close to your meter for your purpose: less than 3 mg/dL apart" in said["equal"]
    assert (
        "Fern was closer to your meter than Slate, but by less than the 3 mg/dL" in said["equal-but-closer"]
    )
    assert "it is not settled whether Fern or Slate was closer to your meter" in said["not-settled"]
    assert "0.17 mmol/L" in said["mmol"]


def _with_unit(name: str):
    findings, trial = scenario(name)
    return findings, trial.header.unit


def test_an_answer_that_turns_says_so_in_the_same_sentence():
    """All pairs that point the other way than steady pairs are admitted in the sentence."""
    findings, unit = _with_unit("not-settled")
    assert "(with all sticks, moving ones included, it points the other way)" in say.answer(findings, unit)[0]


def test_mean_squares_that_turn_are_admitted():
    """So are mean squares."""
    findings, unit = _with_unit("closer")
    head = structs.replace(findings.head_to_head[0], mean_square_difference=Est(40.0, -3.0, 90.0))
    assert "(when large errors count more, it points the other way)" in say.sentence(
        head, findings.primary, unit
    )


def test_three_sensors_get_three_sentences_and_a_declared_pair_one():
    """Without a declared pair every pair has its sentence; with one, only that."""
    findings, unit = _with_unit("three")
    assert [line.startswith("On the same wears") for line in say.answer(findings, unit)] == [
        False,
        True,
        True,
    ]
    asked = structs.replace(findings.primary, pair=("Birch", "Slate"))
    (only,) = say.answer(structs.replace(findings, primary=asked), unit)
    assert "Slate" in only
    assert "Birch" in only
    assert "Fern" not in only


def test_a_sealed_trial_gives_nothing_away():
    """The sealed sentence says until when, and no sensor's name."""
    findings, unit = _with_unit("sealed")
    (said,) = say.answer(findings, unit)
    assert "sealed until 22 March 2026" in said
    assert "Fern" not in said
    assert "Slate" not in said


def test_one_sensor_is_measured_but_not_compared():
    """With one sensor the sentence gives its error with the interval."""
    findings, unit = _with_unit("one")
    (said,) = say.answer(findings, unit)
    assert "Fern was 9.8 mg/dL (95 %: 8.1 to 11.5) from your meter on average" in said


def test_no_chance_is_ever_said_above_85_percent():
    """A chance beyond 85 % is said as 85 %."""
    assert (
        say.chance_words(ChanceNext("Fern", 0.93, (0.8, 0.97), None))
        == "about 85 % (80 to 85 % under other assumptions of how wears differ)"
    )
    assert say.chance_words(ChanceNext("Fern", 0.93, (0.9, 0.97), None)) == "about 85 %"


def test_what_would_settle_it():
    """Sticks, days, wears, or nothing at all."""
    assert (
        say.to_settle(ToSettle("sticks", 110))
        == "About 110 sticks more, declared beforehand, would settle it in about four of five such trials, if the true difference is the one seen here."
    )
    assert (
        say.to_settle(ToSettle("days", 1))
        == "About 1 day more, declared beforehand, would settle it in about four of five such trials, if the true difference is the one seen here."
    )
    assert "how many cannot be told" in (say.to_settle(ToSettle("wears", None)) or "")
    assert "No number of further sticks" in (say.to_settle(ToSettle("no", None)) or "")
    assert say.to_settle(None) is None


def test_marks_set_later_and_calibrations_stand_beside():
    """A result that hangs on marks set later, or on calibrations, is told with its own answer."""
    findings, unit = _with_unit("closer")
    other = AnsweredDifference(Est(-1.0, -4.0, 2.0), Answer("not settled", None, None))
    head = structs.replace(findings.head_to_head[0], with_marked=other, uncalibrated=other)
    said = " ".join(say.notes(findings, head, unit))
    assert "marked afterwards the answer is another: not settled" in said
    assert (
        "From uncalibrated stretches alone: not settled, 1.0 mg/dL towards Fern (95 %: 4.0 towards Fern to 2.0 towards Slate)"
        in said
    )


def test_leaning_names_the_side_of_each_end():
    """A reader need not know which sensor was subtracted from which."""
    assert (
        say.leaning(Est(0.31, -1.3, 1.9), "Fern", "Slate", Unit.MG_DL)
        == "0.3 mg/dL towards Slate (95 %: 1.3 towards Fern to 1.9 towards Slate)"
    )
    assert say.leaning(Est(0.0, -1.0, 1.0), "Fern", "Slate", Unit.MG_DL).startswith("0.0 mg/dL (")
    assert say.leaning(Est.missing("few-visits"), "Fern", "Slate", Unit.MG_DL).startswith("not given")
