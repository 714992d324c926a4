"""Alarms against known blood: true, false, announced, and how long before."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compare.making import MIDNIGHT
from tests.compare.paths import STEP, doubtful, exact, own

from evenhand.compare.alarms import Sounded
from evenhand.compare.alarms_between import announced, between, covered, lows_of, over_draws

N = 288


def blood(*lows: tuple[int, int]) -> np.ndarray:
    values = np.full(N, 110.0)
    for first, after in lows:
        values[first:after] = 60.0
    return values


def alarms(*places: tuple[int, int]) -> Sounded:
    return Sounded(
        np.array([MIDNIGHT + STEP * first for first, _ in places], np.int64),
        np.array([MIDNIGHT + STEP * last for _, last in places], np.int64),
    )


def asked(path, sounded, *, acted=None, night=None, nights=1.0):
    none = np.zeros(len(sounded), np.bool_)
    return between(
        sounded,
        own(np.full(N, 110.0)),
        path,
        70.0,
        none if acted is None else acted,
        (none if night is None else night, nights),
    )


def test_known_blood_tells_true_from_false() -> None:
    """One alarm in a low, one within 15 min of it, one far from any: two of three true."""
    told = asked(exact(blood((50, 60))), alarms((52, 58), (62, 63), (150, 155)))
    assert told.chance.tolist() == [1.0, 1.0, 0.0]
    assert told.true_rate.value == pytest.approx(200 / 3)
    assert told.true_rate.low == told.true_rate.high == pytest.approx(200 / 3)


def test_false_ones_at_night_are_counted_by_the_night() -> None:
    """Two false at night over four nights: one half; by day they are not counted."""
    night = np.array([True, True, False])
    told = asked(exact(blood()), alarms((50, 51), (100, 101), (150, 151)), night=night, nights=4.0)
    assert told.false_per_night.value == pytest.approx(0.5)
    assert asked(exact(blood()), alarms((50, 51)), nights=0.0).false_per_night.why == "no-nights"


def test_acted_on_is_false_in_no_draw() -> None:
    """A treated alarm without a low counts neither way; with one it was true."""
    acted = np.array([True, True])
    told = asked(exact(blood((50, 60))), alarms((52, 58), (150, 151)), acted=acted, night=acted)
    assert told.true_rate.value == 100.0
    assert told.false_per_night.value == 0.0


def test_minutes_of_warning() -> None:
    """Three readings before blood crossed: 15 min of warning; two after: 10 min too late."""
    before = asked(exact(blood((50, 60))), alarms((47, 58)))
    after = asked(exact(blood((50, 60))), alarms((52, 58)))
    assert before.warning.value == pytest.approx(15.0)
    assert after.warning.value == pytest.approx(-10.0)
    assert before.detection.value == 100.0


def test_an_alarm_still_going_on_announces() -> None:
    """An event that began long before and still lasts when blood crosses is a warning as long as that."""
    told = asked(exact(blood((50, 60))), alarms((30, 58)))
    assert told.warning.value == pytest.approx(100.0)


def test_a_low_without_an_alarm_is_missed() -> None:
    """Of two lows one is announced: one half."""
    told = asked(exact(blood((50, 60), (150, 160))), alarms((50, 58)))
    assert told.detection.value == pytest.approx(50.0)
    assert told.lows.value == 2.0


def test_no_alarm_and_no_low_say_so() -> None:
    """Rates of nothing are missing, with the reason."""
    told = asked(exact(blood()), alarms())
    assert told.true_rate.why == "no-alarms"
    assert told.detection.why == "no-lows"
    assert told.warning.why == "no-lows"
    assert told.false_per_night.value == 0.0
    assert told.chance.size == 0


def test_doubt_becomes_a_probability() -> None:
    """With blood at 72 within 5, an alarm was true with the probability that the normal gives."""
    from scipy.stats import norm

    path = doubtful(np.full(N, 72.0), 0.05, draws=4000)
    told = asked(path, alarms((100, 101)))
    assert told.chance[0] == pytest.approx(norm.cdf(-0.4), abs=0.025)


def test_fifteen_minutes_make_a_low() -> None:
    """Three readings below span 10 min: no low; four do. A low outside what was covered is none."""
    everywhere = np.ones(N, np.bool_)
    assert lows_of(exact(blood((50, 53)), draws=1), 70.0, everywhere).start.size == 0
    found = lows_of(exact(blood((50, 54)), draws=2), 70.0, everywhere)
    assert found.draw.tolist() == [0.0, 1.0]
    assert found.start[0] == MIDNIGHT + 50 * STEP
    assert found.end[0] == MIDNIGHT + 53 * STEP
    nowhere = everywhere.copy()
    nowhere[40:60] = False
    assert lows_of(exact(blood((50, 54))), 70.0, nowhere).start.size == 0


def test_covered_is_near_a_reading() -> None:
    """Within 15 min of a reading; nothing is covered without readings."""
    path = exact(blood())
    readings = own(np.full(10, 110.0))
    found = covered(readings, path)
    assert found[:13].all()
    assert not found[13:].any()
    assert not covered(own(np.empty(0)), path).any()


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(0, 280), max_size=6, unique=True),
    st.lists(st.integers(0, 270), max_size=4, unique=True),
)
def test_laws_of_any_alarms(at: list[int], lows: list[int]) -> None:
    """Rates lie between 0 and 100; a low is announced only by an alarm that sounded before its end."""
    path = exact(blood(*((low, low + 8) for low in lows)), draws=3)
    sounded = alarms(*((place, place) for place in sorted(at)))
    told = asked(path, sounded)
    for est in (told.true_rate, told.detection):
        assert est.value is None or 0.0 <= est.low <= est.value <= est.high <= 100.0
    found = lows_of(path, 70.0, np.ones(N, np.bool_))
    heard, before = announced(found, sounded)
    for start, end, is_heard, minutes in zip(found.start, found.end, heard, before, strict=True):
        near = [one for one in sounded.at if start - 900 <= one <= end]
        assert is_heard == bool(near)
        if near:
            assert minutes == pytest.approx((start - near[0]) / 60)


def test_over_draws() -> None:
    """Mean and percentiles of what the draws say; where fewer than half say anything there is nothing."""
    est = over_draws(np.arange(101.0), 5, "no-lows")
    assert (est.value, est.low, est.high, est.n) == (50.0, 2.5, 97.5, 5)
    assert over_draws(np.array([np.nan, np.nan, 1.0]), 1, "no-lows").why == "no-lows"
    assert over_draws(np.array([np.nan, 1.0]), 1, "no-lows").value == 1.0
    skewed = over_draws(np.concatenate((np.zeros(99), [100.0])), 1, "x")
    assert skewed.low <= skewed.value <= skewed.high
