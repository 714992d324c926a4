"""Whole days of sticks held out: does the path keep the promises of its bands?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import METER
from evenhand.reconstruct.scale import Floats
from evenhand.reconstruct.sticks import blood_at

FOLDS = 5
SHARES = (0.5, 0.9)
RESAMPLED = 2000
"""So many resamplings of whole days."""
HALF_WIDTHS = (0.6744897501960817, 1.6448536269514722)
"""How many SDs a band of each share reaches to either side."""


@dataclass(frozen=True, slots=True)
class HeldOut:
    """`share` of the sticks inside the bands of 50 and 90 %, each with its 99 % interval, over `sticks` sticks of
    `days` days; `z` (m,) every stick's distance from its prediction in SDs. `kept` whether both promises hold."""

    sticks: int
    days: int
    share: tuple[float, float]
    interval: tuple[tuple[float, float], tuple[float, float]]
    z: Floats

    @property
    def kept(self) -> bool:
        """Whether both intervals hold the share promised."""
        return all(low <= share <= high for share, (low, high) in zip(SHARES, self.interval, strict=True))


def held_out(top: Solved, day: Whole, rng: np.random.Generator) -> HeldOut:
    """Hold out five folds of whole days of sticks, drawn by `rng`, with the parameters of the whole fit kept.

    `day` (m,) is the local day of every stick. Each stick, gross ones too, is predicted from all readings and the
    fit's sticks of the other folds, with the meter's error added.
    """
    told = top.problem.told
    days = rng.permutation(np.unique(day))
    fold = {int(one): number % FOLDS for number, one in enumerate(days)}
    of = np.array([fold[int(one)] for one in day])
    z = np.zeros(day.size)
    for number in range(min(FOLDS, days.size)):
        out = of == number
        solved = solve(top.problem.using(told.used & ~out), top.u)
        mean, variance = blood_at(solved, told.at[out])
        z[out] = (told.value[out] - mean) / np.sqrt(variance + top.value[METER] ** 2 / told.many[out])
    return judged(z, day, rng)


def judged(z: Floats, day: Whole, rng: np.random.Generator) -> HeldOut:
    """The shares of predictions inside their bands, with intervals from resampling whole days.

    An interval is made as wide as Wilson's for as many single sticks where that is wider: where nearly every stick
    is inside, resampling has nothing to vary.
    """
    place = np.unique(day, return_inverse=True)[1]
    many = np.bincount(place)
    drawn = rng.integers(0, many.size, (RESAMPLED, many.size))
    shares, intervals = [], []
    for half in HALF_WIDTHS:
        inside = np.bincount(place, np.abs(z) <= half)
        share = float(inside.sum() / many.sum())
        low, high = np.quantile(inside[drawn].sum(axis=1) / many[drawn].sum(axis=1), (0.005, 0.995))
        wilson = _wilson(share, z.size)
        shares.append(share)
        intervals.append((min(float(low), wilson[0]), max(float(high), wilson[1])))
    return HeldOut(z.size, many.size, (shares[0], shares[1]), (intervals[0], intervals[1]), z)


def _wilson(share: float, many: int, reach: float = 2.5758293035489004) -> tuple[float, float]:
    """Wilson's 99 % interval of a share (Journal of the American Statistical Association 1927;22:209-212)."""
    part = reach**2 / many
    middle = (share + part / 2) / (1 + part)
    half = reach * float(np.sqrt(share * (1 - share) / many + part / (4 * many))) / (1 + part)
    return middle - half, middle + half
