"""What a sensor's screen showed at sticks, against what its file keeps for the same moment."""

from __future__ import annotations

import numpy as np

from evenhand.compare.shapes import Layout
from evenhand.compare.worn_readings import nearest
from evenhand.stats.estimate import Est
from evenhand.stats.intervals import mean_est
from evenhand.stats.visits import visit_mean


def shown_minus_exported(layout: Layout, sensor: int, sensor_id: str) -> Est | None:
    """The mean of shown minus exported at sticks that carry a shown value, mg/dL, values beyond the limits left out;
    None where no stick carries one beside a reading. Wears weigh by their sticks."""
    used = layout.used[sensor]
    (kept,) = np.nonzero(used.counts & (used.flag == 0))
    rows: list[int] = []
    values: list[float] = []
    for row, event in enumerate(layout.events):
        for shown in event.sticks[0].shown:
            if shown.sensor == sensor_id and shown.glucose.beyond is None:
                rows.append(row)
                values.append(shown.glucose.mg_dl)
    if not rows or not kept.size:
        return None
    event_rows = np.array(rows, np.int64)
    at = layout.pairs.at[event_rows]
    place = kept[nearest(used.instant[kept], at)]
    close = np.abs(used.instant[place] - at) <= layout.limit
    if not close.any():
        return None
    apart = np.array(values)[close] - used.mg_dl[place][close]
    wear, day = used.wear[place][close], layout.pairs.day[event_rows][close]
    return mean_est(visit_mean(apart, wear, day, at[close], None))
