"""The minutes that could have been judged, against plain loops."""

import numpy as np
import pytest

from evenhand.rehearse.eligible import beside, eligible


def readings(seed, step, size=80):
    rng = np.random.default_rng(seed)
    kept = np.sort(rng.permutation(size)[: int(size * 0.8)])
    return kept * step * 60 + 17, 120 + np.cumsum(rng.normal(0, 3, kept.size))


def loop(at, instant, value, interval, limit):
    """The rule, minute by minute, with numpy's least squares as the outside reference."""
    near, slopes = [], []
    for moment in at:
        apart = np.abs(instant - moment)
        best = int(np.argmin(apart))
        near.append(value[best] if apart[best] <= limit else np.nan)
        window, least = (1800, 2) if interval >= 15 else (900, 3)
        inside = (instant >= moment - window) & (instant <= moment)
        known = inside.sum() >= least
        slopes.append(np.polyfit(instant[inside] / 60, value[inside], 1)[0] if known else np.nan)
    return np.array(near), np.array(slopes)


@pytest.mark.parametrize(("interval", "limit"), [(5, 300.0), (1, 300.0), (15, 450.0)])
def test_beside_is_the_rule_minute_by_minute(interval, limit):
    """Nearest reading and slope agree with the loop at every minute, gaps and ends included."""
    instant, value = readings(3, interval)
    at = np.arange(-1200, instant[-1] + 1800, 60)
    side = beside(at, instant, value, interval, limit)
    near, slopes = loop(at, instant, value, interval, limit)
    assert np.allclose(side.reading, near, equal_nan=True)
    assert np.allclose(side.slope, slopes, equal_nan=True, atol=1e-8)


def test_no_readings_no_minutes():
    """A sensor without readings makes nothing eligible."""
    at = np.arange(0, 6000, 60)
    empty = beside(at, np.empty(0, np.int64), np.empty(0), 5, 300.0)
    assert not eligible((empty,), np.ones(at.size, bool), steady=False).any()


def test_eligible_needs_all_sensors_and_steadiness():
    """Both have a reading; steady means a mean slope under 1 mg/dL per minute, over those that have one."""
    at = np.arange(0, 7200, 60)
    instant = np.arange(0, 7200, 300)
    flat = beside(at, instant, np.full(24, 120.0), 5, 300.0)
    steep = beside(at, instant, 120 + 1.5 * instant / 60, 5, 300.0)
    steeper = beside(at, instant, 120 + 2.5 * instant / 60, 5, 300.0)
    hours = np.ones(at.size, bool)
    assert eligible((flat, steep), hours, steady=True)[20:].all()
    assert not eligible((flat, steeper), hours, steady=True).any()
    assert eligible((flat, steeper), hours, steady=False).all()
    assert not eligible((flat, steep), ~hours, steady=False).any()


def test_unknown_movement_is_not_steady():
    """Two readings are too few for a slope: in 'all', not in 'steady'."""
    at = np.arange(0, 600, 60)
    side = beside(at, np.array([0, 300]), np.array([120.0, 121.0]), 5, 300.0)
    hours = np.ones(at.size, bool)
    assert eligible((side,), hours, steady=False).all()
    assert not eligible((side,), hours, steady=True).any()


def test_a_slope_of_exactly_one_is_moving():
    """Whole-number readings that rise by 5 every 5 min are not steady, late in a long trial either, where
    rounding errors have gathered."""
    instant = np.arange(0, 40 * 86_400, 300) + 1_770_000_000
    value = 100.0 + 5.0 * (np.arange(instant.size) % 40)
    at = instant[instant.size - 30 : instant.size - 5] + 60
    side = beside(at, instant, value, 5, 300.0)
    exact = np.abs(side.slope - 1.0) < 1e-6
    assert exact.any()
    assert not eligible((side,), np.ones(at.size, bool), steady=True)[exact].any()
