"""Safety lines: far off, missed lows, judging sticks alone."""

from __future__ import annotations

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.compare.safety import safety_lines
from evenhand.records.diary import Reason
from evenhand.units import Unit


def lines(value, reading, reason=Reason.PLAN, unit=Unit.MG_DL, stick_unit=None):
    """The codes of one stick beside one reading."""
    at = np.arange(0, DAY, 300)
    stream = {"fern": readings(MIDNIGHT + at, np.full(at.size, reading), unit)}
    made = trial(
        [sensor("Fern")],
        [wear("fern", MIDNIGHT, MIDNIGHT + DAY)],
        [stick(MIDNIGHT + 6 * HOUR, value, reason, stick_unit or unit)],
        stream,
    )
    return safety_lines(made, lay_out(made))


@pytest.mark.parametrize(
    ("value", "reading", "code"),
    [
        (90, 130, "far-off"),
        (90, 129.9, None),
        (200, 280, "far-off"),
        (200, 120, "far-off"),
        (200, 279, None),
        (69, 75, "missed-low"),
        (50, 120, "missed-low"),
        (69, 69, None),
        (70, 75, None),
        (69, 181, "far-off"),
    ],
)
def test_what_is_dangerous(value, reading, code):
    """40 mg/dL off below 100, 40 % from there up; or in range while the finger says low (the low told first)."""
    found = lines(value, reading)
    assert [line.code for line in found] == ([code] if code else [])
    for line in found:
        assert (line.sensor, line.shown, line.stick) == ("Fern", reading, value)
        assert line.at == "2026-03-01T06:00:00+00:00"


def test_lows_go_by_the_unit_recorded():
    """3.9 mmol/L is no low, 3.8 is; a reading of 3.9 is in range (consensus pairs, Battelino 2019)."""
    assert [line.code for line in lines(3.8, 3.9, unit=Unit.MMOL_L)] == ["missed-low"]
    assert lines(3.9, 4.5, unit=Unit.MMOL_L) == ()


@pytest.mark.parametrize("reason", [Reason.PROMPTED, Reason.CALIBRATION])
def test_only_judging_sticks(reason):
    """A prompted stick or a calibration makes no safety line."""
    assert lines(50, 120, reason) == ()


def test_never_without_a_reading():
    """A sensor that showed nothing was not wrong."""
    made = trial([sensor("Fern")], [wear("fern", MIDNIGHT, MIDNIGHT + DAY)], [stick(MIDNIGHT + 6 * HOUR, 50)])
    assert safety_lines(made, lay_out(made)) == ()
