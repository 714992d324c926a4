"""Whose margin it is: the wearer's own only where it was declared."""

import pytest
from msgspec import structs
from tests.support.fake_findings import scenario

from evenhand.charts.balance import balance
from evenhand.say import how
from evenhand.say.answer import answer
from evenhand.say.blocks import judgement
from evenhand.say.margin import named, owner, purpose
from evenhand.units import Unit


def undeclared(name, margin=3.0):
    """A judgement of a trial in which nothing was declared."""
    findings, trial = scenario(name)
    primary = structs.replace(
        findings.primary, declared=None, standing="undeclared", fingerprint=None, margin=margin
    )
    return structs.replace(findings, primary=primary), trial


@pytest.mark.parametrize("unit", list(Unit))
@pytest.mark.parametrize("name", ["closer", "closer-open", "equal", "equal-but-closer"])
def test_an_undeclared_margin_is_never_the_wearers(name, unit):
    """Neither the sentence nor any block nor the method's fold calls it theirs or says that it would make them switch."""
    findings, _ = undeclared(name)
    text = " ".join(
        [
            *answer(findings, unit),
            *how.how(findings, unit),
            *(block.text() for block in judgement(findings, unit)),
        ]
    )
    assert "your margin" not in text
    assert "for your purpose" not in text
    assert "that would make you switch" not in " ".join(answer(findings, unit))
    assert "the default margin" in answer(findings, unit)[0]


def test_a_draft_margin_is_undeclared_and_no_default():
    """Written down but not declared, and not the usual one: neither 'your' nor 'default'."""
    findings, _ = undeclared("closer", 5.0)
    assert "the undeclared margin of 5 mg/dL" in answer(findings, Unit.MG_DL)[0]
    assert owner(findings.primary) == "the undeclared margin"
    assert purpose(findings.primary) == "by the undeclared margin"


def test_a_declared_margin_is_the_wearers():
    """Declared, it is what would make them switch."""
    findings, _ = scenario("closer")
    assert named(findings.primary, Unit.MMOL_L) == "the 0.17 mmol/L that would make you switch"
    assert owner(findings.primary) == "your margin"
    assert purpose(findings.primary) == "for your purpose"


def test_the_picture_says_whose_margin_it_is():
    """The pale band around zero is labelled by the same rule."""
    places = {"Fern": 0, "Slate": 1}
    for (findings, _), words in (
        (undeclared("closer"), "the default margin, 3 mg/dL"),
        (scenario("closer"), "your margin, 3 mg/dL"),
    ):
        said = [
            text.get_text()
            for axes in balance(findings, places, Unit.MG_DL).figure.axes
            for text in axes.texts
        ]
        assert any(words in one.replace("\n", " ") for one in said), said


@pytest.mark.parametrize("name", ["closer", "equal", "not-settled", "sealed", "three"])
def test_mg_dl_never_stands_alone_for_a_reader_of_mmol(name):
    """In a judgement told in mmol/L, every mg/dL has its mmol/L beside it."""
    import re

    findings, _ = scenario(name)
    text = " ".join(" ".join(block.text().split()) for block in judgement(findings, Unit.MMOL_L))
    text = re.sub(r"[\d.]+ mg/dL \([\d.]+ mmol/L\)", "", text)
    assert "mg" not in re.sub(r"mmol", "", text).replace("mmol", ""), text[max(text.find("mg") - 80, 0) :][
        :200
    ]
