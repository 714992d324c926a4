"""Sensors under trial and their wears."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from evenhand.clock import Stamp
from evenhand.errors import BadRecord
from evenhand.units import Glucose


class CountsFrom(StrEnum):
    """What a sensor's rated life is counted from."""

    INSERTION = "insertion"
    START = "start"


class Ending(StrEnum):
    """How a wear ended."""

    END = "end"
    ACCIDENT = "accident"
    CHOICE = "choice"
    FAILED = "failed"
    NEVER_STARTED = "never-started"


class Side(StrEnum):
    """Which side of the body."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Sensor:
    """A sensor model under trial, by the wearer's own name for it.

    Durations are seconds; None is 'not known'. `place` (0, 1, 2) fixes hue and mark for life.
    `low` and `high` are the measuring limits. `price` is what one costs, in the wearer's money.
    """

    id: str
    name: str
    place: int
    interval: int | None = None
    warm_up: int | None = None
    life: int | None = None
    grace: int | None = None
    counts_from: CountsFrom | None = None
    low: Glucose | None = None
    high: Glucose | None = None
    price: float | None = None
    exports: bool | None = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadRecord("A sensor has no name.", "Give it the name you use for it.")
        if self.name.strip().lower() == "meter":
            raise BadRecord(
                "'meter' cannot be a sensor's name.", "It stands for the fingerstick meter; choose another."
            )
        for what, seconds in (("interval", self.interval), ("life", self.life)):
            if seconds is not None and seconds <= 0:
                raise BadRecord(
                    f"The {what} of {self.name} is not above zero.",
                    "Give a duration, for example 5min or 10d.",
                )
        for what, seconds in (("warm-up", self.warm_up), ("grace", self.grace)):
            if seconds is not None and seconds < 0:
                raise BadRecord(
                    f"The {what} of {self.name} is below zero.", "Give a duration, for example 1h."
                )
        if self.price is not None and self.price < 0:
            raise BadRecord(f"The price of {self.name} is below zero.", "Give the price of one sensor.")
        if self.low and self.high and self.low.mg_dl >= self.high.mg_dl:
            raise BadRecord(
                f"The low limit of {self.name} is not below its high limit.",
                "Give low and high the other way round.",
            )


@dataclass(frozen=True, slots=True)
class Wear:
    """One physical sensor, insertion to removal.

    Age counts from `started`; 'inserted' alone means started at insertion. `removed` None: still worn,
    or not logged. `serial` never leaves the trial file but on the claim sheet.
    """

    id: str
    sensor: str
    inserted: Stamp | None = None
    started: Stamp | None = None
    removed: Stamp | None = None
    site: str | None = None
    side: Side | None = None
    lot: str | None = None
    serial: str | None = None
    expires: date | None = None
    ending: Ending | None = None
    replaces: str | None = None
    drives: bool = False

    def __post_init__(self) -> None:
        if self.inserted is None and self.started is None:
            raise BadRecord("A wear has neither an insertion nor a start.", "Give --inserted or --started.")
        times = [stamp for stamp in (self.inserted, self.started, self.removed) if stamp is not None]
        if [stamp.instant for stamp in times] != sorted(stamp.instant for stamp in times):
            told = ", ".join(stamp.iso for stamp in times)
            raise BadRecord(
                f"Insertion, start and removal of a wear are out of order ({told}).", "Check the three times."
            )
        if self.replaces == self.id:
            raise BadRecord("A wear cannot replace itself.", "Name the wear it replaced.")

    @property
    def start(self) -> Stamp:
        """Age zero: the start, or the insertion where no start is recorded."""
        stamp = self.started or self.inserted
        assert stamp is not None
        return stamp

    @property
    def first(self) -> Stamp:
        """The insertion, or the start where no insertion is recorded."""
        stamp = self.inserted or self.started
        assert stamp is not None
        return stamp
