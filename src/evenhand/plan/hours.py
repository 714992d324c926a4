"""The hours in which a wearer may be asked for something: waking, not quiet, where the wearer is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE, Zones
from evenhand.compare.hours import WAKING
from evenhand.compare.local import Local, between, local
from evenhand.compare.shapes import Instants, Mask
from evenhand.records.question import Question

Stretch = tuple[int, int]
"""Instants from (included) to (excluded)."""


@dataclass(frozen=True, slots=True)
class Hours:
    """Waking and quiet stretches of the day in minutes (from, to), over midnight where from > to; and the zones."""

    zones: Zones
    waking: Stretch = WAKING
    quiet: tuple[Stretch, ...] = ()

    @classmethod
    def of(cls, question: Question, zones: Zones) -> Hours:
        """The hours a question names; 07:00 to 23:00 where it names none."""
        return cls(zones, question.waking or WAKING, question.quiet_hours)

    def local(self, instants: Instants) -> Local:
        """Date and minute of the day where the wearer is."""
        return local(self.zones, instants)

    def open(self, when: Local) -> Mask:
        """Which of these moments may be used."""
        inside = between(when.minute, self.waking)
        for stretch in self.quiet:
            inside = inside & ~between(when.minute, stretch)
        return inside

    def allows(self, instant: int) -> bool:
        """Whether something may be asked at this instant.

        >>> Hours(Zones("UTC"), quiet=((13 * 60, 14 * 60),)).allows(7 * 3600)
        True
        >>> Hours(Zones("UTC"), quiet=((13 * 60, 14 * 60),)).allows(13 * 3600)
        False
        """
        return bool(self.open(self.local(np.array([instant], np.int64)))[0])

    def minutes(self, start: int, end: int) -> tuple[Instants, Local]:
        """Every whole minute of [start, end) that may be used, in order, with its local date and time."""
        first = -(-start // MINUTE) * MINUTE
        every = np.arange(first, end, MINUTE, dtype=np.int64)
        when = self.local(every)
        chosen = self.open(when)
        return every[chosen], Local(when.day[chosen], when.minute[chosen])

    def per_day(self) -> int:
        """How many minutes of a plain day may be used."""
        return int(self.open(Local(np.zeros(1440, np.int64), np.arange(1440))).sum())
