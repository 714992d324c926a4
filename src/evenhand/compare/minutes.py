"""The minutes at which a stick could have been taken."""

from __future__ import annotations

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.hours import night, target_hours
from evenhand.compare.local import local
from evenhand.compare.pairs import Sources, all_beside, columns, mean_slope, times_of, whole
from evenhand.compare.shapes import Instants, Minutes, Worn
from evenhand.records.trial import Trial


def minutes_of(trial: Trial, worn: tuple[Worn, ...], sources: Sources) -> Minutes:
    """Every whole minute at which some sensor is worn past warm-up; shapes as `Minutes` says."""
    at = grid(worn)
    every = all_beside(sources, at)
    reading = columns([one.reading for one in every], at.size)
    wear = whole([one.wear for one in every], at.size)
    age, left, part = times_of(worn, wear, at)
    when = local(trial.zones, at)
    return Minutes(
        at=at, day=when.day, in_hours=target_hours(trial.question, when), night=night(trial.question, when),
        slope=mean_slope(every, at.size), wear=wear, have=~np.isnan(reading), reading=reading,
        reading_level=whole([one.level for one in every], at.size), age=age, left=left, part=part,
    )  # fmt: skip


def grid(worn: tuple[Worn, ...]) -> Instants:
    """Whole minutes from the end of warm-up to the end of any wear, each once, in order."""
    spans: list[list[int]] = []
    for start, end in sorted((-(-one.usable // MINUTE), one.end // MINUTE) for one in worn):
        if end < start:
            continue
        if spans and start <= spans[-1][1] + 1:
            spans[-1][1] = max(spans[-1][1], end)
        else:
            spans.append([start, end])
    if not spans:
        return np.empty(0, np.int64)
    return np.concatenate([np.arange(start, end + 1, dtype=np.int64) for start, end in spans]) * MINUTE
