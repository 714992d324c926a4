"""Right and present: was there a reading within tolerance when the finger was pricked? Gaps count against a sensor."""

from __future__ import annotations

import numpy as np

from evenhand.compare.accuracy import within
from evenhand.compare.shapes import Floats, Instants, Layout, Mask
from evenhand.findings.findings import Present
from evenhand.records.diary import EventKind
from evenhand.records.trial import Trial
from evenhand.stats.cells import Cells
from evenhand.stats.estimate import Est
from evenhand.stats.intervals import rate_est
from evenhand.stats.visits import group_visits


def present(
    trial: Trial, layout: Layout, sensors: tuple[int, int], tolerance: int
) -> tuple[Present, Present]:
    """The share, in percent, of judging sticks in the time both were worn past warm-up at which each showed a reading
    within tolerance: once all gaps counting, once without the gaps marked 'phone away'.

    A stick beyond the same limit as the reading counts as right: as far as both can tell they agree. Movement is not
    asked about, because where a sensor shows nothing it has none.
    """
    pairs, minutes = layout.pairs, layout.minutes
    both = list(sensors)
    sticks = (pairs.wear[:, both] >= 0).all(axis=1) & pairs.judging & pairs.in_hours
    eligible = (minutes.wear[:, both] >= 0).all(axis=1) & minutes.in_hours
    first, second = (
        Present(
            _share(layout, sensors, right(layout, sensor, tolerance), (sticks, eligible)),
            _share(
                layout,
                sensors,
                right(layout, sensor, tolerance),
                (
                    sticks & ~(away(trial, sensor, pairs.at) & ~np.isfinite(pairs.reading[:, sensor])),
                    eligible & ~(away(trial, sensor, minutes.at) & ~minutes.have[:, sensor]),
                ),
            ),
        )
        for sensor in sensors
    )
    return first, second


def right(layout: Layout, sensor: int, tolerance: int) -> Floats:
    """1 where the sensor showed a reading within tolerance of the stick, else 0; shape (E,)."""
    pairs = layout.pairs
    reading = pairs.reading[:, sensor]
    shown = np.isfinite(reading)
    inside = within(np.where(shown, reading, 0.0), pairs.stick, tolerance)
    return np.asarray(shown & (inside | ~pairs.scored[:, sensor]), np.float64)


def away(trial: Trial, sensor: int, at: Instants) -> Mask:
    """Which instants lie in a stretch noted as 'phone away' for this sensor or for none; an open note lasts on."""
    inside = np.zeros(at.size, np.bool_)
    for event in trial.events:
        if event.kind is EventKind.AWAY and event.sensor in (None, trial.sensors[sensor].id):
            inside |= (at >= event.start.instant) & (event.end is None or at < event.end.instant)
    return inside


def _share(layout: Layout, sensors: tuple[int, int], y: Floats, masks: tuple[Mask, Mask]) -> Est:
    """The mean of `y` over the chosen sticks, by stretch, weighted by the eligible minutes; in percent."""
    sticks, eligible = masks
    a, b = sensors
    size = len(layout.worn)
    pairs, minutes = layout.pairs, layout.minutes
    stretch = pairs.wear[sticks, a] * size + pairs.wear[sticks, b]
    of_minute = minutes.wear[eligible, a] * size + minutes.wear[eligible, b]
    cells = Cells.count(of_minute, minutes.day[eligible], minutes.at[eligible])
    grouped = group_visits(stretch, pairs.day[sticks], pairs.at[sticks], cells)
    return rate_est(grouped.mean(y[sticks]))
