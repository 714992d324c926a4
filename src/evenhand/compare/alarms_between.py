"""Low alarms against the reconstruction: was blood low, was the low announced, and how long before?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.against import METHOD_ID, Held
from evenhand.compare.alarms import CLOSE, Sounded
from evenhand.compare.shapes import Floats, Mask
from evenhand.reconstruct.path import BloodPath
from evenhand.reconstruct.scale import even
from evenhand.stats.estimate import Est

SHORTEST = 15 * MINUTE
"""Blood below the level for at least so long is a low that an alarm should announce."""
COVERED = 15 * MINUTE
"""Lows are looked for where a reading of the sensor is at most this far away."""
STEP = 5 * MINUTE


@dataclass(frozen=True, slots=True)
class Lows:
    """The lows of all draws, L of them, shapes (L,): `draw`, first and last instant below the level."""

    draw: Floats
    start: Floats
    end: Floats


@dataclass(frozen=True, slots=True)
class Between:
    """What the reconstruction says of a sensor's alarms. `chance` (A,): the probability that blood was below the level
    within 15 min of each. `true_rate` and `detection` in percent, `false_per_night`, `warning` in minutes before blood
    crossed the level (below zero: after), `lows` how many there were: each the mean over the joint draws with the
    2.5 and 97.5 percentiles."""

    chance: Floats
    true_rate: Est
    detection: Est
    false_per_night: Est
    warning: Est
    lows: Est


def between(
    sounded: Sounded, own: Held, path: BloodPath, level: float, acted: Mask, night: tuple[Mask, float]
) -> Between:
    """Judge the alarms of one sensor. `acted` (A,): followed by a treatment; such an alarm is false in no draw.
    `night`: which alarms sounded at night, (A,), and how many nights the sensor was reading."""
    true = _true(sounded, path, level)
    counted = true | ~acted[None, :]
    at_night, nights = night
    false = (counted & ~true & at_night[None, :]).sum(axis=1)
    lows = lows_of(path, level, covered(own, path))
    heard, before = announced(lows, sounded)
    many = path.draws.shape[0]
    total = np.bincount(lows.draw.astype(np.int64), minlength=many)
    hits = np.bincount(lows.draw[heard].astype(np.int64), minlength=many)
    minutes = np.bincount(lows.draw[heard].astype(np.int64), before[heard], minlength=many)
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = 100.0 * (true & counted).sum(axis=1) / counted.sum(axis=1)
        detected, warned = 100.0 * hits / total, minutes / hits
        per_night = false / nights if nights > 0 else np.full(many, np.nan)
    return Between(
        chance=true.mean(axis=0),
        true_rate=over_draws(rate, len(sounded), "no-alarms"),
        detection=over_draws(detected, round(float(total.mean())), "no-lows"),
        false_per_night=over_draws(per_night, round(nights), "no-nights"),
        warning=over_draws(warned, round(float(hits.mean())), "no-lows"),
        lows=over_draws(total.astype(np.float64), many, "no-lows"),
    )


def over_draws(values: Floats, n: int, why: str) -> Est:
    """Mean and percentiles of what the draws (D,) say; where fewer than half of them say anything: missing, `why`."""
    said = values[np.isfinite(values)]
    if 2 * said.size < values.size or not values.size:
        return Est.missing(why, n=n, method=METHOD_ID)
    value = float(said.mean())
    low, high = (float(end) for end in np.quantile(said, (0.025, 0.975)))
    return Est(value, min(low, value), max(high, value), 0.95, n, METHOD_ID)


def _true(sounded: Sounded, path: BloodPath, level: float) -> Mask:
    """In which draw blood was below the level within 15 min of which alarm, (D, A)."""
    steps = np.arange(-CLOSE, CLOSE + 1, STEP, dtype=np.float64)
    at = np.clip(sounded.at[:, None] + steps[None, :], path.at[0], path.at[-1])
    blood = path.drawn(at.reshape(-1)).reshape(path.draws.shape[0], len(sounded), steps.size)
    return np.asarray((blood < level).any(axis=2))


def covered(own: Held, path: BloodPath) -> Mask:
    """Which instants of the path, (M,), have a reading of the sensor near."""
    if not len(own):
        return np.zeros(path.at.size, np.bool_)
    after = np.clip(np.searchsorted(own.at, path.at), 0, len(own) - 1)
    before = np.maximum(after - 1, 0)
    away = np.minimum(np.abs(own.at[after] - path.at), np.abs(own.at[before] - path.at))
    return np.asarray(away <= COVERED)


def lows_of(path: BloodPath, level: float, chosen: Mask) -> Lows:
    """Every stretch of at least 15 min in which a draw stays below the level, within the chosen instants."""
    below = (path.draws < float(even(level))) & chosen[None, :]
    width = below.shape[1] + 2
    padded = np.zeros((below.shape[0], width), np.int8)
    padded[:, 1:-1] = below
    edge = np.diff(padded, axis=1)
    draw, first = np.nonzero(edge == 1)
    last = np.nonzero(edge == -1)[1] - 1
    long = (last - first) * STEP >= SHORTEST
    return Lows(draw[long].astype(np.float64), path.at[first[long]], path.at[last[long]])


def announced(lows: Lows, sounded: Sounded) -> tuple[Mask, Floats]:
    """For each low (L,): whether an alarm sounded from 15 min before it to its end, or was still going on then; and
    how many minutes before its start the first such alarm sounded."""
    if not len(sounded):
        return np.zeros(lows.start.size, np.bool_), np.zeros(lows.start.size)
    until = np.maximum.accumulate(sounded.until)
    place = np.searchsorted(until, lows.start - CLOSE)
    held = np.minimum(place, len(sounded) - 1)
    heard = (place < len(sounded)) & (sounded.at[held] <= lows.end)
    return heard, (lows.start - sounded.at[held]) / MINUTE
