"""The truth an interval is held against: what sticks at every eligible minute would have given on average, of those that
would have been scored.

A pair is not scored where the sensor says LOW and the stick lies below the sensor's limit too (HIGH likewise): its error
has no size. So at such minutes only part of the sticks that could have come counts, those with the larger errors, and the
truth must be taken over the same part. Everywhere else every stick counts and closed forms serve.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from evenhand.compare.accuracy import within
from evenhand.compare.shapes import Layout
from evenhand.compare.splits import Split, labels
from evenhand.compare.worn_readings import nearest
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.truth import Truth

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Quantity:
    """What is asked of a pair: expected of a stick not yet taken (`closed`, from the meter, readings and blood), and of a
    stick that was (`of`, from readings and sticks)."""

    closed: Callable[[MeterNoise, Floats, Floats], Floats]
    of: Callable[[Floats, Floats], Floats]


SIZE = Quantity(
    lambda meter, reading, blood: meter.expected_abs_error(reading, blood),
    lambda reading, stick: np.abs(reading - stick),
)
ERROR = Quantity(lambda _meter, reading, blood: reading - blood, lambda reading, stick: reading - stick)
AGREE = Quantity(
    lambda meter, reading, blood: 100 * meter.chance_within(reading, blood, 20.0),
    lambda reading, stick: 100.0 * within(reading, stick, 20.0),
)


@dataclass(frozen=True, slots=True)
class Eligible:
    """The eligible minutes of the stretches that count: `reading` and `flag` (m, S) by sensor asked about, `blood` as the
    meter shows it and `stretch` (m,)."""

    reading: Floats
    flag: Whole
    blood: Floats
    stretch: Whole

    @classmethod
    def of(cls, layout: Layout, truth: Truth, split: Split, counted: Whole) -> Eligible:
        """Those of a split, of the stretches with these labels."""
        assert split.minutes is not None
        stretch = labels(layout, layout.minutes.wear, split.sensors)
        chosen = split.minutes & np.isin(stretch, counted)
        at = layout.minutes.at[chosen]
        reading = layout.minutes.reading[chosen][:, list(split.sensors)]
        flag = np.zeros(reading.shape, np.int64)
        for column, sensor in enumerate(split.sensors):
            used = layout.used[sensor]
            if at.size and used.instant.size:
                beside = nearest(used.instant, at)
                same = used.mg_dl[beside] == reading[:, column]
                flag[:, column] = np.where(same, used.flag[beside], 0)
        return cls(reading, flag, truth.blood_at(at), stretch[chosen])

    def mean(self, meter: MeterNoise, quantity: Quantity) -> Floats:
        """The quantity of each sensor, shape (S,): per stretch over the sticks that would be scored, stretches by their
        eligible minutes. NaN without a minute."""
        value = np.stack([quantity.closed(meter, reading, self.blood) for reading in self.reading.T], axis=1)
        weight = np.ones(self.blood.size)
        (beyond,) = np.nonzero((self.flag != 0).any(axis=1))
        if beyond.size:
            value[beyond], weight[beyond] = self._scored(meter, quantity, beyond)
        total = np.zeros(self.reading.shape[1])
        for stretch in np.unique(self.stretch):
            own = self.stretch == stretch
            if weight[own].sum() > 0:
                total += own.mean() * value[own].sum(axis=0) / weight[own].sum()
        return total if self.blood.size else np.full(self.reading.shape[1], np.nan)

    def _scored(self, meter: MeterNoise, quantity: Quantity, rows: Whole) -> tuple[Floats, Floats]:
        """Quantity times chance over the sticks that would be scored, (r, S), and their chance, (r,)."""
        sticks, chance = likely(meter, self.blood[rows])
        reading, flag = self.reading[rows], self.flag[rows]
        low = (flag[..., np.newaxis] == BEYOND_LOW) & (sticks < reading[..., np.newaxis])
        high = (flag[..., np.newaxis] == BEYOND_HIGH) & (sticks > reading[..., np.newaxis])
        scored = chance * ~(low | high).any(axis=1)
        found = quantity.of(reading[..., np.newaxis], np.broadcast_to(sticks, (*reading.shape, sticks.size)))
        return (found * scored[:, np.newaxis, :]).sum(axis=2), scored.sum(axis=1)


def likely(meter: MeterNoise, blood: Floats) -> tuple[Floats, Floats]:
    """Every value the meter can print between 20 and 600 mg/dL, (K,), and its chance at each value of blood, (n, K)."""
    sticks = np.arange(np.ceil(20 / meter.step), np.floor(600 / meter.step) + 1) * meter.step
    edges = np.concatenate(([-np.inf], sticks[:-1] + meter.step / 2, [np.inf]))
    scale = np.maximum(blood, 70.0)
    chance = np.zeros((blood.size, sticks.size))
    for share, sd in ((1 - meter.gross, meter.sd), (meter.gross, meter.gross_sd)):
        below = ndtr((edges - blood[:, np.newaxis]) / (sd * scale)[:, np.newaxis])
        chance += share * np.diff(below, axis=1)
    return sticks, chance
