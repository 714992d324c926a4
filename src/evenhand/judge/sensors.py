"""One sensor for the contract: everything measured about it by itself."""

from __future__ import annotations

import numpy as np

from evenhand.compare.accuracy import Gauge, gauge
from evenhand.compare.ranges import SensorRanges
from evenhand.compare.shapes import Layout
from evenhand.compare.shown import shown_minus_exported
from evenhand.compare.strays import strays
from evenhand.compare.upkeep import upkeep
from evenhand.compare.zones import count_zones
from evenhand.findings.parts import Calibration, SensorFindings, Stray
from evenhand.records.trial import Trial


def sensor_findings(
    trial: Trial, layout: Layout, place: int, ranges: SensorRanges, tolerance: int
) -> SensorFindings:
    """The sensor with that place in the trial. What a later version measures is None."""
    sensor, used, pairs = trial.sensors[place], layout.used[place], layout.pairs
    kept = upkeep(trial, layout, place)
    measured = gauge(layout, place)
    apart = pairs.apart[pairs.scored[:, place], place]
    judging = pairs.scored[:, place] & pairs.judging
    return SensorFindings(
        name=sensor.name,
        wears=sum(worn.sensor == place for worn in layout.worn),
        readings=int(used.instant.size),
        expected_readings=kept.expected_readings,
        gaps=kept.gaps,
        censored=int(np.count_nonzero(used.flag)),
        time_difference_s=float(np.median(apart)) if apart.size else None,
        shown_minus_exported=shown_minus_exported(layout, place, sensor.id),
        accuracy=measured.splits(),
        phases=measured.phases(),
        days=measured.days(),
        wear_by_wear=measured.wears(),
        levels=measured.levels(),
        zones=count_zones(pairs.stick[judging], pairs.reading[judging, place]) if judging.any() else None,
        against_reconstruction=None,
        strays=_strays(trial, layout, place, tolerance),
        lag_minutes=None,
        pressure_lows=None,
        calibrations=_calibrations(trial, measured),
        alarms=None,
        ranges=ranges.ranges,
        upkeep=kept.upkeep,
    )


def _strays(trial: Trial, layout: Layout, place: int, tolerance: int) -> tuple[Stray, ...]:
    def told(instant: int) -> str:
        return trial.zones.stamp(instant).iso

    return tuple(
        Stray(
            wear=each.wear.number,
            start=told(each.start),
            end=None if each.end is None else told(each.end),
            size=each.size,
            largest=each.largest,
            ending=each.ending,
            chance=None,
            source="sticks",
        )
        for each in strays(layout, place, tolerance)
    )


def _calibrations(trial: Trial, measured: Gauge) -> tuple[Calibration, ...]:
    return tuple(
        Calibration(trial.zones.stamp(at).iso, wear, before, after)
        for at, wear, before, after in measured.around_calibrations()
    )
