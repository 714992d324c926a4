"""How long things last when some were still going at the end: Kaplan and Meier's curve."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenhand.stats.estimate import Est
from evenhand.stats.proportions import exact_lower, exact_upper
from evenhand.stats.quantiles import normal_quantile

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Curve:
    """A survival curve. Arrays over the J distinct times at which an event fell, in order: `time`, `at_risk`
    just before it, `events` at it, `survival` after it, `se` Greenwood's standard error (0 where survival
    is 0). `n` things were watched, the longest for `longest` (0 where there are none)."""

    time: Floats
    at_risk: Counts
    events: Counts
    survival: Floats
    se: Floats
    followed: Floats

    @property
    def n(self) -> int:
        """How many things were watched."""
        return int(self.followed.size)

    @property
    def median(self) -> float | None:
        """The first time at which survival is at most one half; None where it never is."""
        under = np.flatnonzero(self.survival <= 0.5)
        return float(self.time[under[0]]) if under.size else None


def kaplan_meier(time: ArrayLike, event: ArrayLike) -> Curve:
    """The curve of n things: `time` (n,) each was followed for, `event` (n,) True where it ended by the event.

    False means censored: still going, or taken away for another reason, at that time; at a tie, events come
    first. Any unit of time. Raises `ValueError` for a time that is negative or NaN.
    Source: Kaplan and Meier, J Am Stat Assoc 1958;53:457-481; Greenwood 1926 for the standard error.

    >>> curve = kaplan_meier([6, 6, 6, 6, 7, 9], [True, True, True, False, True, False])
    >>> [round(float(s), 4) for s in curve.survival], curve.at_risk.tolist()
    ([0.5, 0.25], [6, 2])
    """
    t, happened = np.asarray(time, np.float64), np.asarray(event, np.bool_)
    if not (t >= 0).all():
        raise ValueError("a time to an event is negative or not a number")
    times, events = np.unique(t[happened], return_counts=True)
    at_risk = np.array([(t >= moment).sum() for moment in times], np.int64)
    share = events / at_risk
    survival = np.cumprod(1 - share).astype(np.float64)
    with_spread = np.where(events < at_risk, events / (at_risk * np.maximum(at_risk - events, 1.0)), 0.0)
    se = survival * np.sqrt(np.cumsum(with_spread))
    return Curve(times, at_risk, events.astype(np.int64), survival, se, np.sort(t))


def survival_at(curve: Curve, time: float, *, level: float = 0.95) -> Est:
    """The share that lasts beyond `time`, as a fraction, with its interval on the log(-log) scale.

    That scale is chosen because the interval then stays between 0 and 1 with few things watched, where the plain
    and the log one run past the ends. Where nothing has failed, or everything, Greenwood's error is 0 and
    says nothing; the exact bound of a share takes its place: none of those still followed at `time` failed (method
    'kaplan-meier-exact'), or all of as many as failed did. Nothing followed as long as `time` and not all failed:
    missing, why 'not-followed'. No things: missing, why 'no-data'.
    Source: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, section 1.4 (from memory).

    >>> est = survival_at(kaplan_meier([6, 6, 6, 6, 7, 9], [1, 1, 1, 0, 1, 0]), 7)
    >>> est.value, round(est.low, 3), round(est.high, 3)
    (0.25, 0.012, 0.646)
    """
    method = "kaplan-meier"
    if curve.n == 0:
        return Est.missing("no-data", method=method)
    followed = int((curve.followed >= time).sum())
    done = int((curve.time <= time).sum())
    survival = float(curve.survival[done - 1]) if done else 1.0
    if not followed and survival > 0:
        return Est.missing("not-followed", n=curve.n, method=method)
    tail = (1 + level) / 2
    if survival == 1:
        low = exact_lower(followed, followed, level=tail)
        return Est(1.0, low, 1.0, level, curve.n, "kaplan-meier-exact")
    if survival == 0:
        high = exact_upper(0, int(curve.events[:done].sum()), level=tail)
        return Est(0.0, 0.0, high, level, curve.n, "kaplan-meier-exact")
    z = normal_quantile(tail)
    wide = math.exp(z * float(curve.se[done - 1]) / (survival * abs(math.log(survival))))
    return Est(survival, survival**wide, survival ** (1 / wide), level, curve.n, method)
