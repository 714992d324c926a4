"""The whole trial, and the rules between its records."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evenhand.clock import Trip, ZoneOrigin, Zones
from evenhand.errors import ContradictingRecords, EvenhandError, UnknownName, raise_all
from evenhand.records.diary import Event, EventKind, Stick
from evenhand.records.files import FileKey, SourceFile
from evenhand.records.plan import Plan
from evenhand.records.question import Deviation, Opening, Question
from evenhand.records.sensors import Sensor, Wear
from evenhand.units import Unit

if TYPE_CHECKING:
    from evenhand.records.readings import Readings


@dataclass(frozen=True, slots=True)
class Header:
    """What is settled when a trial is made: id, name, zone and where it came from, the wearer's unit, the
    meter's name, the seed of every random stream, and when it was made (instant)."""

    id: str
    name: str
    zone: str
    zone_origin: ZoneOrigin
    unit: Unit
    meter: str
    seed: int
    made: int


@dataclass(frozen=True, slots=True)
class Trial:
    """One side-by-side experiment of one wearer: everything the trial file holds now.

    Sensors are in order of `place`, wears of `first`, sticks and events in time order. `readings` maps a
    sensor's id to its readings (absent: none, or not loaded). `edition` is the SHA-256 of all that a
    judgement is made from (empty where readings were not loaded). `change` is the number of the last change.
    """

    header: Header
    sensors: tuple[Sensor, ...]
    wears: tuple[Wear, ...] = ()
    sticks: tuple[Stick, ...] = ()
    events: tuple[Event, ...] = ()
    question: Question = field(default_factory=lambda: Question("question"))
    plan: Plan = field(default_factory=Plan)
    openings: tuple[Opening, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    files: tuple[SourceFile, ...] = ()
    keys: tuple[FileKey, ...] = ()
    readings: dict[str, Readings] = field(default_factory=dict)
    edition: str = ""
    change: int = 0

    @property
    def zones(self) -> Zones:
        """The trial's zone and those of the trips in the diary."""
        trips = [event for event in self.events if event.kind is EventKind.TRIP]
        return Zones(
            self.header.zone,
            tuple(
                Trip(trip.start.instant, trip.end.instant if trip.end else None, trip.text) for trip in trips
            ),
        )

    def sensor(self, name: str) -> Sensor:
        """The sensor of that name (upper and lower case alike); `UnknownName` where there is none."""
        for sensor in self.sensors:
            if sensor.name.casefold() == name.strip().casefold():
                return sensor
        names = ", ".join(sensor.name for sensor in self.sensors)
        raise UnknownName(f"There is no sensor '{name}' in this trial.", f"Its sensors are: {names}.")

    def wears_of(self, sensor: str) -> tuple[Wear, ...]:
        """The wears of the sensor with that id, by start."""
        return tuple(
            sorted(
                (wear for wear in self.wears if wear.sensor == sensor), key=lambda wear: wear.start.instant
            )
        )

    def check(self) -> None:
        """Raise every contradiction between records at once; quiet where there is none."""
        raise_all((*_name_problems(self.sensors), *self._reference_problems(), *self._overlaps()))

    def _reference_problems(self) -> Iterator[EvenhandError]:
        known = {sensor.id for sensor in self.sensors}
        for wear in self.wears:
            if wear.sensor not in known:
                yield ContradictingRecords(
                    "A wear belongs to a sensor that is not in this trial.",
                    "Undo the change that took the sensor away.",
                )
        for stick in self.sticks:
            for sensor in (stick.into, *(shown.sensor for shown in stick.shown)):
                if sensor is not None and sensor not in known:
                    yield ContradictingRecords(
                        f"The stick of {stick.at.iso} names a sensor that is not in this trial.",
                        "Log it again.",
                    )

    def _overlaps(self) -> Iterator[EvenhandError]:
        """Wears of one sensor may overlap between insertion and start, never between start and removal."""
        for sensor in self.sensors:
            wears = self.wears_of(sensor.id)
            for before, after in itertools.pairwise(wears):
                if before.removed is not None and before.removed.instant > after.start.instant:
                    yield ContradictingRecords(
                        f"Two wears of {sensor.name} ran at once: one until {before.removed.iso}, the next from {after.start.iso}.",
                        "Correct the removal of the first or the start of the second.",
                    )


def _name_problems(sensors: tuple[Sensor, ...]) -> Iterator[EvenhandError]:
    seen: set[str] = set()
    for sensor in sensors:
        if sensor.name.casefold() in seen:
            yield ContradictingRecords(f"Two sensors are called {sensor.name}.", "Give each its own name.")
        seen.add(sensor.name.casefold())
