"""How far one sensor was off against sticks: over all, by movement and hour, phase, day, wear, level, calibration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from evenhand.compare.measured import Measured, cells_of, grouped, measured
from evenhand.compare.shapes import Floats, Layout, Mask, Pairs
from evenhand.compare.splits import (
    LEVELS,
    PHASES,
    WHOLE,
    Split,
    first_day,
    in_part,
    in_wear,
    level_by_sensor,
    level_by_stick,
    on_day,
    phase,
    whole,
)
from evenhand.findings.parts import (
    Accuracy,
    AccuracySplits,
    DayAccuracy,
    LeftOut,
    Levels,
    LevelTables,
    Phases,
    WearAccuracy,
)
from evenhand.stats.cells import Cells
from evenhand.stats.intervals import log_est, mean_est, rate_est

TOLERANCES = (15, 20, 30, 40)
SWITCH = 100.0
"""mg/dL: below it a tolerance is in mg/dL, from it on in percent of the stick (this project's choice)."""


def within(reading: Floats, stick: Floats, tolerance: float) -> Mask:
    """Whether a reading is within `tolerance` mg/dL of a stick below 100 mg/dL, or within that percentage of one from
    100 up; limits included. All in mg/dL: in mmol/L the limits are 20/18.0156 and 100/18.0156, unrounded.

    >>> within(np.array([119.0, 120.1, 180.0]), np.array([99.0, 100.0, 150.0]), 20).tolist()
    [True, False, True]
    """
    inside: Mask = np.abs(reading - stick) <= allowed(stick, tolerance) + 1e-9
    return inside


def allowed(stick: Floats, tolerance: float) -> Floats:
    """The largest error within tolerance at each stick, mg/dL, shape of `stick`.

    >>> allowed(np.array([80.0, 100.0, 200.0]), 20).tolist()
    [20.0, 20.0, 40.0]
    """
    return np.asarray(np.where(stick < SWITCH - 1e-9, tolerance, tolerance / 100 * stick), np.float64)


def errors(pairs: Pairs, sensor: int) -> Floats:
    """Shape (E, 7): error in mg/dL, its size, its size in percent of the stick, and within 15, 20, 30, 40 as 0 or 1;
    NaN, or 0 in the last four, without a reading."""
    reading = pairs.reading[:, sensor]
    error = reading - pairs.stick
    size = np.abs(error)
    rates = [within(reading, pairs.stick, limit).astype(np.float64) for limit in TOLERANCES]
    return np.stack([error, size, 100 * size / pairs.stick, *rates], axis=1)


@dataclass(frozen=True, slots=True)
class Gauge:
    """One sensor of a layout, ready to be measured under any split. `sticks` says which events count
    (`Pairs.judging` by default)."""

    layout: Layout
    sensor: int
    sticks: Mask
    y: Floats

    def accuracy(self, split: Split) -> Accuracy:
        """The contract's ACC under a split of this sensor."""
        return self._of(measured(self.layout, split))

    def splits(self) -> AccuracySplits:
        """Over the whole wear, by movement, by time of day."""
        return AccuracySplits(
            **{name: self.accuracy(whole(self.layout, (self.sensor,), name, self.sticks)) for name in WHOLE}
        )

    def phases(self) -> Phases:
        """First 24 h, middle, last 24 h."""
        return Phases(
            **{name: self.accuracy(phase(self.layout, (self.sensor,), name, self.sticks)) for name in PHASES}
        )

    def levels(self) -> LevelTables:
        """Sorted by the stick, and sorted by this sensor; never mixed."""
        by_stick = {
            name: self.accuracy(level_by_stick(self.layout, (self.sensor,), name, self.sticks))
            for name in LEVELS
        }
        by_sensor = {
            name: self.accuracy(level_by_sensor(self.layout, self.sensor, name, self.sticks))
            for name in LEVELS
        }
        return LevelTables(Levels(**by_stick), Levels(**by_sensor))

    def days(self) -> tuple[DayAccuracy, ...]:
        """Every local date with a pair; day 1 is the trial's first."""
        base, cells = self._base()
        first = first_day(self.layout)
        found = []
        for day in np.unique(self.layout.pairs.day[base.pairs]).tolist():
            chosen = cells.day == day
            part = grouped(self.layout, on_day(self.layout, base, day), cells.pick(chosen))
            number = day - (day if first is None else first) + 1
            found.append(DayAccuracy(number, date.fromordinal(day).isoformat(), self._of(part)))
        return tuple(found)

    def wears(self) -> tuple[WearAccuracy, ...]:
        """Every wear of this sensor, pairs or none."""
        base, cells = self._base()
        found = []
        for place, worn in enumerate(self.layout.worn):
            if worn.sensor == self.sensor:
                part = grouped(
                    self.layout, in_wear(self.layout, base, place), cells.pick(cells.wear == place)
                )
                found.append(WearAccuracy(worn.number, self._of(part)))
        return tuple(found)

    def around_calibrations(self) -> tuple[tuple[int, int, Accuracy, Accuracy], ...]:
        """Per calibration: its instant, the number of the wear, accuracy of the part before and of the part after."""
        base, _ = self._base()
        found: list[tuple[int, int, Accuracy, Accuracy]] = []
        for place, worn in enumerate(self.layout.worn):
            if worn.sensor != self.sensor or not worn.calibrated:
                continue
            own = in_wear(self.layout, base, place)
            parts = [
                self.accuracy(in_part(self.layout, own, part)) for part in range(len(worn.calibrated) + 1)
            ]
            found.extend(
                (at, worn.number, parts[part], parts[part + 1]) for part, at in enumerate(worn.calibrated)
            )
        return tuple(found)

    def _base(self) -> tuple[Split, Cells]:
        base = whole(self.layout, (self.sensor,), "all", self.sticks)
        cells = cells_of(self.layout, base)
        assert cells is not None
        return base, cells

    def _of(self, part: Measured) -> Accuracy:
        bias, mad, mard, *rates = part.means(self.y)
        pairs = self.layout.pairs
        beyond = (pairs.flag[part.rows, self.sensor] != 0) | (pairs.stick_flag[part.rows] != 0)
        return Accuracy(
            pairs=int(part.rows.size),
            at_least=int(np.count_nonzero(beyond)),
            left_out=tuple(LeftOut(self.layout.worn[wear].number, why) for wear, why in bias.left_out),
            bias=mean_est(bias),
            mad=log_est(mad),
            mard=log_est(mard),
            within={
                f"{limit}/{limit}": rate_est(rate) for limit, rate in zip(TOLERANCES, rates, strict=True)
            },
        )


def gauge(layout: Layout, sensor: int, sticks: Mask | None = None) -> Gauge:
    """Make one sensor ready to be measured."""
    chosen = layout.pairs.judging if sticks is None else sticks
    return Gauge(layout, sensor, chosen, errors(layout.pairs, sensor))
