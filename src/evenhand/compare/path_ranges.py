"""Time in the consensus ranges by the reconstruction, beside each sensor's own."""

from __future__ import annotations

import numpy as np

from evenhand.clock import DAY, MINUTE
from evenhand.compare.against import METHOD_ID
from evenhand.compare.alarms_between import over_draws
from evenhand.compare.ranges import summarise
from evenhand.compare.shapes import Indices, Mask
from evenhand.compare.worn_readings import RANGES, consensus_range
from evenhand.findings.parts import Ranges
from evenhand.reconstruct.path import BloodPath
from evenhand.reconstruct.scale import mg_dl
from evenhand.stats.estimate import Est

STEP = 5 * MINUTE


def path_ranges(path: BloodPath, chosen: Mask) -> tuple[Ranges, tuple[Est, Est, Est]]:
    """Over the chosen instants (M,) of the path: the consensus ranges as the joint draws expect them, and the percent
    of time below 70, from 70 to 180 and above 180 mg/dL with 95 % intervals. No instant chosen: all missing."""
    blood = mg_dl(path.draws[:, chosen])
    days = float(chosen.sum()) * STEP / DAY
    share = 100.0 * float(chosen.mean()) if chosen.size else None
    if not blood.size:
        none = Est.missing("no-data", method=METHOD_ID)
        return summarise(np.empty(0), np.empty(0, np.int64), 0.0, share), (none, none, none)
    flat = blood.reshape(-1)
    where = consensus_range(flat, np.zeros(flat.size, np.bool_), np.zeros(flat.size, np.int8))
    shown = summarise(flat, where, days, share)
    table: Indices = np.reshape(where, blood.shape)
    each = [_share(table, span) for span in ((0, 1), (2, 2), (3, RANGES - 1))]
    return shown, (each[0], each[1], each[2])


def _share(table: Indices, span: tuple[int, int]) -> Est:
    """Percent of time in these ranges, mean and percentiles over the draws."""
    inside = 100.0 * ((table >= span[0]) & (table <= span[1])).mean(axis=1)
    return over_draws(inside, table.shape[1], "no-data")
