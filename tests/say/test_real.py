"""Sentences from real judgements of trials that hold too little, or anything at all; not from made-up findings."""

from __future__ import annotations

import re
from functools import lru_cache

import pytest
from hypothesis import HealthCheck, given, settings
from tests.judge.frozen import frozen_trial
from tests.judge.making import by_sticks as judge
from tests.judge.making import declared, small_trials
from tests.judge.thin import THIN

from evenhand.say import accuracy, fates, headings, meter, proof, quiet, ranges
from evenhand.say.answer import answer
from evenhand.say.blocks import judgement
from evenhand.say.how import how
from evenhand.say.mind import minded
from evenhand.units import Unit

RAW = re.compile(r"\bnan\b|\binf\b|\bNone\b(?! of \d)|[{}]|Est\(|\b(True|False)\b")


@lru_cache(maxsize=64)
def judged(name: str):
    """A thin trial's judgement; 'frozen' is the frozen trial's."""
    return judge(frozen_trial() if name == "frozen" else THIN[name])


def every_word(findings, unit):
    """All that any page says of a judgement, part by part."""
    tables = (
        *accuracy.split_lines(findings, unit), *accuracy.phase_lines(findings, unit), *accuracy.day_lines(findings, unit),
        *accuracy.wear_lines(findings, unit), *accuracy.level_lines(findings, unit),
        *accuracy.level_lines(findings, unit, by="by_sensor"), *ranges.range_lines(findings, unit),
    )  # fmt: skip
    yield from answer(findings, unit)
    yield from quiet.quiet_line(findings)
    yield from (block.text() for block in judgement(findings, unit))
    yield from (f"{line.label}: {' | '.join(line.cells)}" for line in tables)
    yield from how(findings, unit)
    yield from proof.does_not_prove(findings)
    yield proof.body(findings)
    yield from meter.known(findings.meter)
    yield meter.span_title(findings)
    yield from (text for head in findings.head_to_head for row in meter.apart(head, unit) for text in row)
    yield from (
        " ".join((one.sensor, one.inserted, one.worn, one.ending, one.lot)) for one in fates.fates(findings)
    )
    yield fates.fate_title(findings)
    yield fates.coverage_title(findings)
    yield from (
        make(findings)
        for make in (headings.phase_title, headings.day_title, headings.level_title, headings.looked)
    )
    yield headings.traces_title(findings, unit)
    yield from (headings.balance_title(head, unit) for head in findings.head_to_head)


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("name", ["frozen", *THIN])
def test_no_value_and_no_code_is_left_raw(name, unit):
    """However little there is, every part is words and numbers: no None, no nan, no reason as its code."""
    codes = re.compile(
        r"\b(few-visits|no-data|no-pairs|no-wears|one-wear|two-wears|not-defined|too-few[a-z-]*|no-spread)\b"
    )
    for said in every_word(judged(name), unit):
        assert said.strip()
        assert not RAW.search(said), said
        assert not codes.search(said), said


@pytest.mark.parametrize("name", THIN)
def test_a_thin_trial_is_answered_in_one_sentence(name):
    """One sentence about these wears and the next sensor, whatever is missing."""
    (said, *more) = answer(judged(name), Unit.MG_DL)
    assert not more
    assert "these wears" in said
    assert "next" in said
    assert said.endswith(".")


@pytest.mark.parametrize("name", ["frozen", *THIN])
def test_every_caution_is_said_once(name):
    """In sight or in the fold, none lost, none twice."""
    findings = judged(name)
    seen, folded = minded(findings)
    assert sorted((*seen, *folded)) == sorted(each.text for each in findings.cautions)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(small_trials())
def test_any_small_trial_can_be_told(made):
    """Random trials, declared and not: 80 columns, nothing raw, safety last, what was dangerous right under the answer."""
    findings = judge(made)
    for unit in Unit:
        blocks = judgement(findings, unit)
        assert blocks[-1].kind == "safety"
        assert blocks[0].kind == "sentence"
        assert (blocks[2].kind == "danger") is bool(findings.safety)
        for block in blocks:
            text = block.text()
            assert not RAW.search(text), text
            assert all(len(line) <= 80 for line in text.splitlines()), text


@pytest.mark.parametrize("name", [name for name, made in THIN.items() if len(made.sensors) == 2])
def test_a_sealed_trial_tells_nothing_of_who_is_ahead(name):
    """Declared with an end in the future: no difference, no error, no share within tolerance, in any sentence."""
    findings = judge(declared(THIN[name], end_wears=99))
    assert findings.sealed
    said = " ".join(block.text() for block in judgement(findings, Unit.MG_DL))
    for word in ("average error", "agreement", "MARD", "MAD", "right and present", "towards"):
        assert word not in said
    assert "sealed" in said
