"""Time in range by the reconstruction."""

from __future__ import annotations

import numpy as np
import pytest
from tests.compare.paths import doubtful, exact

from evenhand.compare.path_ranges import path_ranges
from evenhand.compare.ranges import gmi

BLOOD = np.concatenate(
    (np.full(50, 50.0), np.full(50, 65.0), np.full(300, 120.0), np.full(60, 200.0), np.full(40, 300.0))
)
EVERY = np.ones(BLOOD.size, np.bool_)


def test_known_blood_gives_plain_shares() -> None:
    """10, 10, 60, 12 and 8 percent, mean and GMI of the same values; intervals closed."""
    shown, shares = path_ranges(exact(BLOOD), EVERY)
    told = (shown.below_54, shown.share_54_69, shown.share_70_180, shown.share_181_250, shown.above_250)
    assert told == pytest.approx((10.0, 10.0, 60.0, 12.0, 8.0))
    assert shown.mean == pytest.approx(BLOOD.mean())
    assert shown.gmi == pytest.approx(gmi(BLOOD.mean()))
    assert shown.days == pytest.approx(BLOOD.size * 5 / 1440)
    assert [est.value for est in shares] == pytest.approx([20.0, 60.0, 20.0])
    assert all(est.low == pytest.approx(est.high) for est in shares)


def test_only_what_was_chosen_counts() -> None:
    """Instants where no sensor was reading are left out, and the share of readings says how many."""
    chosen = EVERY.copy()
    chosen[:100] = False
    shown, shares = path_ranges(exact(BLOOD), chosen)
    assert shown.below_54 == 0.0
    assert shares[0].value == 0.0
    assert shown.share_of_readings == pytest.approx(80.0)


def test_doubt_widens_the_interval() -> None:
    """Blood around the limit within 5 mg/dL: half below in the mean, and an interval from nothing to all."""
    flat = np.full(100, 70.0)
    _, (below, _, _) = path_ranges(doubtful(flat, 0.05), np.ones(100, np.bool_))
    assert below.value == pytest.approx(50.0, abs=8.0)
    assert (below.low, below.high) == (0.0, 100.0)


def test_nothing_chosen_nothing_told() -> None:
    """Without an instant every number is missing with its reason."""
    shown, shares = path_ranges(exact(BLOOD), np.zeros(BLOOD.size, np.bool_))
    assert shown.mean is None
    assert {est.why for est in shares} == {"no-data"}
