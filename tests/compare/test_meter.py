"""What the trial says of its meter."""

from __future__ import annotations

import math

import pytest
from tests.compare.making import HOUR, MIDNIGHT, sensor, stick, trial

from evenhand.compare.meter import meter_findings, planned_repeats, repeat_sd, scatter_percent
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.units import Beyond


def repeated(pairs, apart=60):
    """A trial with these pairs of values as planned repeats, an hour apart."""
    sticks = []
    for number, (first, second) in enumerate(pairs):
        at = MIDNIGHT + number * HOUR
        sticks.append(stick(at, first, Reason.PLAN, id=f"first{number}"))
        sticks.append(stick(at + apart, second, Reason.PLAN, repeat=True, id=f"second{number}"))
    return trial([sensor("Fern")], sticks=sticks)


def test_repeat_sd_in_percent():
    """sqrt(Σd²/2n) with d in percent of the pair's mean, as in the worked PEFR example's rule (standards 7.8)."""
    pairs = [(100, 104), (200, 192), (150, 150)]
    est = repeat_sd(repeated(pairs))
    percents = [100 * (one - two) / ((one + two) / 2) for one, two in pairs]
    assert est.value == pytest.approx(math.sqrt(sum(d * d for d in percents) / (2 * len(pairs))))
    assert est.n == 3
    assert est.low < est.value < est.high


def test_scatter_needs_ten_repeats():
    """Nine repeats leave 5 %; ten are measured, but never told below 3 %."""
    assert scatter_percent(repeated([(100, 110)] * 9)) == 5.0
    assert scatter_percent(repeated([(100, 110)] * 10)) == pytest.approx(100 * 10 / 105 / math.sqrt(2))
    assert scatter_percent(repeated([(100, 101)] * 10)) == 3.0
    assert scatter_percent(trial([sensor("Fern")])) == 5.0


def test_what_is_no_repeat():
    """Too late, beyond a limit, or the first of all: no repeat."""
    assert list(planned_repeats(repeated([(100, 104)], apart=301))) == []
    assert len(list(planned_repeats(repeated([(100, 104)], apart=300)))) == 1
    alone = trial([sensor("Fern")], sticks=[stick(MIDNIGHT, 100, repeat=True)])
    assert list(planned_repeats(alone)) == []
    beyond = trial(
        [sensor("Fern")],
        sticks=[
            stick(MIDNIGHT, 600, beyond=Beyond.HIGH),
            stick(MIDNIGHT + 60, 600, repeat=True, beyond=Beyond.HIGH),
        ],
    )
    assert list(planned_repeats(beyond)) == []


def test_unwashed_first_sticks_are_no_half_of_a_repeat():
    """Hands found unwashed, marked in time, then washed and pricked again: the difference is not the meter's scatter. A
    mark set later takes nothing out."""
    for early, expected in ((True, 0), (False, 1)):
        sticks = [
            stick(MIDNIGHT, 160, Reason.PLAN, id="first", marks=(Mark(MarkKind.UNWASHED, early=early),)),
            stick(MIDNIGHT + 120, 100, Reason.PLAN, id="second", repeat=True),
        ]
        made = trial([sensor("Fern")], sticks=sticks)
        assert len(list(planned_repeats(made))) == expected
        assert meter_findings(made).repeats == expected
        assert meter_findings(made).sticks == 2


def test_control_solution_and_strip_errors_are_no_sticks():
    """Control checks are listed with whether they fell inside; neither they nor strip errors count as sticks."""
    made = trial(
        [sensor("Fern")],
        sticks=[
            stick(MIDNIGHT, 120, marks=(Mark(MarkKind.CONTROL),), inside=True, id="a"),
            stick(MIDNIGHT + 60, 118, marks=(Mark(MarkKind.CONTROL),), inside=None, id="b"),
            stick(MIDNIGHT + HOUR, 90, marks=(Mark(MarkKind.STRIP_ERROR),), id="c"),
            stick(MIDNIGHT + 2 * HOUR, 100, Reason.HABIT, lot="L2", id="d"),
            stick(MIDNIGHT + 3 * HOUR, 100, Reason.HABIT, lot="L1", id="e"),
            stick(MIDNIGHT + 4 * HOUR, 100, lot="L2", id="f"),
        ],
    )
    found = meter_findings(made)
    assert found.sticks == 3
    assert found.reasons == {"plan": 0, "habit": 2, "prompted": 0, "calibration": 0, "unknown": 1}
    assert [check.inside for check in found.control] == [True, None]
    assert [(lot.lot, lot.sticks) for lot in found.lots] == [("L1", 1), ("L2", 2)]
    assert found.repeats == 0
    assert found.repeat_sd_percent is None
