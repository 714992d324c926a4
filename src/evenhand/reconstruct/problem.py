"""A trial's data as the model takes them: on its grid, in minutes, centred; what does not change while fitting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenhand.reconstruct.data import Mask, Pricks, Series, Whole
from evenhand.reconstruct.grid import CELL, KNOT, STEP, Grid
from evenhand.reconstruct.priors import Priors
from evenhand.reconstruct.scale import CENTRE, Floats

FADING = 600.0
"""Minutes in which what a wear starts with fades to 37 %."""
AFTER_CALIBRATION = 0.05
"""What a calibration adds to the SD of the slow offset that starts anew there."""


@dataclass(frozen=True, slots=True)
class Read:
    """All readings, R of them, sensor after sensor in time order; arrays of shape (R,).

    `value` centred, `at` minutes, `sensor`, `wear` (of all wears of all sensors), `fading` exp(-age/600 min);
    `slow` the place of its slow offset, `fast` (2, R) of its fast error at the knots before and after, `share`
    (2, R) their weights.
    """

    value: Floats
    at: Floats
    sensor: Whole
    wear: Whole
    fading: Floats
    slow: Whole
    fast: Whole
    share: Floats


@dataclass(frozen=True, slots=True)
class Told:
    """All sticks, m of them: `value` centred, `at` minutes, `many` sticks in each; `used` which the fit uses."""

    value: Floats
    at: Floats
    many: Floats
    used: Mask


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything the model is fitted to. `fresh` (sensors, cells) is True where a slow offset starts anew, `loosened`
    where that is after a calibration; `anew` (sensors, knots) where a fast error does."""

    grid: Grid
    priors: Priors
    read: Read
    told: Told
    fresh: Mask
    loosened: Mask
    anew: Mask

    def using(self, used: Mask) -> Problem:
        """The same with other sticks in the fit."""
        return replace(self, told=replace(self.told, used=used))


def problem_of(series: Sequence[Series], pricks: Pricks) -> Problem:
    """The problem these readings and sticks pose; every series has readings, all plain and not masked."""
    ends = [(one.at[0], one.at[-1]) for one in series]
    ends += [(pricks.at[0], pricks.at[-1])] if len(pricks) else []
    grid = Grid.over(min(a for a, _ in ends), max(b for _, b in ends), len(series))
    before = np.cumsum([0, *(int(one.wear[-1]) + 1 for one in series)])
    fresh = np.zeros((len(series), grid.cells), np.bool_)
    loosened, anew = np.zeros_like(fresh), np.zeros((len(series), grid.knots), np.bool_)
    for place, one in enumerate(series):
        at = grid.minutes(one.at)
        cell, knot = (at // (STEP * CELL)).astype(np.int64), (at // (STEP * KNOT)).astype(np.int64)
        begins = np.diff(one.fresh, prepend=one.fresh[0]) != 0
        inserted = np.diff(one.wear, prepend=one.wear[0]) != 0
        fresh[place, cell[begins]] = True
        loosened[place, cell[begins & ~inserted]] = True
        anew[place, knot[inserted]] = True
    fresh[:, 0], loosened[:, 0], anew[:, 0] = True, False, True
    told = Told(pricks.value - CENTRE, grid.minutes(pricks.at), pricks.many, np.ones(len(pricks), np.bool_))
    priors = Priors(len(series), int(before[-1]))
    read = _read(series, grid, before)
    return Problem(grid, priors, read, told, fresh, loosened, anew)


def _read(series: Sequence[Series], grid: Grid, before: Whole) -> Read:
    sensor = np.concatenate([np.full(len(one), place) for place, one in enumerate(series)])
    at = grid.minutes(np.concatenate([one.at for one in series]))
    knot = (at // (STEP * KNOT)).astype(np.int64)
    way = at / (STEP * KNOT) - knot
    return Read(
        value=np.concatenate([one.value for one in series]) - CENTRE,
        at=at,
        sensor=sensor,
        wear=np.concatenate([before[place] + one.wear for place, one in enumerate(series)]),
        fading=np.exp(-np.concatenate([one.age for one in series]) / FADING),
        slow=grid.slow(sensor, (at // (STEP * CELL)).astype(np.int64)),
        fast=np.stack((grid.fast(sensor, knot), grid.fast(sensor, knot + 1))),
        share=np.stack((1.0 - way, way)),
    )
