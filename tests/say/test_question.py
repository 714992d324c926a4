"""The question in plain words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.records.test_declaration import making

from evenhand.desk.answers import KEYS
from evenhand.records.question import Alarm, Driver, Driving, MustHave, Policy, Question
from evenhand.say.question import answers, asked, driver_warning
from evenhand.units import Unit


def told(**more):
    made = making()
    return dict(answers(replace(made, question=replace(made.question, **more))))


@pytest.mark.parametrize("unit", list(Unit))
def test_everything_asked_can_be_answered_by_its_key(unit):
    """Each question names a key that 'declare --set' knows, ends as a question or says what to write, and speaks the wearer's
    unit alone."""
    for one in asked(unit):
        assert one.key in KEYS
        assert "?" in one.text
        other = Unit.MMOL_L if unit is Unit.MG_DL else Unit.MG_DL
        assert str(other) not in one.text
    assert [one.key for one in asked(unit)][:3] == ["tolerance", "margin", "must"]


@pytest.mark.parametrize("unit", list(Unit))
def test_the_trade_word_stands_in_brackets_after_the_plain_one(unit):
    """Tolerance and margin are named once each, after what they mean."""
    texts = " ".join(one.text for one in asked(unit))
    assert "change what you do? (tolerance)" in texts
    assert "make you switch sensors? (margin)" in texts


def test_what_was_not_answered_is_marked_as_a_default():
    """A draft tells the wearer's words from what merely holds; a declaration holds no defaults any more."""
    bare = replace(making(), question=Question("question"))
    rows = dict(answers(bare))
    assert rows["would make you switch (margin)"] == "0.17 mmol/L (default)"
    assert rows["quiet hours"] == "none (default)"
    answered = replace(bare, question=replace(bare.question, answered=("margin",)))
    assert dict(answers(answered))["would make you switch (margin)"] == "0.17 mmol/L"


def test_every_answer_has_its_words():
    """Driver, policy, end, money, alarms, must-haves in each of their states."""
    assert told(driver=Driver(Driving.NOBODY))["drives the insulin"] == "no sensor: you dose by fingersticks"
    assert told(driver=Driver(Driving.WEARER))["drives the insulin"] == "you, by more than one sensor"
    assert told(driver=Driver(Driving.WEARER, "s"))["drives the insulin"] == "you by Slate"
    assert told(driver=Driver(Driving.PUMP, "f"))["drives the insulin"] == "a pump by Fern"
    assert told(policy=Policy.MAKER)["calibrations"] == "as the maker says"
    assert told(end=None)["the end"].startswith("not said: the trial cannot be declared")
    assert told(end=None, end_wears=2)["the end"] == "when 2 wears of each sensor are done"
    assert (
        told(strips=150, strip_price=0.6, money=200.0)["strips"]
        == "150 strips, 0.60 each, at most 200.00 in all, lots L2 and L1"
    )
    assert told(alarm=Alarm(low=72.0, high=252.0, delay=900, silence=3600))["alarm rehearsed"] == (
        "low 4.0 mmol/L, high 14.0 mmol/L, after 15 min, then silent for 60 min (default)"
    )
    met = (MustHave("f", "a", met=True), MustHave("s", "a", met=False), MustHave("s", "b"))
    assert told(must_haves=met)["must-haves"] == "Fern: a (met); Slate: a (NOT met); Slate: b (not known yet)"


def test_who_acts_on_a_sensor_is_warned():
    """A pump, or the wearer; nobody acts, nobody is warned."""
    made = making()
    assert "without your care team" in driver_warning(made)
    assert "A fingerstick decides" in driver_warning(
        replace(made, question=replace(made.question, driver=Driver(Driving.WEARER)))
    )
    for driver in (None, Driver(Driving.NOBODY)):
        assert driver_warning(replace(made, question=replace(made.question, driver=driver))) is None
