"""The meter span: recomputed sticks by hand, and its ends."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from tests.compare.making import usual

from evenhand.compare.common import Terms, primary
from evenhand.compare.head_to_head import difference
from evenhand.compare.layout import lay_out
from evenhand.compare.span import STEPS, answers, meter_span
from evenhand.stats.decision import NOT_SETTLED, Confidence
from evenhand.units import Glucose, Unit

TERMS = Terms(steady=True, margin=3.0, tolerance=20, scatter=5.0, levels=Confidence())


@pytest.fixture(scope="module")
def made():
    """A trial of 20 days."""
    return usual(seed=4)


def rescaled(trial, percent):
    """The trial with every stick divided by 1 + percent/100, written as the meter would not: unrounded."""
    factor = 1 + percent / 100
    sticks = tuple(
        replace(each, glucose=Glucose(each.glucose.value / factor, Unit.MG_DL, "", each.glucose.beyond))
        for each in trial.sticks
    )
    return replace(trial, sticks=sticks)


@pytest.mark.parametrize("percent", [-15.0, -6.5, -0.5, 2.0, 9.0, 15.0])
def test_each_step_is_the_trial_with_other_sticks(made, percent):
    """The answer at x is the one the whole measurement gives on sticks divided by 1 + x."""
    layout = lay_out(made)
    pairs = primary(layout, (0, 1), TERMS)
    told = answers(pairs, TERMS, None)
    again = primary(lay_out(rescaled(made, percent)), (0, 1), TERMS)
    assert told[int(np.flatnonzero(percent == STEPS)[0])] == difference(again, TERMS).verdict


def test_span_ends_where_the_answer_changes(made):
    """Inside the span every step gives the same answer; the next step beyond each end gives another."""
    pairs = primary(lay_out(made), (0, 1), TERMS)
    told = answers(pairs, TERMS, None)
    low, high = meter_span(pairs, TERMS, None)
    ends = (-15 if low is None else low, 15 if high is None else high)
    inside = [ends[0] <= step <= ends[1] for step in STEPS]
    zero = told[30]
    assert all(each == zero for each, held in zip(told, inside, strict=True) if held)
    assert low is None or told[int(np.flatnonzero(low == STEPS)[0]) - 1] != zero
    assert high is None or told[int(np.flatnonzero(high == STEPS)[0]) + 1] != zero
    assert ends[0] <= 0 <= ends[1]


def test_a_meter_off_both_ways_turns_a_small_difference(made):
    """A meter 15 % off either way favours the sensor that is off the same way: the span has ends (method.md, sim:
    a true difference of 0.7 shows as +5.5 or -4.3 with a meter 6 % off)."""
    pairs = primary(lay_out(made), (0, 1), TERMS)
    told = answers(pairs, TERMS, None)
    assert {told[0].sign, told[-1].sign} == {-1, 1}


def test_no_end_where_there_is_too_little(made):
    """Where too little is there to settle anything no meter changes that: no end on either side."""
    pairs = primary(lay_out(made), (0, 1), TERMS)
    assert meter_span(pairs, TERMS, "fewer-than-30-pairs") == (None, None)
    assert set(answers(pairs, TERMS, "fewer-than-30-pairs")) == {NOT_SETTLED}


def test_all_steps_cost_little(made):
    """61 answers on 20 days of sticks take well under a tenth of a second."""
    pairs = primary(lay_out(made), (0, 1), TERMS)
    start = time.process_time()
    meter_span(pairs, TERMS, None)
    assert time.process_time() - start < 0.1
