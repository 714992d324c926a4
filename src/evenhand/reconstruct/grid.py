"""The grid of five-minute steps, and where its unknowns stand in the band matrix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.scale import Floats

STEP = 5.0
"""Minutes between grid points, at which fluid is an unknown."""
KNOT = 2
"""Grid points from one unknown of a sensor's fast error to the next."""
CELL = 4
"""Grid points over which a sensor's slow offset is held constant."""
BEFORE, AFTER = 8, 9
"""Grid points before the first and after the last time of the data, at least."""


@dataclass(frozen=True, slots=True)
class Grid:
    """`size` grid points from the instant `start` (seconds), in cells of 4 (20 min); `sensors` sensors.

    The unknowns of a cell stand together, in order of time: at its first grid point the fast errors of all sensors
    and fluid, at the second fluid, then the slow offsets of all sensors, then fast errors and fluid, then fluid.
    """

    start: float
    size: int
    sensors: int

    @classmethod
    def over(cls, first: float, last: float, sensors: int) -> Grid:
        """The grid for data between two instants; its size is a multiple of `CELL`."""
        steps = int(np.floor((last - first) / (STEP * MINUTE))) + 1 + BEFORE + AFTER
        return cls(first - BEFORE * STEP * MINUTE, -(-steps // CELL) * CELL, sensors)

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return self.size // CELL

    @property
    def knots(self) -> int:
        """How many unknowns a sensor's fast error has."""
        return self.size // KNOT

    @property
    def in_cell(self) -> int:
        """How many unknowns a cell has."""
        return CELL + 3 * self.sensors

    @property
    def unknowns(self) -> int:
        """The order of the band matrix."""
        return self.cells * self.in_cell

    def minutes(self, instants: Floats) -> Floats:
        """Minutes since the grid's start."""
        return np.asarray((instants - self.start) / MINUTE, np.float64)

    def fluid(self, step: Whole) -> Whole:
        """Where fluid at these grid points stands among the unknowns."""
        within = step % CELL
        before = np.array([1, 1, 3, 3])[within]
        return np.asarray(step // CELL * self.in_cell + before * self.sensors + within, np.int64)

    def fast(self, sensor: Whole | int, knot: Whole) -> Whole:
        """Where the fast error of these sensors at these knots stands among the unknowns."""
        within = knot % 2 * (2 + 2 * self.sensors)
        return np.asarray(knot // 2 * self.in_cell + within + sensor, np.int64)

    def slow(self, sensor: Whole | int, cell: Whole) -> Whole:
        """Where the slow offset of these sensors in these cells stands among the unknowns."""
        return np.asarray(cell * self.in_cell + self.sensors + 2 + sensor, np.int64)


@dataclass(frozen=True, slots=True)
class Blocks:
    """A way to cut the grid's cells into `count` stretches: `of` (cells,) the stretch of each, from 0 up in order."""

    of: Whole

    @classmethod
    def whole(cls, grid: Grid) -> Blocks:
        """Everything in one."""
        return cls(np.zeros(grid.cells, np.int64))

    @classmethod
    def days(cls, grid: Grid) -> Blocks:
        """Stretches of 24 h from the grid's start, what is left over at the end with the one before it."""
        each = int(1440 / (STEP * CELL))
        return cls(np.minimum(np.arange(grid.cells) // each, max(grid.cells // each - 1, 0)))

    @property
    def count(self) -> int:
        """How many stretches there are."""
        return int(self.of[-1]) + 1

    def sums(self, along: Floats, each: int) -> Floats:
        """Sums over each stretch of values along the grid in their last axis, `each` a cell; the last axis becomes
        (count,)."""
        starts = np.searchsorted(self.of, np.arange(self.count)) * each
        return np.asarray(np.add.reduceat(along, starts, axis=-1), np.float64)

    def knots(self, along: Floats) -> Floats:
        """Sums of values at the knots."""
        return self.sums(along, CELL // KNOT)

    def at(self, minutes: Floats) -> Whole:
        """The stretch in which these minutes lie."""
        cell = np.clip(minutes // (STEP * CELL), 0, self.of.size - 1).astype(np.int64)
        return np.asarray(self.of[cell], np.int64)
