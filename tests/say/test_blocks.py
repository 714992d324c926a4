"""A judgement as blocks, for the terminal."""

from __future__ import annotations

import json
import re

import pytest
from msgspec import structs
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.findings.edge import from_json, to_json
from evenhand.findings.findings import MustHaveFinding
from evenhand.say import safety
from evenhand.say.blocks import Block, judgement
from evenhand.units import Unit


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_line_is_wider_than_the_terminal_and_none_is_framed(name: str):
    """80 columns, no boxes, nothing printed as 'None' or 'nan'."""
    findings, trial = scenario(name)
    for block in judgement(findings, trial.header.unit):
        for line in block.text().splitlines():
            assert len(line) <= 80
            assert not re.search(r"[│┃┌╭═|]|None|nan", line)


@pytest.mark.parametrize("name", SCENARIOS)
def test_sentence_first_safety_last(name: str):
    """The sentence comes first, what was dangerous soon after, what it does not prove after the numbers, safety last."""
    findings, trial = scenario(name)
    kinds = [block.kind for block in judgement(findings, trial.header.unit)]
    assert kinds[0] == "sentence"
    assert ("danger" in kinds) == bool(findings.safety)
    assert kinds[-1] == "safety"


def test_safety_lines_are_all_there():
    """Every safety line is printed with every judgement."""
    findings, trial = scenario("closer")
    assert judgement(findings, trial.header.unit)[-1].lines == safety.CAUTIONS


def test_a_sealed_judgement_shows_coverage_and_nothing_of_who_is_ahead():
    """Sealed: readings and gaps, but no error, no difference, no answer; what was dangerous is shown all the same."""
    findings, trial = scenario("sealed")
    blocks = judgement(findings, trial.header.unit)
    text = "\n".join(block.text() for block in blocks)
    assert "1,629 of 1,715" in text
    assert [block.kind for block in blocks][:3] == ["sentence", "quiet", "danger"]
    assert "Slate showed 104 mg/dL while your finger said 61 mg/dL" in blocks[2].text(200)
    assert not re.search(r"MAD|bias|towards|closer", text)


def test_numbers_are_those_of_the_findings():
    """The main numbers of the terminal are the JSON's, rounded once."""
    findings, trial = scenario("closer")
    again = json.loads(to_json(findings))
    value = again["head_to_head"][0]["difference"]["value"]
    text = "\n".join(block.text(200) for block in judgement(findings, trial.header.unit))
    assert f"{abs(value):.1f} mg/dL towards Fern (95 %: 3.5 to 7.7), n 98" in text
    assert from_json(to_json(findings)) == findings


def test_missing_numbers_are_words():
    """Where nothing can be given, the reason stands in its place."""
    findings, trial = scenario("too-few")
    text = "\n".join(block.text(200) for block in judgement(findings, trial.header.unit))
    assert "not given: too few separate visits to the meter" in text


def test_must_haves_are_told_unmet_first():
    """What ends a choice by itself stands in the judgement, unmet ones first."""
    findings, _ = scenario("closer")
    asked = (
        MustHaveFinding("Fern", "works with my pump", True),
        MustHaveFinding("Slate", "reads on my watch", None),
        MustHaveFinding("Slate", "works with my pump", False),
    )
    (block,) = (
        one
        for one in judgement(structs.replace(findings, must_haves=asked), Unit.MG_DL)
        if one.heading == "Must-haves"
    )
    assert block.lines == (
        "Slate does not have what you must have: works with my pump.",
        "Whether Slate has what you must have is not known yet: reads on my watch.",
        "Fern has what you must have: works with my pump.",
    )


def test_a_block_wraps_labels_and_texts_in_columns():
    """Rows stand in two columns; a long text goes on under itself."""
    text = Block("numbers", "Fern", rows=(("error", "one " * 30), ("n", "3"))).text(60)
    lines = text.splitlines()
    assert lines[0] == "Fern"
    assert lines[1].startswith("  error  one")
    assert lines[2].startswith("         one")
    assert lines[-1] == "  n      3"
