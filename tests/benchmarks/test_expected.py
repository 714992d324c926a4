"""The truth that benchmark intervals are held against, where a sensor says LOW: only sticks that would be scored count."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.honesty.expected import AGREE, ERROR, SIZE, Eligible, likely

from evenhand.compare.layout import lay_out
from evenhand.compare.splits import labels, whole
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW
from evenhand.rehearse.invent import invent
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.scenarios import limit_words, plain
from evenhand.units import FACTOR

METER = MeterNoise(0.05, 0.004, 0.2, 1.0)


def eligible(reading, flag, blood, stretch=None):
    reading, flag = np.atleast_2d(reading).T, np.atleast_2d(flag).T
    blood = np.asarray(blood, float)
    return Eligible(
        reading.astype(float), flag, blood, np.zeros(blood.size, int) if stretch is None else stretch
    )


@pytest.mark.parametrize("step", [1.0, FACTOR / 10])
def test_every_printed_value_has_its_chance(step):
    """Chances add up to one, with the blood's mean and the mixture's variance, the rounding's in it."""
    meter = MeterNoise(0.05, 0.004, 0.2, step)
    blood = np.array([60.0, 120.0, 250.0])
    sticks, chance = likely(meter, blood)
    assert chance.sum(axis=1) == pytest.approx(1.0)
    assert chance @ sticks == pytest.approx(blood, rel=1e-3)
    spread = chance @ sticks**2 - (chance @ sticks) ** 2
    expected = sum(share * sd**2 for share, sd in meter.parts(blood))
    assert spread == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("quantity", [SIZE, ERROR, AGREE])
def test_without_a_limit_it_is_the_closed_form(quantity):
    """No reading beyond a limit: the plain mean of what is expected, whether by closed form or stick by stick."""
    reading, blood = np.array([95.0, 130.0, 250.0]), np.array([100.0, 120.0, 240.0])
    found = eligible(reading, np.zeros(3, int), blood).mean(METER, quantity)
    assert found == pytest.approx([quantity.closed(METER, reading, blood).mean()])
    sticks, chance = likely(METER, blood)
    by_stick = (chance * quantity.of(reading[:, None], np.broadcast_to(sticks, chance.shape))).sum(axis=1)
    assert by_stick.mean() == pytest.approx(found[0], rel=0.02, abs=0.02)


@pytest.mark.parametrize(("limit", "flag", "side"), [(65.0, BEYOND_LOW, -1), (270.0, BEYOND_HIGH, 1)])
def test_beyond_a_limit_only_scored_sticks_count(limit, flag, side):
    """Drawn: sticks beyond the limit too are no pairs, so what is expected is the mean over the rest."""
    blood = limit + side * 1.0
    draws = np.floor(METER.draw(np.full(400_000, blood), np.random.default_rng(3)) + 0.5)
    scored = draws[(draws - limit) * side <= 0]
    found = eligible([limit], [flag], [blood])
    assert found.mean(METER, SIZE)[0] == pytest.approx(np.abs(limit - scored).mean(), rel=0.02)
    assert found.mean(METER, ERROR)[0] == pytest.approx((limit - scored).mean(), rel=0.02)


def test_minutes_weigh_by_the_chance_of_being_scored():
    """One minute surely scored and one scored with chance q: their mean is (x + q·y)/(1 + q), within a stretch; stretches
    weigh by their minutes, as in the estimate."""
    reading, flag, blood = [100.0, 65.0], [0, BEYOND_LOW], [90.0, 62.0]
    sticks, chance = likely(METER, np.array([62.0]))
    kept = chance[0] * (sticks >= 65)
    first = METER.expected_abs_error(np.array([100.0]), np.array([90.0]))[0]
    second = (kept * np.abs(65 - sticks)).sum()
    together = eligible(reading, flag, blood).mean(METER, SIZE)[0]
    assert together == pytest.approx((first + second) / (1 + kept.sum()))
    apart = eligible(reading, flag, blood, np.array([0, 1])).mean(METER, SIZE)[0]
    assert apart == pytest.approx(0.5 * first + 0.5 * second / kept.sum())


def test_both_sensors_must_be_scored():
    """Head to head a stick counts if it is scored for both: one saying LOW, the other not."""
    both = Eligible(np.array([[65.0, 80.0]]), np.array([[BEYOND_LOW, 0]]), np.array([63.0]), np.zeros(1, int))
    sticks, chance = likely(METER, np.array([63.0]))
    kept = chance[0] * (sticks >= 65)
    expected = [(kept * np.abs(reading - sticks)).sum() / kept.sum() for reading in (65.0, 80.0)]
    assert both.mean(METER, SIZE) == pytest.approx(expected)


def test_no_minute_no_truth():
    """Where nothing counts the truth is NaN."""
    assert np.isnan(eligible([], [], []).mean(METER, SIZE)).all()


@pytest.mark.parametrize("world", [plain(days=6, wears=1), limit_words()])
def test_flags_are_those_of_the_readings(world):
    """In an invented trial the minutes carry the flags that their readings carry; every flagged one stands at a limit."""
    invented = invent(world, 3)
    layout = lay_out(invented.trial)
    split = whole(layout, (0, 1), "all", layout.pairs.judging)
    found = Eligible.of(layout, invented.truth, split, np.unique(labels(layout, layout.minutes.wear, (0, 1))))
    assert found.blood.size == split.minutes.sum()
    limits = {(model.low, BEYOND_LOW) for model in world.sensors} | {
        (model.high, BEYOND_HIGH) for model in world.sensors
    }
    at = {
        (float(value), int(flag))
        for value, flag in zip(found.reading.ravel(), found.flag.ravel(), strict=True)
        if flag
    }
    assert at <= limits
    assert bool(at) == (world.name == "LOW words")
