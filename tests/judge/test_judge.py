"""A whole judgement: sound JSON from any trial, the same each time, fast, and never a crash."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from tests.compare.making import MIDNIGHT, trial, usual
from tests.judge.making import by_sticks as judge
from tests.judge.making import codes, declared, small_trials, sound, twenty_days
from tests.judge.thin import FERN, THIN

from evenhand.findings import CONTRACT, METHOD, edge
from evenhand.records.question import MustHave
from evenhand.rehearse.demo import demo_world
from evenhand.rehearse.invent import invent


@pytest.mark.parametrize("name", THIN)
def test_thin_trials_are_judged(name):
    """However little there is: findings with reasons, never a crash, never a winner."""
    for made in (THIN[name], declared(THIN[name])):
        plain = sound(judge(made))
        assert len(plain["head_to_head"]) == (1 if len(made.sensors) == 2 else 0)
        for each in plain["head_to_head"]:
            if name not in ("no spread at all", "no error at all"):
                assert each["answer"]["state"] == "not settled"
                assert each["to_settle"] is not None


def test_thin_trials_say_why():
    """The reasons are named."""
    assert "no-sticks" in codes(judge(THIN["no sticks"]))
    assert "no-readings" in codes(judge(THIN["no readings"]))
    assert "no-wear" in codes(judge(THIN["two sensors and nothing else"]))
    assert "inferred-wears" in codes(judge(THIN["no wears"]))
    assert "no-judging-sticks" in codes(judge(THIN["only calibrations"]))
    assert "one-sensor" in codes(judge(THIN["one sensor"]))
    assert "few-pairs" in codes(judge(THIN["one stick"]))


def test_no_spread_and_no_error_are_no_win():
    """Two sensors alike to the last digit are never told apart."""
    for name in ("no spread at all", "no error at all"):
        (only,) = judge(THIN[name]).head_to_head
        assert only.answer.who is None
        assert only.difference.value == pytest.approx(0.0)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(small_trials())
def test_any_small_trial_is_judged(made):
    """Random trials of any make: sound JSON, as many answers as pairs of sensors."""
    plain = sound(judge(made))
    sensors = len(made.sensors)
    assert len(plain["sensors"]) == sensors
    assert len(plain["head_to_head"]) == sensors * (sensors - 1) // 2
    assert len(plain["wears"]) >= len(made.wears)


def test_head_of_the_judgement():
    """Version, contract, method, edition, name, span, zone and unit stand at the top."""
    made = replace(twenty_days(), edition="e" * 64)
    plain = sound(judge(made))
    assert (plain["contract"], plain["method"], plain["edition"]) == (CONTRACT, METHOD, "e" * 64)
    assert (plain["trial"], plain["zone"], plain["unit"]) == ("By hand", "Europe/Lisbon", "mg/dL")
    assert plain["span"] == ["2026-03-01T01:00:30+00:00", "2026-03-20T23:56:00+00:00"]
    assert plain["sealed"] is False
    assert plain["reconstruction"] is None
    assert judge(trial([FERN])).span is None


def test_the_same_each_time():
    """The same trial gives the same bytes: nothing depends on chance, order or the hour."""
    made = twenty_days()
    assert edge.to_json(judge(made)) == edge.to_json(judge(made)) == edge.to_json(judge(made, now=MIDNIGHT))


def test_the_edition_and_seed_change_no_number():
    """Edition and seed are labels of a judgement from sticks: no number depends on them."""
    made = twenty_days()
    other = replace(made, edition="x", header=replace(made.header, seed=99))
    one, two = msgspec.to_builtins(judge(made)), msgspec.to_builtins(judge(other))
    assert {key for key in one if one[key] != two[key]} == {"edition"}


def test_order_of_sensors_turns_the_pair():
    """Sensors in the other order: the same answer for the same sensor, the difference with the other sign."""
    made = twenty_days()
    turned = replace(
        made, sensors=tuple(replace(each, place=1 - each.place) for each in reversed(made.sensors))
    )
    (one,), (other,) = judge(made).head_to_head, judge(turned).head_to_head
    assert (one.a, one.b) == (other.b, other.a)
    assert one.difference.value == pytest.approx(-other.difference.value)
    assert one.difference.low == pytest.approx(-other.difference.high)
    assert one.answer == other.answer
    assert one.meter_span_percent == other.meter_span_percent


def test_units_do_not_matter():
    """The same readings and sticks in mmol/L, unrounded: the same numbers in mg/dL."""
    from evenhand.units import Unit

    one, other = judge(usual(days=8, wear_days=8)), judge(usual(days=8, wear_days=8, unit=Unit.MMOL_L))
    assert one.head_to_head[0].difference.value == pytest.approx(other.head_to_head[0].difference.value)
    assert one.sensors[1].accuracy.all.mad.high == pytest.approx(other.sensors[1].accuracy.all.mad.high)


def test_progress_runs_from_nothing_to_done():
    """Progress is told in order, from 0 to 1, in words."""
    told = []
    judge(twenty_days(), progress=lambda share, what: told.append((share, what)))
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(what for _, what in told)


def test_must_haves_go_through():
    """What ends a choice by itself is listed with the sensor's name."""
    made = twenty_days()
    question = replace(made.question, must_haves=(MustHave("fern", "works with my pump", True),))
    (only,) = judge(replace(made, question=question)).must_haves
    assert (only.sensor, only.text, only.met) == ("Fern", "works with my pump", True)


def test_twenty_days_take_a_fraction_of_a_second():
    """20 days, two sensors, 140 sticks: within 0.3 s of computing, once everything is loaded."""
    made = twenty_days()
    judge(made)
    start = time.process_time()
    judge(made)
    assert time.process_time() - start < 0.3


def test_the_demo_is_judged():
    """The demo's own trial gives sound findings with an answer."""
    plain = sound(judge(invent(demo_world(), 1).trial))
    assert plain["head_to_head"][0]["difference"]["low"] is not None


JUDGED_ALONE = """
import sys
from tests.judge.frozen import frozen_trial
from evenhand.judge.judge import judge

found = judge(frozen_trial(), sticks_only=True)
print(found.meter.repeats > 3, found.head_to_head[0].variances.meter.low is not None)
print(*sorted(name for name in sys.modules if name.split(".")[0] in ("scipy", "matplotlib", "rich")))
"""


def test_a_judgement_by_sticks_imports_no_scipy():
    """Nor anything else slow, even with repeats and variances to tell: scipy.special alone costs 0.2 s."""
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", JUDGED_ALONE],
        cwd=root,
        env=os.environ | {"PYTHONPATH": f"{root / 'src'}{os.pathsep}{root}"},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout.splitlines() == ["True True", ""]
