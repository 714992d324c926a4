"""Which reading stands beside an instant, and how fast glucose moves there; for sticks and minutes alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.shapes import Floats, Indices, Instants, Mask, Used
from evenhand.compare.wears import COARSE, Running

_SCALE = 1_000_000
"""Glucose enters window sums as whole millionths of a mg/dL, times as whole seconds: the sums are exact."""


@dataclass(frozen=True, slots=True)
class Beside:
    """One sensor at instants of shape (n,): `wear` that runs past warm-up or -1; `place` of the reading in the
    counted readings or -1; `reading` NaN, `flag` 0, `level` -1, `apart` NaN (reading minus instant, seconds) where
    there is none; `slope` mg/dL per minute, NaN unknown."""

    wear: Indices
    reading: Floats
    flag: Indices
    level: Indices
    apart: Floats
    slope: Floats


def beside(used: Used, wears: Running, instants: Instants, limit: float, interval: int | None) -> Beside:
    """The nearest counted reading of the running wear, at most `limit` seconds away (the earlier of two at the same
    distance), and the slope of the readings before each instant."""
    n = instants.size
    wear, usable = wears.at(instants)
    wear = np.where(usable, wear, -1)
    kept = np.flatnonzero(used.counts)
    if kept.size == 0:
        none = np.full(n, np.nan)
        return Beside(wear, none, np.zeros(n, np.int64), np.full(n, -1), none, none)
    at, of = used.instant[kept], used.wear[kept]
    after = np.searchsorted(at, instants, side="right")
    left, right = np.maximum(after - 1, 0), np.minimum(after, kept.size - 1)
    far = np.int64(1) << 40
    to_left = np.where((after > 0) & (of[left] == wear), instants - at[left], far)
    to_right = np.where((after < kept.size) & (of[right] == wear), at[right] - instants, far)
    earlier = to_left <= to_right
    place = np.where(earlier, left, right)
    found = (np.minimum(to_left, to_right) <= limit) & (wear >= 0)
    apart = np.where(found, np.where(earlier, -to_left, to_right).astype(np.float64), np.nan)
    place = kept[place]
    return Beside(
        wear=wear,
        reading=np.where(found, used.mg_dl[place], np.nan),
        flag=np.where(found, used.flag[place], 0),
        level=np.where(found, used.level[place], -1),
        apart=apart,
        slope=slope_before((at, used.mg_dl[kept], of), wear, instants, after, interval),
    )


def window(interval: int | None) -> tuple[int, int]:
    """Seconds looked back over for a slope, and the least readings in them."""
    return (30 * MINUTE, 2) if interval is not None and interval > COARSE else (15 * MINUTE, 3)


def slope_before(
    readings: tuple[Instants, Floats, Indices],
    wear: Indices,
    instants: Instants,
    after: Indices,
    interval: int | None,
) -> Floats:
    """Least-squares slope, mg/dL per minute, of the running wear's readings from 15 min before each instant up to
    it; NaN with fewer than 3 of them (2 in 30 min for a 15-minute sensor).

    `readings` are instants, mg/dL and wears of the counted readings; `after` counts those not later than each
    instant. Sums over windows are differences of running sums in whole numbers modulo 2^64, which is exact.
    """
    at, mg_dl, of = readings
    back, least = window(interval)
    first = np.searchsorted(of, wear)  # wears are numbered by start, so `of` rises
    start = np.maximum(np.searchsorted(at, instants - back), first)
    origin = at[0]
    x = at - origin
    y = np.rint(mg_dl * _SCALE).astype(np.int64)
    n, sx, sxx, sy, sxy = (
        _running_sum(part)[after] - _running_sum(part)[np.minimum(start, after)]
        for part in (np.ones_like(x), x, x * x, y, x * y)
    )
    to = instants - origin
    su, suu, suy = sx - n * to, sxx - 2 * to * sx + n * to * to, sxy - to * sy
    spread = n * suu - su * su
    known: Mask = (n >= least) & (wear >= 0) & (spread > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (n * suy - su * sy) / spread * (MINUTE / _SCALE)
    return np.where(known, slope, np.nan)


def _running_sum(part: Instants) -> Instants:
    return np.concatenate((np.zeros(1, np.int64), np.cumsum(part)))
