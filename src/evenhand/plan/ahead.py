"""What comes next: the next drawn minute that has no stick yet, and which phase of a wear the schedule leaves thin.

From times alone: no value of a stick or a sensor is looked at.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenhand.clock import DAY, HOUR
from evenhand.records.diary import EventKind, ill_at
from evenhand.records.plan import Drawn, PlannedWear
from evenhand.records.trial import Trial

NEAR = 600
"""A stick within this many seconds of a drawn minute is the one it asked for."""
THIN = 6
"""Fewer planned sticks than this in a phase of all a sensor's wears is thin: below six visits there is no interval."""


@dataclass(frozen=True, slots=True)
class Next:
    """The next drawn minute (None: none ahead), whether it is pricked twice, the next change of a sensor, and whether a
    stick should wait: the diary says ill."""

    minute: int | None
    twice: bool
    change: PlannedWear | None
    ill: bool


def upcoming(trial: Trial, drawn: Drawn, now: int) -> Next:
    """What comes next after `now`; a drawn minute up to ten minutes ago that has no stick yet still counts."""
    pricked = sorted(stick.at.instant for stick in trial.sticks)
    minute = next((one for one in drawn.minutes if one > now - NEAR and not _near(pricked, one)), None)
    change = min(
        (wear for wear in drawn.wears if not wear.happened and wear.inserted.instant > now),
        key=lambda wear: wear.inserted.instant,
        default=None,
    )
    return Next(minute, minute in drawn.repeats, change, ill_at(trial.events, now) is not None)


def _near(pricked: Iterable[int], minute: int) -> bool:
    return any(abs(one - minute) <= NEAR for one in pricked)


def ill(trial: Trial, instant: int) -> bool:
    """Whether the diary says that the wearer is ill then: no trial task on a sick day. An illness with no end noted lasts
    to the end of the local day after the last such note."""
    zones = trial.zones
    for event in trial.events:
        if event.kind is EventKind.ILL and event.start.instant <= instant:
            if event.end is not None and instant < event.end.instant:
                return True
            if event.end is None and zones.stamp(instant).day <= event.start.day:
                return True
    return False


@dataclass(frozen=True, slots=True)
class Phase:
    """Planned sticks in one phase of all wears of a sensor (by name): first_24h, middle, last_24h."""

    sensor: str
    name: str
    sticks: int

    @property
    def thin(self) -> bool:
        """Whether there are too few for an interval."""
        return self.sticks < THIN


def phases(trial: Trial, drawn: Drawn) -> tuple[Phase, ...]:
    """How many drawn minutes lie in each phase of each sensor's wears. Nights are left to habit, lows and highs to
    chance: nobody is asked to fill them."""
    found = []
    for sensor in trial.sensors:
        counts = {"first_24h": 0, "middle": 0, "last_24h": 0}
        for wear in drawn.wears:
            if wear.sensor != sensor.id:
                continue
            for minute in drawn.minutes:
                if not wear.reads.instant <= minute < wear.removed.instant:
                    continue
                first = minute < wear.started.instant + DAY
                last = minute >= wear.removed.instant - 24 * HOUR
                counts["first_24h"] += first
                counts["last_24h"] += last
                counts["middle"] += not (first or last)
        found += [Phase(sensor.name, name, count) for name, count in counts.items()]
    return tuple(found)
