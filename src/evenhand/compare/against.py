"""How far one sensor was off against the reconstruction, over any part of its readings, with intervals from joint draws."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from evenhand.compare.accuracy import SWITCH
from evenhand.compare.shapes import Floats, Indices, Instants, Layout, Mask
from evenhand.compare.splits import PHASES, phase_of
from evenhand.findings.parts import AgainstReconstruction
from evenhand.reconstruct.path import WIDER, BloodPath
from evenhand.reconstruct.scale import even, mg_dl
from evenhand.stats.estimate import Est

METHOD_ID = "joint-draws"
"""The expectation at the fitted parameters; the interval from joint draws of parameters and blood."""
WIDENED = np.array([1.45, WIDER, WIDER, 1.5])
"""How much wider than the draws say the intervals of bias, MAD, MARD and the share out are made: measured, see decision
0047."""
AT_ONCE = 1_500_000
"""So many numbers are held at a time."""


@dataclass(frozen=True, slots=True)
class Held:
    """One sensor's counting readings within a reconstruction's span, n of them in time order. Shapes (n,): `at`
    instants, `mg_dl` at the limit where beyond, `wear` index into `Layout.worn`, `night`, `age` and `left` in seconds
    (`left` infinite while the wear is worn)."""

    at: Instants
    mg_dl: Floats
    wear: Indices
    night: Mask
    age: Floats
    left: Floats

    def __len__(self) -> int:
        return int(self.at.size)

    def parts(self) -> dict[str, Mask]:
        """Which readings belong to 'all', 'night' and each phase of the wear."""
        every = np.ones(len(self), np.bool_)
        found: dict[str, Mask] = {"all": every, "night": self.night}
        for name in PHASES:
            found[name] = phase_of(name, self.age, self.left)
        return found


def held(layout: Layout, sensor: int, path: BloodPath, night: Callable[[Instants], Mask]) -> Held:
    """The readings of the sensor with that place that count and lie within the path; `night` tells of instants."""
    used = layout.used[sensor]
    kept = used.counts & (used.instant >= path.at[0]) & (used.instant <= path.at[-1])
    at, wear = used.instant[kept], used.wear[kept]
    starts = np.array([*(float(one.start) for one in layout.worn), np.nan])
    ends = np.array([*((float(one.end) if one.ended else np.inf) for one in layout.worn), np.nan])
    return Held(at, used.mg_dl[kept], wear, night(at), at - starts[wear], ends[wear] - at)


def against(own: Held, path: BloodPath, tolerance: float, masks: list[Mask]) -> list[AgainstReconstruction]:
    """Bias, MAD, MARD (percent) and the share out of tolerance (percent), one set for each mask (n,) of the readings.

    Value: the expectation at the fitted parameters, by quadrature (the share exactly, from the normal). Limits: as far
    from it as the 2.5 and 97.5 percentiles of the joint draws lie from their mean, widened as `WIDENED` says.
    A mask without readings: all missing, why 'no-data'.
    """
    weights = np.stack([mask / max(int(mask.sum()), 1) for mask in masks], axis=1)
    values = _expected(own, path, tolerance, weights)
    draws = np.concatenate([sizes(own.mg_dl, blood, tolerance, weights) for blood in _drawn(own, path)])
    low, high = np.quantile(draws, (0.025, 0.975), axis=0) - draws.mean(axis=0)
    return [
        _told(values[:, part], WIDENED * low[:, part], WIDENED * high[:, part], int(mask.sum()))
        for part, mask in enumerate(masks)
    ]


def against_without(own: Held, path: BloodPath, tolerance: float) -> AgainstReconstruction:
    """The same over all readings of a sensor that had no part in the path: the check against circularity.

    A path made without the sensor does not know which way its readings point, so a draw's distance from them holds the
    path's own uncertainty twice: mean square = error² + 2 V, V the mean variance of the draws. Each draw's errors are
    therefore drawn in about their mean until their mean square is what is left. Value: the mean over the draws;
    limits: their percentiles about it, widened as above. Nothing left: missing, 'not-defined'.
    """
    if not len(own):
        return nothing("no-data")
    weights = np.full((len(own), 1), 1.0 / len(own))
    twice = 2.0 * _variance(own, path)
    draws = []
    for blood in _drawn(own, path):
        error = own.mg_dl - blood
        mean = error.mean(axis=1, keepdims=True)
        square = ((error - mean) ** 2).mean(axis=1, keepdims=True)
        left = np.sqrt(np.maximum(1.0 - twice / square, 0.0))
        shrunk = blood + mean + left * (error - mean)
        draws.append(sizes(shrunk, blood, tolerance, weights)[:, :, 0])
        if float(np.median(left)) <= 0.0:
            return nothing("not-defined")
    every = np.concatenate(draws)
    middle = every.mean(axis=0)
    low, high = np.quantile(every, (0.025, 0.975), axis=0) - middle
    return _told(middle, WIDENED * low, WIDENED * high, len(own))


def _variance(own: Held, path: BloodPath) -> float:
    """The mean over the readings of the variance of blood over the draws, mg²/dL²."""
    total, square, many = np.zeros(len(own)), np.zeros(len(own)), 0
    for blood in _drawn(own, path):
        total += blood.sum(axis=0)
        square += (blood**2).sum(axis=0)
        many += blood.shape[0]
    return float(((square - total**2 / many) / max(many - 1, 1)).mean())


def _told(value: Floats, low: Floats, high: Floats, n: int) -> AgainstReconstruction:
    """One set of estimates from its four values and the distances of their limits; only bias may be below zero."""
    if n == 0:
        return nothing("no-data")
    edges = ((-np.inf, np.inf), (0.0, np.inf), (0.0, np.inf), (0.0, 100.0))
    bias, mad, mard, out = (
        Est(
            float(v),
            float(np.clip(v + min(a, 0.0), *edge)),
            float(np.clip(v + max(b, 0.0), *edge)),
            0.95,
            n,
            METHOD_ID,
        )
        for v, a, b, edge in zip(value, low, high, edges, strict=True)
    )
    return AgainstReconstruction(bias, mad, mard, out)


def nothing(why: str) -> AgainstReconstruction:
    """No numbers, for the reason with that code."""
    none = Est.missing(why, method=METHOD_ID)
    return AgainstReconstruction(none, none, none, none)


def _drawn(own: Held, path: BloodPath) -> Iterator[Floats]:
    """The draws of blood at the readings, mg/dL, (k, n) at a time."""
    each = max(1, AT_ONCE // max(len(own), 1))
    for first in range(0, path.draws.shape[0], each):
        yield path.drawn(own.at.astype(np.float64), slice(first, first + each))


def sizes(reading: Floats, blood: Floats, tolerance: float, weights: Floats) -> Floats:
    """Weighted means over readings (n,) of error, its size, its size in percent of blood, and out of tolerance in
    percent, for each row of `blood` (k, n): shape (k, 4, parts)."""
    error = reading - blood
    size = np.abs(error)
    out = size > tolerance * np.maximum(blood, SWITCH) / 100.0
    out = np.where(blood < SWITCH, size > tolerance, out)
    return np.stack(
        [error @ weights, size @ weights, (size / blood) @ weights * 100.0, out.astype(np.float64) @ weights * 100.0],
        axis=1,
    )  # fmt: skip


def _expected(own: Held, path: BloodPath, tolerance: float, weights: Floats) -> Floats:
    """The same at the fitted parameters, blood at each reading being normal on the even scale: shape (4, parts)."""
    at = own.at.astype(np.float64)
    node, weight = np.polynomial.hermite_e.hermegauss(24)
    weight = weight / weight.sum()
    mean, sd = path.middle(at)
    found = np.zeros((4, weights.shape[1]))
    for x, w in zip(node, weight, strict=True):
        found += w * sizes(own.mg_dl, mg_dl(mean + sd * x)[None, :], tolerance, weights)[0]
    found[3] = 100.0 * chance_outside(own.mg_dl, mean, sd, tolerance) @ weights
    return found


def chance_outside(reading: Floats, mean: Floats, sd: Floats, tolerance: float) -> Floats:
    """The probability that each reading (n,) is out of tolerance, blood there being normal on the even scale with
    `mean` and `sd` (n,).

    Within tolerance is: at most `tolerance` mg/dL from blood below 100, at most that percentage of blood from 100 up.
    """
    from scipy.special import ndtr

    low, high = inside(reading, tolerance)
    spread = np.maximum(sd, 1e-12)
    return np.asarray(
        1.0 - ndtr((even(high) - mean) / spread) + ndtr((even(low) - mean) / spread), np.float64
    )


def inside(reading: Floats, tolerance: float) -> tuple[Floats, Floats]:
    """Between which blood glucose a reading is within tolerance, mg/dL; shapes of `reading`.

    >>> low, high = inside(np.array([60.0, 120.0, 240.0]), 20)
    >>> low.tolist(), high.tolist()
    ([40.0, 100.0, 200.0], [80.0, 150.0, 300.0])
    """
    part = tolerance / 100.0
    low = np.where(reading - tolerance < SWITCH, reading - tolerance, reading / (1 + part))
    high = np.where(
        reading + tolerance < SWITCH, reading + tolerance, np.maximum(reading / (1 - part), SWITCH)
    )
    return low, high
