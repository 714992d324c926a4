"""By how many minutes one sensor trails another, and trails blood as the sticks tell it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.shapes import Floats, Indices, Instants, Layout, Mask
from evenhand.compare.splits import MOVING
from evenhand.stats.estimate import Est
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.shift import vertex

STEP = 5 * MINUTE
MOST = 90 * MINUTE
"""Shifts are tried up to this, both ways."""
BLOOD_STEP, BLOOD_MOST = MINUTE, 45 * MINUTE
"""The same for a sensor against sticks."""
LEAST_POINTS, LEAST_STICKS, LEAST_GROUPS = 288, 20, 4
"""Common points, moving sticks, and days in a wear below which nothing is said."""
GAP = 20 * MINUTE
"""No value is taken between readings further apart."""
BETWEEN, TO_BLOOD = "cross-correlation-jackknife", "least-squares-shift-jackknife"
CLOCK = 30.0
"""Minutes: two sensors further apart than this are no two lags but a clock."""


@dataclass(frozen=True, slots=True)
class Profile:
    """How well each shift fits, for each group (a day in a wear) and shift: sums that can be added over groups.

    `shifts` (L,) minutes, `sums` (G, L, k) sufficient statistics, `stratum` (G,) the wear a group lies in.
    """

    shifts: Floats
    sums: Floats
    stratum: Indices


def behind(layout: Layout, sensor: int, other: int) -> Est:
    """How many minutes the first sensor trails the second; below zero: it leads.

    The shift of highest correlation about each stretch's own means, from -90 to 90 min, by the parabola through the
    best five-minute step and its neighbours; interval by leaving out one day in a wear at a time. Missing:
    'too-few' (under a day of common points), 'at-the-edge', 'no-spread', 'too-few-groups' (value alone).
    """
    grid = _grid(layout)
    if grid.size == 0:
        return Est.missing("no-data", method=BETWEEN)
    a, b = (_value(layout, place, grid) for place in (sensor, other))
    wear = _wear_at(layout, (sensor, other), grid)
    profile = _correlations(grid, a, b, wear)
    if profile is None:
        return Est.missing("too-few", method=BETWEEN)
    return _best(profile, _correlation, BETWEEN, int(profile.sums[:, :, 0].max(axis=1).sum()))


def behind_blood(layout: Layout, sensor: int) -> Est:
    """How many minutes the sensor trails blood, by the sticks taken while glucose moved; `n` sticks.

    The shift from -45 to 45 min at which readings taken so much later differ least from the sticks, in squares about
    the wear's own mean difference; interval as above. Missing: 'few-moving-sticks', 'at-the-edge'.
    """
    pairs = layout.pairs
    moving = (np.abs(pairs.slope) >= MOVING) & np.isfinite(pairs.reading[:, sensor])
    moving &= (pairs.flag[:, sensor] == 0) & (pairs.stick_flag == 0)
    shifts = np.arange(-BLOOD_MOST, BLOOD_MOST + 1, BLOOD_STEP)
    values = np.stack([_value(layout, sensor, pairs.at + int(shift)) for shift in shifts], axis=1)
    moving &= np.isfinite(values).all(axis=1)
    if int(moving.sum()) < LEAST_STICKS:
        return Est.missing("few-moving-sticks", n=int(moving.sum()), method=TO_BLOOD)
    error = values[moving] - pairs.stick[moving, None]
    wear, day = pairs.wear[moving, sensor], pairs.day[moving]
    groups, of = np.unique(np.stack((wear, day)), axis=1, return_inverse=True)
    of = of.reshape(-1)
    sums = np.zeros((groups.shape[1], shifts.size, 3))
    np.add.at(sums[:, :, 0], of, np.ones_like(error))
    np.add.at(sums[:, :, 1], of, error)
    np.add.at(sums[:, :, 2], of, error**2)
    profile = Profile(shifts / MINUTE, sums, groups[0])
    return _best(profile, _closeness, TO_BLOOD, int(moving.sum()))


def _closeness(sums: Floats, stratum: Indices) -> Floats:
    """Minus the sum of squares about each wear's mean, for each shift, (L,)."""
    total = np.zeros(sums.shape[1])
    for wear in np.unique(stratum):
        n, error, square = sums[stratum == wear].sum(axis=0).T
        total += square - error**2 / np.maximum(n, 1)
    return -total


def _correlation(sums: Floats, stratum: Indices) -> Floats:
    """The correlation at each shift, about the means of each pair of wears, (L,)."""
    cross, first, second = (np.zeros(sums.shape[1]) for _ in range(3))
    for wear in np.unique(stratum):
        n, a, b, aa, bb, ab = sums[stratum == wear].sum(axis=0).T
        many = np.maximum(n, 1)
        cross += ab - a * b / many
        first += aa - a**2 / many
        second += bb - b**2 / many
    size = np.sqrt(first * second)
    return np.where(size > 1e-9, cross / np.maximum(size, 1e-300), np.nan)


def _best(profile: Profile, height: Callable[[Floats, Indices], Floats], method: str, n: int) -> Est:
    sums, stratum = profile.sums, profile.stratum
    best, why = vertex(profile.shifts, height(sums, stratum))
    if best is None:
        return Est.missing(why or "not-defined", n=n, method=method)
    many = sums.shape[0]
    df = many - np.unique(stratum).size
    if many < LEAST_GROUPS or df < 2:
        return Est(best, n=n, method=method, why="too-few-groups")
    without = []
    for group in range(many):
        kept = np.arange(many) != group
        found, _ = vertex(profile.shifts, height(sums[kept], stratum[kept]))
        without.append(np.nan if found is None else found)
    apart = np.array(without)
    if np.isnan(apart).any():
        return Est(best, n=n, method=method, why="too-few-groups")
    variance = (many - 1) / many * float(((apart - apart.mean()) ** 2).sum())
    half = t_quantile(0.975, df) * float(np.sqrt(variance))
    return Est(best, best - half, best + half, 0.95, n, method)


def _correlations(grid: Instants, a: Floats, b: Floats, wear: Indices) -> Profile | None:
    """Sums over each day in each pair of wears of n, a, b, aa, bb, ab, the second series so much earlier."""
    most = MOST // STEP
    groups, of = np.unique(np.stack((wear, grid // 86400)), axis=1, return_inverse=True)
    of = of.reshape(-1)
    sums = np.zeros((groups.shape[1], 2 * most + 1, 6))
    for column, shift in enumerate(range(-most, most + 1)):
        moved = np.full(b.size, np.nan)
        if shift >= 0:
            moved[shift:] = b[: b.size - shift]
        else:
            moved[:shift] = b[-shift:]
        both = np.isfinite(a) & np.isfinite(moved) & (wear >= 0)
        x, y = a[both], moved[both]
        for place, value in enumerate((np.ones_like(x), x, y, x * x, y * y, x * y)):
            sums[:, column, place] = np.bincount(of[both], value, minlength=groups.shape[1])
    there = sums[:, :, 0].min(axis=1) > 0
    if not there.any() or sums[there, :, 0].sum(axis=0).min() < LEAST_POINTS:
        return None
    return Profile(np.arange(-most, most + 1) * STEP / MINUTE, sums[there], groups[0][there])


def _grid(layout: Layout) -> Instants:
    """Every five minutes from the first to the last minute at which a sensor is worn."""
    at = layout.minutes.at
    return np.arange(at[0], at[-1] + 1, STEP, dtype=np.int64) if at.size else np.empty(0, np.int64)


def _wear_at(layout: Layout, sensors: tuple[int, int], grid: Instants) -> Indices:
    """A number for the pair of wears running at each instant, -1 where either is not worn past its warm-up."""
    place = np.searchsorted(layout.minutes.at, grid)
    held = np.minimum(place, layout.minutes.at.size - 1)
    first, second = (layout.minutes.wear[held, sensor] for sensor in sensors)
    on = (layout.minutes.at[held] == grid) & (first >= 0) & (second >= 0)
    return np.where(on, first * len(layout.worn) + second, -1)


def _value(layout: Layout, sensor: int, at: Instants) -> Floats:
    """The sensor's reading at instants in straight lines between counting readings of one wear at most 20 min apart;
    NaN where there are none."""
    used = layout.used[sensor]
    kept: Mask = used.counts
    instants, value, wear = used.instant[kept], used.mg_dl[kept], used.wear[kept]
    if instants.size < 2:
        return np.full(at.size, np.nan)
    after = np.clip(np.searchsorted(instants, at), 1, instants.size - 1)
    before = after - 1
    gap = instants[after] - instants[before]
    part = (at - instants[before]) / np.maximum(gap, 1)
    found = value[before] + part * (value[after] - value[before])
    good = (part >= 0) & (part <= 1) & (gap <= GAP) & (wear[before] == wear[after])
    return np.where(good, found, np.nan)
