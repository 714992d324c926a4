"""Common pairs of two sensors: sticks at which both had a reading, by the stretch in which the same two wears ran."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.compare.measured import measured
from evenhand.compare.shapes import Floats, Indices, Layout, Mask
from evenhand.compare.splits import Split, labels, uncalibrated, whole
from evenhand.stats.decision import Confidence
from evenhand.stats.grouped import Visits


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
    """The common pairs of two sensors, a and b, n of them, in time order.

    Shapes (n,): `stick` mg/dL, `error_a`, `error_b` reading minus stick, `stretch` the label of the two wears, `day`,
    `at`. `sensors` are their places in the trial. `visits` groups the pairs of the stretches that count, weighted by eligible minutes. `wears` is how many
    wears the layout has, by which a label is read.
    """

    sensors: tuple[int, int]
    stick: Floats
    error_a: Floats
    error_b: Floats
    stretch: Indices
    day: Indices
    at: Indices
    visits: Visits
    wears: int

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
        """How much farther a was off than b at each pair, mg/dL, shape (n,)."""
        return np.abs(self.error_a) - np.abs(self.error_b)

    def pricked_days(self) -> dict[int, int]:
        """Calendar days with a pair that counts, by wear (index into `Layout.worn`)."""
        held = self.counted
        found: dict[int, int] = {}
        for side in divmod(self.stretch[held], self.wears):
            for wear in np.unique(side).tolist():
                found[wear] = int(np.unique(self.day[held][side == wear]).size)
        return found

    def worn(self, stretch: int) -> tuple[int, int]:
        """The two wears (indices into `Layout.worn`) of a stretch, by its label."""
        return divmod(int(stretch), self.wears)


def asked(layout: Layout, sensors: tuple[int, int], terms: Terms, sticks: Mask | None = None) -> Split:
    """The pairs and minutes asked about; `sticks` (E,) says which events count, the judging ones where None."""
    split = whole(layout, sensors, "steady" if terms.steady else "all", sticks)
    return uncalibrated(layout, split) if terms.uncalibrated else split


def common(layout: Layout, split: Split, weights: Floats | None = None) -> Common:
    """The common pairs of a split of two sensors; `weights` (E,) fixes each stick's weight."""
    a, b = split.sensors[0], split.sensors[1]
    found = measured(layout, split, weights)
    pairs, rows = layout.pairs, found.rows
    stick = pairs.stick[rows]
    return Common(
        sensors=(a, b),
        stick=stick,
        error_a=pairs.reading[rows, a] - stick,
        error_b=pairs.reading[rows, b] - stick,
        stretch=labels(layout, pairs.wear[rows], split.sensors),
        day=pairs.day[rows],
        at=pairs.at[rows],
        visits=found.visits,
        wears=len(layout.worn),
    )


def primary(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Common:
    """The common pairs the question is asked of: judging sticks of the kind asked about."""
    return common(layout, asked(layout, sensors, terms))
