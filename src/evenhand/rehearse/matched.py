"""Makes the true difference of two sensors exactly what was asked for, by scaling the second one's errors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from evenhand.rehearse.eligible import beside, eligible
from evenhand.rehearse.grid import Floats
from evenhand.rehearse.readings import recorded
from evenhand.rehearse.recorded import Kept
from evenhand.rehearse.sticks import Finger
from evenhand.rehearse.world import World

Sensed: TypeAlias = tuple[Floats, tuple[Floats, ...], tuple[Kept, ...]]
"""Fluid, every sensor's series, what every sensor kept."""

LEAST, MOST = 0.05, 8.0
"""How far errors may be scaled; a difference that lies beyond is not reached, and the truth says so."""


def matched(
    world: World, finger: Finger, sensed: Sensed
) -> tuple[float, tuple[Floats, ...], tuple[Kept, ...]]:
    """The factor on the second sensor's errors, and series and readings after it.

    Eligible are steady minutes of the waking hours at which both have a reading. Found by secants (Illinois)
    to 0.01 mg/dL.
    """
    assert world.true_difference is not None
    fluid, series, keeps = sensed
    wanted = world.true_difference
    wrong = series[1] - fluid

    def scaled(factor: float) -> tuple[Floats, Kept]:
        line = np.maximum(fluid + factor * wrong, 5.0)
        value, flag = recorded(line, keeps[1].when, keeps[1].model)
        return line, replace(keeps[1], value=value, flag=flag)

    def missed(factor: float) -> float:
        _, second = scaled(factor)
        return true_difference(world, finger, (keeps[0], second)) - wanted

    factor = _illinois(missed, 0.6, 1.6)
    line, second = scaled(factor)
    return factor, (series[0], line, *series[2:]), (keeps[0], second, *keeps[2:])


def true_difference(world: World, finger: Finger, pair: tuple[Kept, Kept]) -> float:
    """Expected MAD of the second sensor minus the first's, over eligible minutes; mg/dL."""
    grid = finger.grid
    limit = 450.0 if any(one.model.interval >= 15 for one in pair) else 300.0
    awake = np.flatnonzero(grid.within(world.waking))
    at, blood = grid.at[awake], finger.blood[awake]
    sides = tuple(beside(at, one.when.instant, one.mg_dl, one.model.interval, limit) for one in pair)
    where = eligible(sides, np.ones(at.size, dtype=np.bool_), steady=True)
    first, second = (
        finger.noise.expected_abs_error(side.reading[where], blood[where]).mean() for side in sides
    )
    return float(second - first)


def _illinois(missed: Callable[[float], float], low: float, high: float) -> float:
    """A zero of `missed` between LEAST and MOST, or the end nearer to one."""
    at_low, at_high = missed(low), missed(high)
    while at_low > 0 and low > LEAST:
        low, high, at_high = max(low / 2, LEAST), low, at_low
        at_low = missed(low)
    while at_high < 0 and high < MOST:
        high, low, at_low = min(high * 2, MOST), high, at_high
        at_high = missed(high)
    if at_low > 0 or at_high < 0:
        return low if at_low > 0 else high
    kept = 0
    for _ in range(30):
        middle = (
            (low * at_high - high * at_low) / (at_high - at_low) if at_high != at_low else (low + high) / 2
        )
        found = missed(middle)
        if abs(found) < 0.01:
            return float(middle)
        if found < 0:
            low, at_low = middle, found
            at_high, kept = (at_high / 2, -1) if kept == -1 else (at_high, -1)
        else:
            high, at_high = middle, found
            at_low, kept = (at_low / 2, 1) if kept == 1 else (at_low, 1)
        if high - low < 1e-6:
            break
    return float((low + high) / 2)
