"""What each sensor would tell a clinic: shares of time in the consensus ranges, mean, CV and GMI.

Over a sensor's own time every reading counts once. Over common time (minutes at which every sensor has a
reading) every minute counts once, with the reading nearest to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenhand.clock import DAY
from evenhand.compare.shapes import Floats, Indices, Layout, Mask
from evenhand.compare.wears import never_started
from evenhand.compare.worn_readings import (
    RANGES,
    WornReadings,
    common_minutes,
    nearest,
    worn_readings,
)
from evenhand.findings.parts import OwnAndCommon, Ranges
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est
from evenhand.stats.jackknife import mean_over_groups

ENOUGH_DAYS, ENOUGH_READINGS = 14, 70.0
"""Days worn and percent of readings below which ranges are said to rest on little (Battelino et al. 2019)."""

MINUTES_A_DAY = 1440


@dataclass(frozen=True, slots=True)
class SensorRanges:
    """The ranges of one sensor, and the codes of what to be cautious about: 'ranges-own-short' and
    'ranges-common-short' for fewer than 14 days worn or 70 % of readings."""

    ranges: OwnAndCommon
    cautions: tuple[str, ...]


def gmi(mean_mg_dl: float) -> float:
    """The glucose management indicator in percent, 3.31 + 0.02392 times the mean in mg/dL.

    Source: Bergenstal et al., Diabetes Care 2018;41:2275-2280.

    >>> round(gmi(145), 3)
    6.778
    """
    return 3.31 + 0.02392 * mean_mg_dl


def summarise(mg_dl: Floats, consensus: Indices, days: float, share: float | None) -> Ranges:
    """Shares in percent, mean, CV and GMI of n values; all None where n is 0, CV None where n is 1.

    `consensus` (n,) is the range of each, as recorded; `days` and `share` are handed through.
    """
    n = mg_dl.size
    if n == 0:
        return Ranges(None, None, None, None, None, None, None, None, days, share)
    shares = (100 * np.bincount(consensus, minlength=RANGES) / n).tolist()
    mean = float(mg_dl.mean())
    cv = 100 * float(mg_dl.std(ddof=1)) / mean if n > 1 else None
    return Ranges(
        below_54=shares[0],
        share_54_69=shares[1],
        share_70_180=shares[2],
        share_181_250=shares[3],
        above_250=shares[4],
        mean=mean,
        cv=cv,
        gmi=gmi(mean),
        days=days,
        share_of_readings=share,
    )


def ranges(trial: Trial, layout: Layout) -> tuple[SensorRanges, ...]:
    """The ranges of every sensor of the trial, in its order, over its own time and over common time.

    `share_of_readings`: of the own readings, against those expected from wear and step; over common time, of the
    minutes at which all were worn past warm-up. `days`: time covered, in days.
    """
    common = common_minutes(layout)
    minutes = layout.minutes
    worn_all = int((minutes.wear >= 0).all(axis=1).sum())
    share = 100 * int(common.sum()) / worn_all if worn_all else None
    common_short = _short(_days_all_worn(layout), share)
    found = []
    for sensor in range(len(trial.sensors)):
        seen = worn_readings(trial, layout, sensor)
        own, own_short = _own(layout, sensor, seen)
        mg_dl, consensus = _at_minutes(seen, layout, common)
        both = summarise(mg_dl, consensus, int(common.sum()) / MINUTES_A_DAY, share)
        codes = (("ranges-own-short", own_short), ("ranges-common-short", common_short))
        found.append(SensorRanges(OwnAndCommon(own, both), tuple(code for code, short in codes if short)))
    return tuple(found)


def expected_readings(layout: Layout, sensor: int, step: int | None) -> int | None:
    """How many readings the sensor's wears would have had past warm-up without a gap; None for an unknown step."""
    if step is None:
        return None
    return sum(
        max(worn.end - worn.usable, 0) // step
        for worn in layout.worn
        if worn.sensor == sensor and not never_started(worn)
    )


def _own(layout: Layout, sensor: int, seen: WornReadings) -> tuple[Ranges, bool]:
    expected = expected_readings(layout, sensor, seen.step)
    share = min(100.0, 100 * seen.at.size / expected) if expected else None
    days = seen.at.size * (seen.step or 0) / DAY
    worn = sum(one.end - one.start for one in layout.worn if one.sensor == sensor) / DAY
    return summarise(seen.mg_dl, seen.consensus, days, share), _short(worn, share)


def _short(days: float, share: float | None) -> bool:
    return days < ENOUGH_DAYS or share is None or share < ENOUGH_READINGS


def _days_all_worn(layout: Layout) -> float:
    """Days at which every sensor was worn, warm-up included."""
    edges = sorted({edge for one in layout.worn for edge in (one.start, one.end)})
    sensors = layout.minutes.wear.shape[1]
    together = 0
    for begin, stop in pairwise(edges):
        worn = {one.sensor for one in layout.worn if one.start <= begin and stop <= one.end}
        together += stop - begin if len(worn) == sensors else 0
    return together / DAY


def _at_minutes(seen: WornReadings, layout: Layout, chosen: Mask) -> tuple[Floats, Indices]:
    """Value and consensus range of the reading nearest to each chosen minute."""
    if not seen.at.size or not chosen.any():
        return np.empty(0), np.empty(0, np.int64)
    index = nearest(seen.at, layout.minutes.at[chosen])
    return seen.mg_dl[index], seen.consensus[index]


@dataclass(frozen=True, slots=True)
class RangesDifference:
    """Two sensors over common time, a minus b: shares in percentage points, mean in mg/dL. The values are exact for
    these days; the intervals (t over days) speak of other days like these."""

    below_70: Est
    in_range: Est
    above_180: Est
    mean: Est


def ranges_difference(trial: Trial, layout: Layout, a: int, b: int) -> RangesDifference:
    """How two sensors (by place in the trial) differ over the minutes at which every sensor has a reading.

    No common minute: all missing, why 'no-data'. One day: values without intervals, why 'too-few-groups'.
    """
    common = common_minutes(layout)
    day = layout.minutes.day[common]
    first, second = (_at_minutes(worn_readings(trial, layout, s), layout, common) for s in (a, b))
    if first[0].size != day.size or second[0].size != day.size:
        none = Est.missing("no-data", method="t-over-groups")
        return RangesDifference(none, none, none, none)

    def share(low: int, high: int) -> Est:
        inside = [(found[1] >= low) & (found[1] <= high) for found in (first, second)]
        return mean_over_groups(100.0 * inside[0] - 100.0 * inside[1], day)

    return RangesDifference(
        share(0, 1), share(2, 2), share(3, 4), mean_over_groups(first[0] - second[0], day)
    )
