"""When a sensor left its tolerance and whether it came back, from the reconstruction: strays, and what held."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.against import Held, chance_outside, sizes
from evenhand.compare.shapes import Floats, Instants, Layout, Mask, Worn
from evenhand.reconstruct.path import BloodPath

HEIGHT, THROUGHOUT, LEAST = 0.9, 0.5, 20 * MINUTE
"""A stray is out of tolerance with a probability above `THROUGHOUT` all along and above `HEIGHT` somewhere, and lasts so
long at least."""
HELD, HELD_LEAST = 0.1, 30 * MINUTE
"""A stretch held where the probability of being out is at most this for so long."""
APART = 30 * MINUTE
"""Readings further apart belong to two stretches."""

State = Literal["held", "strayed", "unproven"]


@dataclass(frozen=True, slots=True)
class Strayed:
    """A stray: the instants of its first reading out and of the first one back (None: none came in this wear); mean and
    largest signed error over it in mg/dL; `chance` that the sensor was out of tolerance at more than half of it."""

    wear: Worn
    start: int
    end: int | None
    size: float
    largest: float
    ending: Literal["alone", "calibration", "wear"]
    chance: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a wear between two instants, and what is known of it."""

    wear: Worn
    start: int
    end: int
    state: State


def strayed(
    layout: Layout, own: Held, path: BloodPath, tolerance: float
) -> tuple[tuple[Strayed, ...], tuple[Stretch, ...]]:
    """The strays of one sensor and the whole time line of its wears, in time order."""
    strays: list[Strayed] = []
    line: list[Stretch] = []
    at = own.at.astype(np.float64)
    out = chance_outside(own.mg_dl, *path.spread(at), tolerance)
    for index in np.unique(own.wear).tolist():
        rows = np.flatnonzero(own.wear == index)
        worn = layout.worn[index]
        found = _strays_of(own, rows, out[rows])
        strays.extend(_told(worn, own, (rows, *one), path, tolerance) for one in found)
        line.extend(_time_line(worn, own.at[rows], out[rows], found))
    return tuple(strays), tuple(line)


def _runs(chosen: Mask, at: Instants) -> list[tuple[int, int]]:
    """First and last place of every run of True without a gap."""
    cuts = (np.flatnonzero((np.diff(chosen.astype(np.int8)) != 0) | (np.diff(at) > APART)) + 1).tolist()
    edges = [0, *cuts, chosen.size]
    return [(first, after - 1) for first, after in pairwise(edges) if after > first and chosen[first]]


def _strays_of(own: Held, rows: Instants, out: Floats) -> list[tuple[int, int]]:
    at = own.at[rows]
    return [
        (first, last)
        for first, last in _runs(out > THROUGHOUT, at)
        if at[last] - at[first] >= LEAST and out[first : last + 1].max() > HEIGHT
    ]


def _told(
    worn: Worn, own: Held, stretch: tuple[Instants, int, int], path: BloodPath, tolerance: float
) -> Strayed:  # fmt: skip
    rows, first, last = stretch
    part = rows[first : last + 1]
    blood = path.drawn(own.at[part].astype(np.float64))
    error = own.mg_dl[part] - blood.mean(axis=0)
    weights = np.full((part.size, 1), 1.0 / part.size)
    share = sizes(own.mg_dl[part], blood, tolerance, weights)[:, 3, 0]
    back = int(own.at[rows[last + 1]]) if last + 1 < rows.size else None
    lasted = back is not None and back - int(own.at[part[-1]]) <= APART
    end = back if lasted else int(own.at[part[-1]]) if back is not None else None
    return Strayed(
        wear=worn,
        start=int(own.at[part[0]]),
        end=end,
        size=float(error.mean()),
        largest=float(error[np.argmax(np.abs(error))]),
        ending=_ending(worn, int(own.at[part[0]]), end),
        chance=float((share > 50.0).mean()),
    )


def _ending(worn: Worn, start: int, end: int | None) -> Literal["alone", "calibration", "wear"]:
    if end is None:
        return "wear"
    return "calibration" if any(start <= at <= end for at in worn.calibrated) else "alone"


def _time_line(worn: Worn, at: Instants, out: Floats, strays: list[tuple[int, int]]) -> list[Stretch]:
    """The wear cut into stretches that held, strayed, or are unproven; what lies between readings too far apart is in
    none of them."""
    state = np.zeros(at.size, np.int64)
    for first, last in _runs(out <= HELD, at):
        if at[last] - at[first] >= HELD_LEAST:
            state[first : last + 1] = 1
    for first, last in strays:
        state[first : last + 1] = 2
    names: tuple[State, State, State] = ("unproven", "held", "strayed")
    cuts = (np.flatnonzero((np.diff(state) != 0) | (np.diff(at) > APART)) + 1).tolist()
    line = []
    for first, after in pairwise([0, *cuts, at.size]):
        end = int(at[after]) if after < at.size and at[after] - at[after - 1] <= APART else int(at[after - 1])
        line.append(Stretch(worn, int(at[first]), end, names[int(state[first])]))
    return line
