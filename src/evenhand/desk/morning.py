"""The morning round: the night's sticks typed as plain lines, and what is still to be said of those that are there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from evenhand.clock import HOUR, MINUTE, understand_time
from evenhand.desk.notes import NoteLogged, NoteSaid, log_note
from evenhand.desk.now import Now
from evenhand.desk.sticks import StickLogged, StickSaid, log_stick
from evenhand.errors import BadValue, EvenhandError, UnknownName
from evenhand.intake.one_line import Line, read_line
from evenhand.records.diary import EventKind, MarkKind, Reason, Stick, alarm_of
from evenhand.records.planned import with_reasons
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.store import file as store
from evenhand.units import Glucose

ASKED_BACK = 36 * HOUR
"""Sticks without a reason are asked about for so long (seconds); older ones stay unknown."""

MOST_LINES = 400
"""More lines than this were not pasted by hand."""

STILL_LOW = 30 * MINUTE
"""A low stick this young is now: the round stops for it."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A line of the morning as saved: the stick, and whether its reason was in the line."""

    logged: StickLogged
    explained: bool

    @property
    def low_now(self) -> bool:
        """Whether the stick is a low of this moment, which everything else waits for."""
        stick = self.logged.stick
        return stick.glucose.is_low and self.logged.now - stick.at.instant <= STILL_LOW


def is_file(text: str) -> bool:
    """Whether what was typed or pasted is the path of a file that is there; quotes around it do not count."""
    try:
        return bool(text) and Path(unquoted(text)).is_file()
    except OSError:
        return False


def unquoted(text: str) -> str:
    """A path as terminals paste it, without the quotes around it.

    >>> unquoted("'meter memory.csv'")
    'meter memory.csv'
    """
    bare = text.strip()
    return bare[1:-1] if len(bare) > 1 and bare[0] == bare[-1] and bare[0] in "'\"" else bare


def type_line(path: Path, text: str, now: Now) -> Typed:
    """Save one line ('02:10 4.1', 'Tue 07:42 6.1 alarm') as a stick, its other words as a note beside it.

    `BadValue` and `BadTime` where it cannot be read; then nothing is saved.
    """
    trial = store.read(path, readings=False)
    jotting: Line = read_line(text, trial, now.instant())
    said = StickSaid(at=jotting.when, reason=jotting.reason, mark=jotting.marks)
    logged = log_stick(path, trial, jotting.glucose, said, now)
    if jotting.note and logged.change is not None:
        log_note(path, NoteSaid(EventKind.OTHER, jotting.note, start=logged.stick.at.iso), now)
    return Typed(logged, explained=logged.stick.stated)


def low_among(lines: str, trial: Trial, now: int) -> Glucose | None:
    """The lowest low of this moment among pasted lines, whether or not they can be taken in; a line without a time may be
    of now. None where there is none."""
    found = []
    for text in lines.splitlines()[:MOST_LINES]:
        try:
            jotting = read_line(text, trial, now)
            at = understand_time(jotting.when, now, trial.zones).stamp.instant
        except EvenhandError:
            continue
        if jotting.glucose.is_low and now - at <= STILL_LOW and MarkKind.CONTROL not in jotting.marks:
            found.append(jotting.glucose)
    return min(found, key=lambda one: one.mg_dl, default=None)


def unexplained(trial: Trial, now: int) -> tuple[Stick, ...]:
    """The sticks of the last day and a half of which nobody has said why they were taken and that lie at no drawn minute,
    oldest first."""
    return tuple(
        stick
        for stick in with_reasons(trial).sticks
        if stick.reason is Reason.UNKNOWN and not stick.stated and 0 <= now - stick.at.instant <= ASKED_BACK
    )


def shown_from(text: str, sensors: tuple[Sensor, ...]) -> tuple[str, ...]:
    """What the screens showed, typed as '5.9 6.4' in the sensors' order ('-' for one that was not looked at), or as
    NAME=VALUE; as the settings of a stick.

    >>> shown_from("5.9 -", (Sensor("f", "Fern", 0), Sensor("s", "Slate", 1)))
    ('Fern=5.9',)
    """
    parts = text.replace(";", " ").split()
    if all("=" in part for part in parts):
        return tuple(parts)
    if len(parts) > len(sensors):
        names = " ".join(sensor.name for sensor in sensors)
        raise BadValue(
            f"'{text}' holds more values than there are sensors.", f"Write them in this order: {names}."
        )
    return tuple(f"{sensor.name}={part}" for sensor, part in zip(sensors, parts, strict=False) if part != "-")


def note_alarm(path: Path, text: str, now: Now) -> NoteLogged:
    """Save an alarm typed as 'Fern 02:10 low right': the sensor first, then when it sounded, then the rest.

    `UnknownName` or `BadTime` where sensor or time cannot be read."""
    trial = store.read(path, readings=False)
    for sensor in sorted(trial.sensors, key=lambda one: -len(one.name)):
        if text.casefold().startswith(sensor.name.casefold() + " "):
            time, _, words = text[len(sensor.name) :].strip().partition(" ")
            if alarm_of(words)[0] is None:
                raise BadValue(
                    f"'{text}' does not say low or high.", "Write for example: Fern 02:10 low right."
                )
            return log_note(path, NoteSaid(EventKind.ALARM, words.strip(), sensor.name, time), now)
    names = ", ".join(sensor.name for sensor in trial.sensors)
    raise UnknownName(f"'{text}' does not begin with a sensor's name.", f"The sensors are: {names}.")


def worn_now(trial: Trial, now: int) -> tuple[Sensor, ...]:
    """The sensors that are on the body at an instant."""
    worn = {
        wear.sensor
        for wear in trial.wears
        if wear.first.instant <= now and (wear.removed is None or now < wear.removed.instant)
    }
    return tuple(sensor for sensor in trial.sensors if sensor.id in worn)
