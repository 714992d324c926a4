"""Eligible minutes."""

import numpy as np
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, trial, usual, wear

from evenhand.compare.layout import lay_out
from evenhand.compare.minutes import grid
from evenhand.compare.shapes import Worn


def test_minutes_with_a_reading_near():
    """Worn past warm-up from 1 to 6 h, readings until 3 h and from 4 h on: eligible but for 50 min."""
    at = np.concatenate([np.arange(0, 3 * HOUR + 1, 300), np.arange(4 * HOUR, 6 * HOUR + 1, 300)])
    made = lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + 6 * HOUR)],
            (),
            {"fern": readings(MIDNIGHT + at, np.full(at.size, 100))},
        )
    ).minutes
    assert made.at[0] == MIDNIGHT + HOUR
    assert made.at[-1] == MIDNIGHT + 6 * HOUR
    minute = (made.at - MIDNIGHT) // 60
    assert minute[~made.have[:, 0]].tolist() == list(range(186, 235))
    assert (made.wear == 0).all()
    assert np.isnan(made.reading[~made.have]).all()
    assert (made.reading_level[~made.have] == -1).all()


def test_grid_skips_what_nobody_wore():
    """Whole minutes within any wear, each once, in order; nothing between wears."""
    worn = [Worn(0, 1, 0, 61, 300, True, None), Worn(1, 1, 0, 0, 240, True, None), Worn(0, 2, 900, 960, 1000, True, None), Worn(1, 2, 5, 9000, 600, True, None)]  # fmt: skip
    assert grid(tuple(worn)).tolist() == [0, 60, 120, 180, 240, 300, 960]
    assert grid(()).size == 0


def test_minutes_and_sticks_agree():
    """At a minute where a stick was taken, minute and stick tell the same story."""
    made = lay_out(usual(4))
    row = {int(at): place for place, at in enumerate(made.minutes.at)}
    both = [(place, row[int(at)]) for place, at in enumerate(made.pairs.at) if int(at) in row]
    assert len(both) > 20
    stick, minute = np.array(both).T
    for name in ("slope", "reading", "wear", "reading_level", "age", "left", "part", "day", "night"):
        np.testing.assert_array_equal(getattr(made.pairs, name)[stick], getattr(made.minutes, name)[minute])


def test_days_have_their_minutes():
    """Twenty days, two sensors: every worn minute is there once."""
    made = lay_out(usual(20)).minutes
    assert np.unique(made.at).size == made.at.size
    assert (np.diff(made.at) >= 60).all()
    assert (made.at < MIDNIGHT + 20 * DAY).all()
