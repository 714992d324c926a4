"""Strays told from sticks alone: two or more in a row out of tolerance on the same side."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.accuracy import within
from evenhand.compare.shapes import Floats, Indices, Layout, Worn

LEAST = 20 * MINUTE
"""Seconds from the first to the last stick of a stray: a recheck minutes later is no second witness."""


@dataclass(frozen=True, slots=True)
class StickStray:
    """One stretch out of tolerance, from its first stick out to the first one back inside (None: none came in this
    wear). `size` is the mean signed error of its sticks, `largest` the largest in size, mg/dL."""

    wear: Worn
    start: int
    end: int | None
    size: float
    largest: float
    ending: Literal["alone", "calibration", "wear"]


def strays(layout: Layout, sensor: int, tolerance: int) -> tuple[StickStray, ...]:
    """The strays of one sensor, in time order; every scored stick is a witness, whatever its reason."""
    pairs = layout.pairs
    found: list[StickStray] = []
    for index, worn in enumerate(layout.worn):
        if worn.sensor != sensor:
            continue
        (event,) = np.nonzero((pairs.wear[:, sensor] == index) & pairs.scored[:, sensor])
        error = pairs.reading[event, sensor] - pairs.stick[event]
        out = ~within(pairs.reading[event, sensor], pairs.stick[event], tolerance)
        side = np.where(out, np.sign(error), 0).astype(np.int64)
        found.extend(_of_wear(worn, pairs.at[event], error, side))
    return tuple(found)


def _of_wear(worn: Worn, at: Indices, error: Floats, side: Indices) -> list[StickStray]:
    found = []
    cuts = np.flatnonzero(np.diff(side)) + 1
    edges = [0, *cuts.tolist(), side.size]
    for first, after in itertools.pairwise(edges):
        if after <= first or side[first] == 0 or at[after - 1] - at[first] < LEAST:
            continue
        start, last = int(at[first]), int(at[after - 1])
        end = int(at[after]) if after < side.size else None
        errors = error[first:after]
        largest = float(errors[np.argmax(np.abs(errors))])
        stray = StickStray(worn, start, end, float(errors.mean()), largest, _ending(worn, last, end))
        found.append(stray)
    return found


def _ending(worn: Worn, last: int, end: int | None) -> Literal["alone", "calibration", "wear"]:
    if end is None:
        return "wear"
    return "calibration" if any(last <= at <= end for at in worn.calibrated) else "alone"
