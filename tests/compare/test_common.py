"""Common pairs: which sticks count, by which stretch, and what is asked of them."""

from __future__ import annotations

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, usual, wear

from evenhand.compare.common import Terms, asked, common, primary
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Reason
from evenhand.stats.decision import Confidence

TERMS = Terms(steady=False, margin=3.0, tolerance=20, scatter=5.0, levels=Confidence())


def flat(days=4, gap=None, calibrated=(), wears=1):
    """Two sensors at a constant 110 and 95 beside sticks of 100 every 6 h; `gap` is a stretch without Slate."""
    at = np.arange(0, days * DAY, 300)
    streams = {"fern": readings(MIDNIGHT + at, np.full(at.size, 110.0))}
    kept = at if gap is None else at[(at < gap[0]) | (at >= gap[1])]
    streams["slate"] = readings(MIDNIGHT + kept, np.full(kept.size, 95.0))
    length = days * DAY // wears
    worn = [
        wear(name, MIDNIGHT + i * length, MIDNIGHT + (i + 1) * length - 60)
        for name in streams
        for i in range(wears)
    ]
    sticks = [stick(MIDNIGHT + when, 100) for when in range(2 * HOUR, days * DAY, 6 * HOUR)]
    sticks += [stick(MIDNIGHT + when, 100, reason=Reason.CALIBRATION, into="fern") for when in calibrated]
    return trial([sensor("Fern"), sensor("Slate", 1)], worn, sticks, streams)


def test_errors_are_reading_minus_stick():
    """Both errors at each common pair, and how much farther the first was off."""
    pairs = primary(lay_out(flat()), (0, 1), TERMS)
    assert set(pairs.error_a) == {10.0}
    assert set(pairs.error_b) == {-5.0}
    assert set(pairs.farther) == {5.0}
    assert pairs.days == 4


def test_a_gap_of_one_takes_the_stick_from_both():
    """Where one sensor has a gap the stick is common to nobody."""
    whole, holed = (primary(lay_out(flat(gap=gap)), (0, 1), TERMS) for gap in (None, (DAY, 2 * DAY)))
    assert whole.stick.size - holed.stick.size == 4


def test_stretches_name_their_wears():
    """Each stretch is told by the two wears that ran in it."""
    layout = lay_out(flat(wears=2))
    pairs = primary(layout, (0, 1), TERMS)
    numbers = [
        tuple(layout.worn[wear].number for wear in pairs.worn(label)) for label in np.unique(pairs.stretch)
    ]
    assert numbers == [(1, 1), (2, 2)]


def test_before_calibrations_only():
    """With `uncalibrated` what follows a calibration of either sensor leaves, sticks and minutes alike."""
    layout = lay_out(flat(calibrated=(2 * DAY + 60,)))
    every = asked(layout, (0, 1), TERMS)
    early = asked(layout, (0, 1), Terms(**{**_fields(TERMS), "uncalibrated": True}))
    assert layout.pairs.at[early.pairs].max() < MIDNIGHT + 2 * DAY + 60 < layout.pairs.at[every.pairs].max()
    assert layout.minutes.at[early.minutes].max() <= MIDNIGHT + 2 * DAY + 60


def test_steady_is_a_part_of_all():
    """Steady pairs are among all pairs, and fewer where glucose moves."""
    layout = lay_out(usual(days=6, wear_days=6))
    steady = asked(layout, (0, 1), Terms(**{**_fields(TERMS), "steady": True}))
    every = asked(layout, (0, 1), TERMS)
    assert not (steady.pairs & ~every.pairs).any()
    assert 0 < steady.pairs.sum() < every.pairs.sum()


def test_swapping_the_sensors_turns_the_difference():
    """b minus a is the negative of a minus b, pair by pair and in the weighted mean."""
    layout = lay_out(usual())
    one, other = primary(layout, (0, 1), TERMS), primary(layout, (1, 0), TERMS)
    assert one.farther == pytest.approx(-other.farther)
    assert one.visits.mean(one.farther).value == pytest.approx(-other.visits.mean(other.farther).value)


def test_no_sticks_at_all():
    """Without sticks there are no pairs, no days and nothing counts."""
    layout = lay_out(trial([sensor("Fern"), sensor("Slate", 1)]))
    pairs = common(layout, asked(layout, (0, 1), TERMS))
    assert pairs.stick.size == pairs.days == pairs.counted.size == 0


def _fields(terms):
    return {name: getattr(terms, name) for name in terms.__slots__}
