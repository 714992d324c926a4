"""The grid of five-minute steps, and where its unknowns stand in the band matrix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.reconstruct.data import Whole

STEP = 5.0
"""Minutes between grid points."""
BEFORE, AFTER = 8, 9
"""Grid points before the first and after the last time of the data."""
TOGETHER = 3
"""Grid points over which a sensor's slow offset is held constant."""


@dataclass(frozen=True, slots=True)
class Grid:
    """`size` grid points from the instant `start` (seconds), in cells of `together`; `sensors` sensors.

    The unknowns of a cell stand together: the slow offsets of all sensors, then fluid at its grid points.
    """

    start: float
    size: int
    sensors: int
    together: int = TOGETHER

    @classmethod
    def over(cls, first: float, last: float, sensors: int, together: int = TOGETHER) -> Grid:
        """The grid for data between two instants; its size is a multiple of `together`."""
        steps = int(np.floor((last - first) / (STEP * MINUTE))) + 1 + BEFORE + AFTER
        return cls(first - BEFORE * STEP * MINUTE, -(-steps // together) * together, sensors, together)

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return self.size // self.together

    @property
    def unknowns(self) -> int:
        """The order of the band matrix."""
        return self.cells * (self.together + self.sensors)

    def minutes(self, instants: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        """Minutes since the grid's start."""
        return np.asarray((instants - self.start) / MINUTE)

    def fluid(self, step: Whole) -> Whole:
        """Where fluid at these grid points stands among the unknowns."""
        return step // self.together * (self.together + self.sensors) + self.sensors + step % self.together

    def offset(self, sensor: Whole, cell: Whole) -> Whole:
        """Where the slow offset of these sensors in these cells stands among the unknowns."""
        return cell * (self.together + self.sensors) + sensor
