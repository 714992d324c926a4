"""How long one sensor lasts: warm-up, rated life, grace, and what early insertion costs. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.errors import BadRecord
from evenhand.records.sensors import CountsFrom, Sensor


@dataclass(frozen=True, slots=True)
class Life:
    """How a sensor runs when it is inserted `early` seconds before it is started; all in seconds.

    `from_insertion`: life and warm-up run from the insertion, else both from the start.
    """

    warm_up: int
    rated: int
    grace: int
    early: int
    from_insertion: bool

    @classmethod
    def of(cls, sensor: Sensor, early: int = 0) -> Life:
        """The life of a sensor. A warm-up and a grace not known count as none, a life not known is an error; where it is
        not known what life counts from it is the insertion, which promises less."""
        if sensor.life is None:
            raise BadRecord(
                f"How long {sensor.name} may be worn is not known.",
                f"Say it, for example: --set {sensor.name}.life=10d",
            )
        from_insertion = sensor.counts_from is not CountsFrom.START
        found = cls(sensor.warm_up or 0, sensor.life, sensor.grace or 0, early, from_insertion)
        if found.worn <= found.dark:
            raise BadRecord(
                f"Inserted that early, nothing is left of the life of {sensor.name}.",
                f"Insert it later: --set {sensor.name}.early=12h",
            )
        return found

    @property
    def cost(self) -> int:
        """What early insertion takes off the wear."""
        return self.early if self.from_insertion else 0

    @property
    def worn(self) -> int:
        """From start to the end of the rated life, grace left in reserve."""
        return self.rated - self.cost

    @property
    def most(self) -> int:
        """From start to the end of the grace.

        >>> day, hour = 86_400, 3_600
        >>> [Life(hour, 12 * day, 6 * hour, early, True).most / day for early in (0, day)]
        [12.25, 11.25]
        >>> Life(hour, 12 * day, 6 * hour, day, False).most / day
        12.25
        """
        return self.worn + self.grace

    @property
    def dark(self) -> int:
        """From start to the first reading: the warm-up, less what of it ran before the start.

        >>> hour = 3_600
        >>> [Life(hour, 240 * hour, 0, early, True).dark for early in (0, hour // 2, 12 * hour)]
        [3600, 1800, 0]
        """
        return max(0, self.warm_up - self.early) if self.from_insertion else self.warm_up
