"""Pressure lows: found where they were scripted, nowhere else, and never with a single sensor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from evenhand.reconstruct.data import Series, series_of
from evenhand.reconstruct.pressure import masked, pressure_lows
from evenhand.rehearse.invent import invent
from evenhand.rehearse.truth import Invented
from evenhand.rehearse.world import Kind, Model, Script, Trouble, World

QUIET = Kind(pressure=0.0)


def world(*script: Script, sensors: int = 2) -> Invented:
    models = tuple(Model(name, QUIET) for name in ("Fern", "Slate", "Moss")[:sensors])
    return invent(replace(World(), days=5, wears=1, sensors=models, script=script), 8)


def flat(name: str, value: np.ndarray, night: np.ndarray) -> Series:
    n = value.size
    zero = np.zeros(n, np.int64)
    return Series(name, 300.0 * np.arange(n), value, zero, np.zeros(n), zero, np.ones(n, np.bool_), night)


def test_a_scripted_low_is_found_with_its_sensor_and_time() -> None:
    """A 70-minute stretch of -55 mg/dL at 02:30 of the third day: one low of that sensor, covering it."""
    made = world(Script(1, Trouble.PRESSURE, 2, 150, 70, -55.0))
    lows = [low for low in pressure_lows(series_of(made.trial)) if low.sensor == made.trial.sensors[1].id]
    start = made.truth.at[int(made.truth.grid.minute(np.array([2 * 1440 + 150]))[0])]
    over = [low for low in lows if low.start <= start + 35 * 60 <= low.end]
    assert len(over) == 1
    assert over[0].depth < -0.15
    assert over[0].start < start + 20 * 60
    assert over[0].end > start + 50 * 60


def test_none_is_sought_with_one_sensor() -> None:
    """There is nothing to hold it against."""
    made = world(Script(0, Trouble.PRESSURE, 2, 150, 70, -55.0), sensors=1)
    assert pressure_lows(series_of(made.trial)) == ()


def test_the_rule_on_bare_series() -> None:
    """By hand: a fall of 0.25 for an hour at night is masked with 10 min on both sides; the same by day, a fall of
    0.14, one that lasts three hours, and one that comes without the sensor's own fall are not."""
    n = 288
    base = np.full(n, 1.3)
    night = np.ones(n, np.bool_)

    def found(
        change: slice, by: float, asleep: np.ndarray = night, other: float = 0.0
    ) -> tuple[tuple[float, float], ...]:
        own, beside = base.copy(), base.copy()
        own[change] += by
        beside[change] += other
        lows = pressure_lows((flat("a", own, asleep), flat("b", beside, np.zeros(n, np.bool_))))
        return tuple((low.start / 300.0, low.end / 300.0) for low in lows)

    assert found(slice(100, 112), -0.25) == ((98.0, 113.0),)
    assert found(slice(100, 112), -0.25, ~night) == ()
    assert found(slice(100, 112), -0.14) == ()
    assert found(slice(100, 137), -0.25) == ()
    assert found(slice(100, 112), 0.0, night, 0.25) == ()


def test_with_three_the_other_is_the_median() -> None:
    """Two others that disagree stand for their middle."""
    n = 288
    night = np.ones(n, np.bool_)
    own, low, high = np.full(n, 1.3), np.full(n, 1.2), np.full(n, 1.4)
    own[100:112] -= 0.3
    lows = pressure_lows((flat("a", own, night), flat("b", low, ~night), flat("c", high, ~night)))
    assert [one.sensor for one in lows] == ["a"]
    assert abs(lows[0].depth + 0.3) < 1e-9


def test_masked_says_which_readings() -> None:
    """Readings of that sensor inside, and of no other."""
    n = 288
    night = np.ones(n, np.bool_)
    own = np.full(n, 1.3)
    own[100:112] -= 0.3
    series = (flat("a", own, night), flat("b", np.full(n, 1.3), ~night))
    lows = pressure_lows(series)
    assert np.flatnonzero(masked(series[0], lows)).tolist() == list(range(98, 114))
    assert not masked(series[1], lows).any()
