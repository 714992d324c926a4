"""A slow twin of `evenhand.stats.within`, with loops, written from the words of docs/method.md."""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import nnls

PARTS = (lambda _h: 1.0, lambda h: 1 - math.exp(-h / 3600), lambda h: 1 - math.exp(-h / 21600))


def fitted(days, y, at):
    """c0, c1, c2, each from 0 up, from half the squared differences of all sticks of a day in wear; `days` are lists
    of places. Also how many pairs there were."""
    rows, halves = [], []
    for sticks in days:
        for place, one in enumerate(sticks):
            for other in sticks[place + 1 :]:
                apart = abs(at[one] - at[other])
                root = max(apart, 1800) ** -0.25
                rows.append([part(apart) * root for part in PARTS])
                halves.append(0.5 * (y[one] - y[other]) ** 2 * root)
    if not rows:
        return (0.0, 0.0, 0.0), 0
    return nnls(np.array(rows), np.array(halves))[0], len(rows)


def gamma(parts, h):
    """The variogram at distance h; 0 at none, for a stick is itself."""
    return sum(c * part(h) for c, part in zip(parts, PARTS, strict=True))


def real(parts, sticks, at, moments):
    """Variance of the mean of these sticks about the mean over the day's eligible moments (the block-kriging variance:
    Matheron, Economic Geology 1963;58:1246-1266, from memory). The nugget is each stick's own."""
    n = len(sticks)
    smooth = (0.0, parts[1], parts[2])
    cross = np.mean([gamma(smooth, abs(at[i] - t)) for i in sticks for t in moments])
    among = np.mean([gamma(smooth, abs(s - t)) for s in moments for t in moments])
    sticks_ = np.mean([gamma(smooth, abs(at[i] - at[j])) for i in sticks for j in sticks])
    return parts[0] / n + 2 * cross - among - sticks_


def told(parts, visits, at):
    """What S/(S-1) times the sum over visits of (sum of y - day's mean)², over n², is expected to be: each square by
    its quadratic form, term by term."""
    sticks = [i for visit in visits for i in visit]
    n, s = len(sticks), len(visits)
    total = 0.0
    for visit in visits:
        load = {i: (1.0 if i in visit else 0.0) - len(visit) / n for i in sticks}
        total -= sum(
            load[i] * load[j] * gamma(parts, abs(at[i] - at[j])) for i in sticks for j in sticks if i != j
        )
    return s / (s - 1) * total / n**2


def slow_psi(y, at, days, shares):
    """Psi before any pulling towards 1, and the number of pairs. `days` is a list of (visits, moments), visits
    being lists of places in `y` and `at`; `shares` the weight of each day's sticks, one number a stick, in the estimate."""
    parts, pairs = fitted([sorted(i for visit in visits for i in visit) for visits, _ in days], y, at)
    above = below = 0.0
    for (visits, moments), share in zip(days, shares, strict=True):
        n = sum(len(visit) for visit in visits)
        if len(visits) > 1 and len(moments):
            above += (share * n) ** 2 * real(parts, [i for visit in visits for i in visit], at, moments)
            below += (share * n) ** 2 * told(parts, visits, at)
    return (above / below if below > 0 else 1.0), pairs
