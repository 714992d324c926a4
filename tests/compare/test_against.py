"""Errors against a reconstruction: exact where blood is known, the expectation where it is not, and the check without."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm
from tests.compare.making import MIDNIGHT, usual
from tests.compare.paths import doubtful, exact, own

from evenhand.compare.accuracy import within
from evenhand.compare.against import (
    WIDENED,
    against,
    against_without,
    chance_outside,
    held,
    inside,
    nothing,
)
from evenhand.compare.layout import lay_out
from evenhand.reconstruct.scale import even, mg_dl

RNG = np.random.default_rng(5)
BLOOD = 120.0 + 50.0 * np.sin(np.arange(600) / 20.0)


def every(readings):
    return [np.ones(len(readings), np.bool_)]


def test_known_blood_gives_the_plain_errors() -> None:
    """Without doubt the four numbers are the means anyone would take by hand, and the intervals close on them."""
    shown = BLOOD + RNG.normal(6.0, 12.0, BLOOD.size)
    (told,) = against(own(shown), exact(BLOOD), 20.0, every(shown))
    error = shown - BLOOD
    out = np.abs(error) > np.where(BLOOD < 100.0, 20.0, 0.2 * BLOOD)
    assert told.bias.value == pytest.approx(error.mean(), abs=1e-9)
    assert told.mad.value == pytest.approx(np.abs(error).mean(), abs=1e-9)
    assert told.mard.value == pytest.approx(100 * (np.abs(error) / BLOOD).mean(), abs=1e-9)
    assert told.outside_percent.value == pytest.approx(100 * out.mean(), abs=1e-9)
    for est in (told.bias, told.mad, told.mard, told.outside_percent):
        assert est.low == pytest.approx(est.value)
        assert est.high == pytest.approx(est.value)
        assert est.n == shown.size
        assert est.method == "joint-draws"


def test_out_of_tolerance_is_what_sticks_call_it() -> None:
    """The share outside is the complement of the agreement that accuracy against sticks counts."""
    shown = BLOOD + RNG.normal(0.0, 25.0, BLOOD.size)
    for tolerance in (15.0, 20.0, 30.0, 40.0):
        (told,) = against(own(shown), exact(BLOOD), tolerance, every(shown))
        assert told.outside_percent.value == pytest.approx(100 * (~within(shown, BLOOD, tolerance)).mean())


def test_doubt_counts_as_error_at_the_middle() -> None:
    """A reading right on the middle is off by blood's own mean distance from it: sd times sqrt(2/pi), times the slope of
    the scale (100 mg/dL below 100)."""
    flat = np.full(200, 80.0)
    (told,) = against(own(flat), doubtful(flat, 0.05), 20.0, every(flat))
    assert told.mad.value == pytest.approx(100 * 0.05 * np.sqrt(2 / np.pi), rel=2e-2)
    assert told.bias.value == pytest.approx(0.0, abs=1e-6)
    assert told.mad.low <= told.mad.value <= told.mad.high


def test_the_interval_is_as_wide_as_the_draws_say_and_a_little_more() -> None:
    """Draws that move as a whole by 5 mg/dL give a bias known to 2 times 5, widened as the room states."""
    flat = np.full(100, 80.0)
    (told,) = against(own(flat + 40.0), doubtful(flat, 0.05, draws=4000), 20.0, every(flat))
    half = (told.bias.high - told.bias.low) / 2
    assert half == pytest.approx(WIDENED[0] * 1.96 * 5.0, rel=0.05)
    assert told.mad.high - told.mad.low == pytest.approx(2 * WIDENED[1] * 1.96 * 5.0, rel=0.05)
    assert told.mad.value == pytest.approx(40.0, rel=1e-3)


def test_parts_are_told_apart() -> None:
    """Each mask has its own numbers, and an empty one says that there is nothing."""
    shown = BLOOD.copy()
    night = np.arange(BLOOD.size) < 100
    shown[night] += 30.0
    age = np.where(np.arange(BLOOD.size) < 50, 3600.0, 3 * 86400.0)
    left = np.where(np.arange(BLOOD.size) >= 550, 3600.0, 3 * 86400.0)
    readings = own(shown, night=night, age=age, left=left)
    parts = readings.parts()
    told = dict(zip(parts, against(readings, exact(BLOOD), 20.0, list(parts.values())), strict=True))
    assert set(told) == {"all", "night", "first_24h", "middle", "last_24h"}
    assert told["night"].mad.value == pytest.approx(30.0)
    assert told["first_24h"].mad.value == pytest.approx(30.0)
    assert told["last_24h"].mad.value == pytest.approx(0.0, abs=1e-9)
    assert told["all"].mad.value == pytest.approx(30.0 * 100 / BLOOD.size)
    (none,) = against(readings, exact(BLOOD), 20.0, [np.zeros(BLOOD.size, np.bool_)])
    assert none.mad.value is None
    assert none.mad.why == "no-data"


@settings(max_examples=60, deadline=None)
@given(st.floats(45.0, 390.0), st.floats(45.0, 390.0), st.sampled_from([15.0, 20.0, 30.0, 40.0]))
def test_the_edges_of_tolerance(reading: float, blood: float, tolerance: float) -> None:
    """Blood between the two edges, and no other, has the reading within tolerance."""
    low, high = inside(np.array([reading]), tolerance)
    slack = 1e-6
    if low[0] + slack < blood < high[0] - slack:
        assert within(np.array([reading]), np.array([blood]), tolerance)[0]
    if blood < low[0] - slack or blood > high[0] + slack:
        assert not within(np.array([reading]), np.array([blood]), tolerance)[0]


@settings(max_examples=25, deadline=None)
@given(st.floats(50.0, 300.0), st.floats(50.0, 300.0), st.floats(0.01, 0.2))
def test_the_chance_of_being_out_is_the_integral(reading: float, blood: float, sd: float) -> None:
    """The closed form is what numerical integration over blood's normal gives."""
    mean = float(even(blood))
    told = chance_outside(np.array([reading]), np.array([mean]), np.array([sd]), 20.0)[0]

    def out(x: float) -> float:
        b = float(mg_dl(x))
        return norm.pdf(x, mean, sd) * (abs(reading - b) > (20.0 if b < 100.0 else 0.2 * b))

    edges = sorted(float(even(edge[0])) for edge in inside(np.array([reading]), 20.0))
    found, _ = quad(out, mean - 8 * sd, mean + 8 * sd, points=edges, limit=400)
    assert told == pytest.approx(found, abs=1e-5)
    assert 0.0 <= told <= 1.0 + 1e-12


def test_without_it_takes_the_lines_own_doubt_out() -> None:
    """A path that knows nothing of the sensor's errors shows them once its own uncertainty is taken out; taken as it
    stands it would show them half as large again. The truth here is known: error SD 12, path SD 10, independent."""
    rng = np.random.default_rng(11)
    n, draws = 4000, 300
    blood = np.full(n, 200.0)
    slope = 200.0  # mg/dL per unit of the even scale at 200
    middle = even(blood) + 10.0 / slope * rng.standard_normal(n)
    paths = middle[None, :] + 10.0 / slope * rng.standard_normal((draws, n))
    path = exact(blood)
    path = type(path)(path.at, middle, np.full(n, 10.0 / slope), paths)
    shown = blood + rng.normal(0.0, 12.0, n)
    told = against_without(own(shown), path, 20.0)
    truly = np.abs(shown - blood).mean()
    (plain,) = against(own(shown), path, 20.0, every(shown))
    assert told.mad.value == pytest.approx(truly, rel=0.06)
    assert plain.mad.value > 1.4 * truly
    assert told.mad.low <= told.mad.value <= told.mad.high
    assert told.bias.value == pytest.approx((shown - blood).mean(), abs=1.0)


def test_without_it_says_so_where_nothing_is_left() -> None:
    """A path less sure than the sensor is far off cannot tell how far off it is."""
    rng = np.random.default_rng(3)
    blood = np.full(300, 80.0)
    path = exact(blood)
    wild = path.mean[None, :] + 0.3 * rng.standard_normal((50, 300))
    told = against_without(own(blood), type(path)(path.at, path.mean, np.full(300, 0.3), wild), 20.0)
    assert told.mad.value is None
    assert told.mad.why == "not-defined"


def test_without_readings_there_is_nothing() -> None:
    """No reading, no number; the reason is handed through."""
    assert against_without(own(np.empty(0)), exact(BLOOD), 20.0).mad.why == "no-data"
    assert nothing("one-sensor").outside_percent.why == "one-sensor"


def test_held_takes_the_counting_readings_within_the_path() -> None:
    """Warm-up and what lies before or after the path are left out; age and what is left of the wear are told."""
    made = usual(days=4, wear_days=4)
    layout = lay_out(made)
    path = exact(np.full(288, 120.0), start=MIDNIGHT + 86400)
    seen = held(layout, 0, path, lambda at: at % 2 == 0)
    assert len(seen) > 200
    assert seen.at.min() >= path.at[0]
    assert seen.at.max() <= path.at[-1]
    assert set(np.unique(seen.wear)) <= {place for place, worn in enumerate(layout.worn) if worn.sensor == 0}
    start = layout.worn[int(seen.wear[0])].start
    assert seen.age[0] == pytest.approx(seen.at[0] - start)
    np.testing.assert_array_equal(seen.night, seen.at % 2 == 0)
