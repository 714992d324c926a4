"""A slow twin of pairing and movement, with loops over everything, written from the words of the method."""

from __future__ import annotations

import math

import numpy as np


def wear_at(worn, sensor, instant):
    """The wear (index) started last before an instant, if it runs then past its warm-up; else -1."""
    own = [(place, one) for place, one in enumerate(worn) if one.sensor == sensor and one.start <= instant]
    if not own:
        return -1
    place, one = max(own, key=lambda pair: pair[1].start)
    return place if one.usable <= instant <= one.end else -1


def nearest(layout, sensor, instant, stream):
    """(mg/dL, seconds apart) of the nearest reading of the same wear, the earlier of two; None where none is near."""
    wear = wear_at(layout.worn, sensor, instant)
    best = None
    if wear < 0:
        return None
    for at, value in stream:
        if wear_at(layout.worn, sensor, at) != wear or abs(at - instant) > layout.limit:
            continue
        if best is None or abs(at - instant) < abs(best[1]):
            best = (value, at - instant)
    return best


def slope(layout, sensor, instant, stream):
    """Least-squares slope of the readings in the 15 min before an instant (numpy's polyfit), None with fewer than 3."""
    wear = wear_at(layout.worn, sensor, instant)
    coarse = (layout.intervals[sensor] or 0) > 600
    back, least = (1800, 2) if coarse else (900, 3)
    inside = [
        (at, value)
        for at, value in stream
        if instant - back <= at <= instant and wear >= 0 and wear_at(layout.worn, sensor, at) == wear
    ]
    if len(inside) < least:
        return None
    minutes = np.array([(at - instant) / 60 for at, _ in inside])
    return float(np.polyfit(minutes, np.array([value for _, value in inside]), 1)[0])


def movement(layout, instant, streams):
    """Mean slope over the sensors that have one; NaN where none has."""
    found = [slope(layout, sensor, instant, stream) for sensor, stream in enumerate(streams)]
    known = [one for one in found if one is not None]
    return math.fsum(known) / len(known) if known else math.nan
