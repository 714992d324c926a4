"""Strays from sticks: two in a row out on the same side, and how they end."""

from __future__ import annotations

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.compare.strays import strays
from evenhand.records.diary import Reason


def found(errors, apart=HOUR, calibrated_at=None, wears=1):
    """Strays of a sensor that reads 100 + error at sticks of 100, `apart` seconds from one to the next."""
    times = [MIDNIGHT + 2 * HOUR + i * apart for i in range(len(errors))]
    grid = np.arange(MIDNIGHT, MIDNIGHT + 2 * DAY, 300)
    nearest = np.abs(grid[:, np.newaxis] - np.array(times)).argmin(axis=1)
    stream = {"fern": readings(grid, 100 + np.array(errors, float)[nearest])}
    sticks = [stick(at, 100, id=f"s{at}") for at in times]
    if calibrated_at is not None:
        sticks.append(stick(MIDNIGHT + calibrated_at, 100, Reason.CALIBRATION, into="fern", id="cal"))
    length = 2 * DAY // wears
    worn = [wear("fern", MIDNIGHT + i * length, MIDNIGHT + (i + 1) * length) for i in range(wears)]
    return strays(lay_out(trial([sensor("Fern")], worn, sticks, stream)), 0, 20)


def test_two_in_a_row_are_a_stray():
    """From the first stick out to the first back inside; size the mean signed error, largest the largest."""
    (one,) = found([0, 30, 50, 0, 0])
    assert (one.start, one.end) == (MIDNIGHT + 3 * HOUR, MIDNIGHT + 5 * HOUR)
    assert (one.size, one.largest, one.ending) == (40.0, 50.0, "alone")
    assert one.wear.number == 1


@pytest.mark.parametrize("errors", [[0, 30, 0, 30, 0], [0, 30, -30, 0], [10, 20, 20, 20], [0, 0, 30]])
def test_what_is_none(errors):
    """One stick alone, two on opposite sides, or anything within tolerance is no stray."""
    assert found(errors) == ()


def test_a_recheck_minutes_later_is_no_second_witness():
    """Two sticks within 20 minutes are one moment."""
    assert found([0, 30, 30, 0], apart=600) == ()
    assert len(found([0, 30, 30, 30, 0], apart=600)) == 1


def test_endings():
    """With the wear where no stick came back inside; after a calibration where one lies between."""
    assert [each.ending for each in found([0, -30, -40])] == ["wear"]
    assert found([0, -30, -40])[0].end is None
    assert [each.ending for each in found([0, 30, 50, 0, 0], calibrated_at=4.5 * HOUR)] == ["calibration"]
    assert [each.ending for each in found([0, 30, 50, 0, 0], calibrated_at=9 * HOUR)] == ["alone"]


def test_a_stray_ends_with_its_wear():
    """Sticks of the next wear neither continue nor end it."""
    long = [30] * 60
    both = found(long, wears=2)
    assert [each.wear.number for each in both] == [1, 2]
    assert [each.ending for each in both] == ["wear", "wear"]
