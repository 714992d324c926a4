"""The minutes of an invented trial, on the wall clock where the wearer was."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE, offset_at, possible_instants

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Grid:
    """M minutes from `start` (instant of minute 0). Shapes (M,): `offset` seconds east of UTC, `wall` minutes
    on the wall clock since the local midnight before `start`."""

    start: int
    zone: str
    offset: Ints
    wall: Ints

    @classmethod
    def over(cls, start: int, minutes: int, zone: str) -> Grid:
        """The grid of `minutes` minutes from an instant.

        >>> grid = Grid.over(1774742400, 2880, "Europe/Lisbon")      # 2026-03-29, the clock goes forward at 1
        >>> int(grid.wall[59]), int(grid.wall[60])
        (59, 120)
        """
        at = start + MINUTE * np.arange(minutes, dtype=np.int64)
        hours = np.arange(start // HOUR, (start + MINUTE * minutes) // HOUR + 1)
        by_hour = np.array([offset_at(int(hour) * HOUR, zone) for hour in hours], dtype=np.int64)
        offset = by_hour[at // HOUR - start // HOUR]
        local = at + offset
        midnight = (start + int(offset[0])) // DAY * DAY
        return cls(start, zone, offset, (local - midnight) // MINUTE)

    def __len__(self) -> int:
        return int(self.wall.size)

    @property
    def at(self) -> Ints:
        """The instants, shape (M,)."""
        return self.start + MINUTE * np.arange(len(self), dtype=np.int64)

    @property
    def of_day(self) -> Ints:
        """Minute of the local day, shape (M,)."""
        return self.wall % 1440

    @property
    def day(self) -> Ints:
        """Local day, 0 the day of `start`, shape (M,)."""
        return self.wall // 1440

    def within(self, hours: tuple[int, int]) -> NDArray[np.bool_]:
        """Which minutes lie within these minutes of the local day, shape (M,)."""
        return (self.of_day >= hours[0]) & (self.of_day < hours[1])

    def minute(self, wall: Ints | Floats) -> Ints:
        """The grid minute (0 to M, M for later) at which the wall clock first showed `wall` minutes."""
        return np.searchsorted(np.maximum.accumulate(self.wall), wall).astype(np.int64)


def instant_of(text: str, zone: str) -> int:
    """The first instant at which clocks in `zone` showed the ISO wall time `text`."""
    return possible_instants(datetime.fromisoformat(text), zone)[0]
