"""A trial's data as the model takes them: on its grid, in minutes, centred; what does not change while fitting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenhand.reconstruct.data import Mask, Pricks, Series, Whole
from evenhand.reconstruct.grid import STEP, TOGETHER, Grid
from evenhand.reconstruct.priors import Priors
from evenhand.reconstruct.scale import CENTRE, Floats

GAP = 15.5
"""Minutes: over a longer gap the fast error is not followed."""
FADING = 600.0
"""Minutes in which what a wear starts with fades to 37 %."""
AFTER_CALIBRATION = 0.05
"""What a calibration adds to the SD of the slow offset that starts anew there."""


@dataclass(frozen=True, slots=True)
class Read:
    """All readings, R of them, sensor after sensor in time order; arrays of shape (R,).

    `value` centred, `at` minutes, `sensor`, `wear` (of all wears of all sensors), `cell` of the grid, `since` minutes
    since the reading before (infinite at a new wear, after a calibration or a gap), `fading` exp(-age/600 min).
    """

    value: Floats
    at: Floats
    sensor: Whole
    wear: Whole
    cell: Whole
    since: Floats
    fading: Floats


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
    where that is after a calibration; `weight` (grid size - 4,) multiplies the precision of blood's innovations."""

    grid: Grid
    priors: Priors
    read: Read
    told: Told
    fresh: Mask
    loosened: Mask
    weight: Floats

    def using(self, used: Mask) -> Problem:
        """The same with other sticks in the fit."""
        return replace(self, told=replace(self.told, used=used))

    def weighted(self, weight: Floats) -> Problem:
        """The same with other innovation weights."""
        return replace(self, weight=weight)


def problem_of(series: Sequence[Series], pricks: Pricks, together: int = TOGETHER) -> Problem:
    """The problem these readings and sticks pose; every series has readings, all plain and not masked."""
    ends = [(one.at[0], one.at[-1]) for one in series]
    ends += [(pricks.at[0], pricks.at[-1])] if len(pricks) else []
    grid = Grid.over(min(a for a, _ in ends), max(b for _, b in ends), len(series), together)
    wears = [int(one.wear[-1]) + 1 for one in series]
    before = np.cumsum([0, *wears])
    fresh = np.zeros((len(series), grid.cells), np.bool_)
    loosened = np.zeros_like(fresh)
    parts = []
    for place, one in enumerate(series):
        at = grid.minutes(one.at)
        cell = (at // (STEP * grid.together)).astype(np.int64)
        since = np.diff(at, prepend=-np.inf)
        begins = np.diff(one.fresh, prepend=one.fresh[0]) != 0
        since[begins | (since > GAP)] = np.inf
        fresh[place, cell[begins]] = True
        loosened[place, cell[begins & (np.diff(one.wear, prepend=one.wear[0]) == 0)]] = True
        parts.append(
            (one.value - CENTRE, at, np.full(at.size, place), before[place] + one.wear, cell, since,
             np.exp(-one.age / FADING))
        )  # fmt: skip
    fresh[:, 0], loosened[:, 0] = True, False
    read = Read(*(np.concatenate(column) for column in zip(*parts, strict=True)))
    told = Told(
        pricks.value - CENTRE, grid.minutes(pricks.at), pricks.many, np.ones(len(pricks), np.bool_)
    )
    priors = Priors(len(series), int(before[-1]))
    return Problem(grid, priors, read, told, fresh, loosened, np.ones(grid.size - 4))
