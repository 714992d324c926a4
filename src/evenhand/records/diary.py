"""The diary: fingersticks, and everything else a wearer notes down."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from evenhand.clock import MINUTE, Stamp
from evenhand.errors import BadRecord
from evenhand.units import Glucose

REPEAT_WITHIN = 5 * MINUTE
"""Seconds: a planned repeat is of the stick before it, at most this much earlier."""


class Reason(StrEnum):
    """Why a stick was taken."""

    PLAN = "plan"
    HABIT = "habit"
    PROMPTED = "prompted"
    CALIBRATION = "calibration"
    UNKNOWN = "unknown"


class MarkKind(StrEnum):
    """What may be wrong with, or special about, a stick."""

    UNWASHED = "unwashed"
    STRIP_ERROR = "strip-error"
    CONTROL = "control"
    SAME_DROP = "same-drop"


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on a stick.

    `early` is True where it was set together with the value, before a value shown was typed for the stick
    and before a file with readings of that time was taken in: only then may it leave the stick out.
    """

    kind: MarkKind
    early: bool = True


@dataclass(frozen=True, slots=True)
class Shown:
    """What a sensor's screen showed at the moment of a stick, and the instant that was typed (seconds)."""

    sensor: str
    glucose: Glucose
    typed: int


@dataclass(frozen=True, slots=True)
class Row:
    """Where a record came from in a file: the file's id, its sheet and line (from 1)."""

    file: str
    sheet: str | None
    line: int


@dataclass(frozen=True, slots=True)
class Stick:
    """A fingerstick.

    `meter` is the meter's name, None for the trial's own. `repeat` marks a planned repeat of the stick
    before it. `into` is the id of the sensor that a calibration was typed into. `logged` is when it was
    recorded (instant). `inside` is, for control solution, whether it fell in its printed range.
    """

    id: str
    at: Stamp
    glucose: Glucose
    reason: Reason
    logged: int
    stated: bool = False
    meter: str | None = None
    lot: str | None = None
    marks: tuple[Mark, ...] = ()
    shown: tuple[Shown, ...] = ()
    into: str | None = None
    repeat: bool = False
    inside: bool | None = None
    source: Row | None = None

    def __post_init__(self) -> None:
        if self.into is not None and self.reason is not Reason.CALIBRATION:
            raise BadRecord(
                f"The stick of {self.at.iso} was typed into a sensor but is not a calibration.",
                "Use --reason calibration with --into.",
            )
        if self.repeat and self.reason is Reason.CALIBRATION:
            raise BadRecord(
                f"The stick of {self.at.iso} is a repeat and a calibration.", "Log the two as two sticks."
            )

    def marked(self, kind: MarkKind) -> Mark | None:
        """The mark of that kind, None where there is none."""
        return next((mark for mark in self.marks if mark.kind is kind), None)


class EventKind(StrEnum):
    """What a diary entry is about."""

    MEAL = "meal"
    EXERCISE = "exercise"
    ILL = "ill"
    TRIP = "trip"
    AWAY = "away"
    PRESSURE = "pressure"
    ALARM = "alarm"
    SKIN = "skin"
    CLOCK = "clock"
    EXPORTED = "exported"
    TREATED = "treated"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Event:
    """A diary entry other than a stick.

    `sensor` is the id of the sensor it is about, None for none. For a trip, `text` is the IANA zone
    travelled to. For an alarm, `text` may say 'low' or 'high' first. `end` None: a moment, or still lasting.
    """

    id: str
    kind: EventKind
    start: Stamp
    logged: int
    end: Stamp | None = None
    text: str = ""
    sensor: str | None = None
    source: Row | None = None

    def __post_init__(self) -> None:
        if self.end is not None and self.end.instant < self.start.instant:
            raise BadRecord(
                f"The {self.kind} of {self.start.iso} ends before it starts.", "Check --from and --to."
            )
        if self.kind is EventKind.TRIP and not self.text:
            raise BadRecord(
                "A trip has no time zone.", "Write it after 'trip', for example: note trip Asia/Tokyo."
            )
