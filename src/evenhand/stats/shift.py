"""By how much one evenly spaced series trails another."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shift:
    """The best shift of one series against another, and the whole profile.

    `best` is in steps, positive where the second series trails the first; None where it cannot be told, and `why`
    says so: 'too-few' (no shift has enough common points), 'no-spread' (a series that does not move), 'at-the-edge'
    (the profile still rises at the largest shift tried). `shifts` (L,) are the whole steps tried, `profile`
    (L,) the correlation at each (NaN: too few common points, or no spread), `points` (L,) how many went in."""

    best: float | None
    why: str | None
    shifts: NDArray[np.int64]
    profile: Floats
    points: NDArray[np.int64]


def best_shift(first: ArrayLike, second: ArrayLike, most: int, *, least: int = 30) -> Shift:
    """The shift, up to `most` steps either way, at which `second` goes most closely along with `first`.

    Both have shape (n,), on one even grid; NaN marks a missing value. At every shift k the Pearson correlation of
    first[i] with second[i + k] is taken over the points where both are there, about the means of those same points;
    fewer than `least` of them give NaN. Between steps, the vertex of the parabola through the best and its two
    neighbours. Correlation does not mind offset or gain. Raises `ValueError` for unequal lengths.
    Source: cross-correlation with parabolic interpolation, common practice in signal processing.

    >>> import numpy as np
    >>> t = np.arange(300.0)
    >>> wave = np.sin(t / 15) + np.sin(t / 37)
    >>> found = best_shift(wave[4:], 100 + 30 * wave[:-4], 10)
    >>> round(found.best, 2)
    4.0
    """
    a, b = np.asarray(first, np.float64), np.asarray(second, np.float64)
    if a.shape != b.shape:
        raise ValueError("the two series differ in length")
    shifts = np.arange(-most, most + 1, dtype=np.int64)
    found = [_correlation(*_overlap(a, b, int(k)), least) for k in shifts]
    profile = np.array([one for one, _ in found], np.float64)
    points = np.array([n for _, n in found], np.int64)
    best, why = vertex(shifts.astype(np.float64), profile)
    if why == "too-few" and bool((points >= least).any()):
        why = "no-spread"
    return Shift(best, why, shifts, profile, points)


def vertex(at: ArrayLike, height: ArrayLike) -> tuple[float | None, str | None]:
    """Where an evenly spaced profile is highest, by the parabola through its highest point and the two beside it.

    `at`, `height` have shape (L,); NaN heights are passed over. Gives (place, None), or (None, reason): 'too-few'
    where every height is NaN, 'at-the-edge' where the highest is the first or last, or a neighbour is NaN.
    For a lowest point, hand in the heights negated.

    >>> vertex([0.0, 1.0, 2.0], [1.0, 3.0, 3.0])
    (1.5, None)
    """
    x, y = np.asarray(at, np.float64), np.asarray(height, np.float64)
    if not np.isfinite(y).any():
        return None, "too-few"
    top = int(np.nanargmax(y))
    if top in (0, y.size - 1) or not (np.isfinite(y[top - 1]) and np.isfinite(y[top + 1])):
        return None, "at-the-edge"
    before, peak, after = float(y[top - 1]), float(y[top]), float(y[top + 1])
    bend = before - 2 * peak + after
    if bend == 0:
        return float(x[top]), None
    return float(x[top] + 0.5 * (before - after) / bend * (x[top + 1] - x[top])), None


def _overlap(a: Floats, b: Floats, k: int) -> tuple[Floats, Floats]:
    """a[i] and b[i + k] for every i that both have."""
    n = a.size
    if abs(k) >= n:
        return a[:0], b[:0]
    return (a[: n - k], b[k:]) if k >= 0 else (a[-k:], b[: n + k])


def _correlation(x: Floats, y: Floats, least: int) -> tuple[float, int]:
    both = np.isfinite(x) & np.isfinite(y)
    n = int(both.sum())
    if n < max(least, 2):
        return math.nan, n
    u, v = _about_mean(x[both]), _about_mean(y[both])
    size = math.sqrt(float(u @ u) * float(v @ v))
    return (float(u @ v) / size, n) if size > 0 else (math.nan, n)


def _about_mean(values: Floats) -> Floats:
    """Deviations from the mean; all 0 where they are no more than the rounding of the values."""
    rest = values - values.mean()
    still = float(np.abs(rest).max()) <= 1e-12 * float(np.abs(values).max())
    return np.zeros_like(rest) if still else rest
