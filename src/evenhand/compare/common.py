"""Common pairs of two sensors: sticks at which both had a reading, by the stretch in which the same two wears ran."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.compare.layout import Floats, Indices, Layout, Mask
from evenhand.stats.decision import Confidence
from evenhand.stats.visits import Cells, Visits, group_visits

STEADY_BELOW = 1.0
"""mg/dL per minute: below this in size glucose is steady."""


@dataclass(frozen=True, slots=True)
class Terms:
    """What is asked of two sensors. `margin` in mg/dL; `tolerance` 20 means within 20 mg/dL below 100 and 20 % from
    there up; `scatter` is the meter's SD in percent; `uncalibrated` leaves out what follows a calibration."""

    steady: bool
    margin: float
    tolerance: int
    scatter: float
    levels: Confidence
    uncalibrated: bool = False


@dataclass(frozen=True, slots=True)
class Common:
    """The common pairs of sensors `a` and `b` (places in the trial), n of them, in time order.

    Shapes (n,): `event` index into `Pairs`, `stick` mg/dL, `error_a`, `error_b` reading minus stick, `stretch` index
    into `stretches`, `day`, `at`. `stretches` holds the two wears of each (indices of `Layout.worn`). `visits`
    groups the pairs of the stretches that count, weighted by the eligible minutes in `cells`; `order` of it says which.
    """

    a: int
    b: int
    event: Indices
    stick: Floats
    error_a: Floats
    error_b: Floats
    stretch: Indices
    day: Indices
    at: Indices
    stretches: tuple[tuple[int, int], ...]
    cells: Cells
    visits: Visits

    @property
    def counted(self) -> Indices:
        """Which pairs lie in stretches that count, shape (m,)."""
        return self.visits.order

    @property
    def days(self) -> int:
        """Calendar days with a pair that counts."""
        return int(np.unique(self.day[self.counted]).size)

    @property
    def farther(self) -> Floats:
        """How much farther `a` was off than `b` at each pair, mg/dL, shape (n,)."""
        return np.abs(self.error_a) - np.abs(self.error_b)


def usable(layout: Layout, sensors: tuple[int, ...]) -> Mask:
    """Sticks at which each of `sensors` has a reading that can be scored; shape (E,)."""
    return np.asarray(layout.pairs.scored[:, list(sensors)].all(axis=1), np.bool_)


def steady(slope: Floats) -> Mask:
    """Where glucose is known to move by less than 1 mg/dL per minute; unknown movement is not steady."""
    return np.abs(slope) < STEADY_BELOW


def asked(layout: Layout, a: int, b: int, terms: Terms) -> tuple[Mask, Mask]:
    """Sticks (E,) and minutes (M,) of the kind asked about: in the target hours, steady where that is asked,
    before any calibration where that is asked, both sensors with a reading. The reasons of sticks are left open."""
    pairs, minutes = layout.pairs, layout.minutes
    chosen = usable(layout, (a, b)) & pairs.in_hours
    eligible = minutes.in_hours & minutes.have[:, a] & minutes.have[:, b]
    eligible &= (minutes.wear[:, a] >= 0) & (minutes.wear[:, b] >= 0)
    if terms.steady:
        chosen, eligible = chosen & steady(pairs.slope), eligible & steady(minutes.slope)
    if terms.uncalibrated:
        for sensor in (a, b):
            chosen = chosen & (pairs.part[:, sensor] <= 0)
            eligible = eligible & (minutes.part[:, sensor] <= 0)
    return chosen, eligible


def common(layout: Layout, a: int, b: int, chosen: Mask, eligible: Mask) -> Common:
    """The common pairs at `chosen` sticks (E,), weighted by the `eligible` minutes (M,) of each stretch."""
    pairs, minutes = layout.pairs, layout.minutes
    (event,) = np.nonzero(chosen)
    size = len(layout.worn)
    of_pair = pairs.wear[event, a] * size + pairs.wear[event, b]
    of_minute = minutes.wear[eligible, a] * size + minutes.wear[eligible, b]
    labels = np.unique(np.concatenate([of_pair, of_minute]))
    stretch = np.searchsorted(labels, of_pair)
    cells = Cells.count(np.searchsorted(labels, of_minute), minutes.day[eligible])
    stick, day, at = pairs.stick[event], pairs.day[event], pairs.at[event]
    return Common(
        a=a, b=b, event=event, stick=stick,
        error_a=pairs.reading[event, a] - stick,
        error_b=pairs.reading[event, b] - stick,
        stretch=stretch, day=day, at=at,
        stretches=tuple((int(label) // size, int(label) % size) for label in labels),
        cells=cells, visits=group_visits(stretch, day, at, cells),
    )  # fmt: skip


def primary(layout: Layout, a: int, b: int, terms: Terms) -> Common:
    """The common pairs the primary question is asked of: judging sticks of the kind asked about."""
    chosen, eligible = asked(layout, a, b, terms)
    return common(layout, a, b, chosen & layout.pairs.judging, eligible)


def within(stick: Floats, error: Floats, tolerance: int) -> Mask:
    """Within `tolerance` mg/dL where the stick is below 100 mg/dL, percent of the stick from 100 up; (n,).

    >>> within(np.array([90.0, 90.0, 100.0, 150.0]), np.array([20.0, 20.1, 20.0, -30.1]), 20).tolist()
    [True, False, True, False]
    """
    allowed = np.where(stick < 100, float(tolerance), tolerance * stick / 100)
    return np.abs(error) <= allowed + 1e-9
