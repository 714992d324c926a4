"""Two sensors against each other, without the meter: mean difference and concurrence over common readings."""

from __future__ import annotations

import numpy as np

from evenhand.compare.shapes import Layout
from evenhand.compare.worn_readings import RANGES, nearest, worn_readings
from evenhand.findings.findings import BetweenSensors
from evenhand.records.readings import IN_RANGE
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est
from evenhand.stats.jackknife import mean_over_groups


def between(trial: Trial, layout: Layout, a: int, b: int) -> BetweenSensors:
    """The sensors with places `a` and `b` in the trial, at their common readings.

    A common reading is a reading of the one that reads less often, with the nearest of the other at most the pairing
    limit away, both worn and past warm-up. `mean_difference` is a minus b in mg/dL, readings beyond the limits at
    the limit, pairs in which both are beyond the same limit left out; its interval is t over days, for other days
    like these. `concurrence` counts common readings, all of them, by consensus range in the unit recorded: rows a,
    columns b, from below 54 to above 250. No common reading: missing, why 'no-data', and a table of zeros.
    """
    first, second = worn_readings(trial, layout, a), worn_readings(trial, layout, b)
    table = np.zeros((RANGES, RANGES), np.int64)
    if not first.at.size or not second.at.size:
        return BetweenSensors(Est.missing("no-data", method="t-over-groups"), _rows(table))
    if first.at.size <= second.at.size:
        i = np.arange(first.at.size)
        j = nearest(second.at, first.at)
    else:
        j = np.arange(second.at.size)
        i = nearest(first.at, second.at)
    close = np.abs(first.at[i] - second.at[j]) <= layout.limit
    i, j = i[close], j[close]
    np.add.at(table, (first.consensus[i], second.consensus[j]), 1)
    told = (first.flag[i] == IN_RANGE) | (first.flag[i] != second.flag[j])
    difference = mean_over_groups((first.mg_dl[i] - second.mg_dl[j])[told], first.day[i][told])
    return BetweenSensors(difference, _rows(table))


def _rows(table: np.ndarray[tuple[int, int], np.dtype[np.int64]]) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(int(count) for count in row) for row in table)
