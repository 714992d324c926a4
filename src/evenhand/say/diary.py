"""What is said after a note or a wear: what to mind, and what comes next. Recommends no treatment."""

from __future__ import annotations

from typing import Protocol

from evenhand.clock import Zones
from evenhand.records.diary import Event, EventKind, alarm_of
from evenhand.say.dates import moment


class Reached(Protocol):
    """How far back an export goes: seconds, whether that is all, and what is lost when."""

    @property
    def seconds(self) -> int:
        """The longest that one file went back."""

    @property
    def ends(self) -> bool:
        """Whether that is all it keeps."""

    @property
    def lost_from(self) -> int | None:
        """The instant from which readings are lost; None where nothing presses."""

    @property
    def by(self) -> int | None:
        """The instant after which they are lost."""


SICK = (
    "While you are ill there is no trial task: nothing asks for a stick, and none that is left out counts against "
    "anything. Your sick-day rules and your care team come first. When it is over: evenhand note ill --to now."
)
SICK_OVER = "The plan goes on from here; what was left out stays left out."
PUMP_OFF = (
    "It was driving your insulin. Until the next one reads, go by fingersticks and by what your care team told you for "
    "that case."
)


def unguarded(start: str, end: str) -> str:
    """Said where no sensor is past its warm-up for a while."""
    return (
        f"From {start}, until {end} no sensor is past its warm-up: no alarm guards you then. Keep the meter at hand, and do not "
        "sleep through it."
    )


def after_note(event: Event, device: str) -> str | None:
    """What follows a note; None for nothing. `device` is whose it is about."""
    if event.kind is EventKind.ILL and event.end is None:
        return SICK
    if event.kind is EventKind.CLOCK and event.off is not None:
        return f"The clock of {device} is {off(event.off)}."
    if event.kind is EventKind.ALARM:
        return _alarm(event.text)
    if event.kind is EventKind.TRIP and event.clocks is None:
        return "Which clocks changed by themselves? Add --clocks 'Fern, meter' (or none) next time; files are read by it."
    return None


def off(seconds: int) -> str:
    """How far a clock is off.

    >>> off(180), off(-3600), off(0), off(-20)
    ('3 min ahead', '1 h behind', 'right to the minute', '20 s behind')
    """
    if seconds == 0:
        return "right to the minute"
    size = abs(seconds)
    hours, minutes = size // 3600, size % 3600 // 60
    told = (
        f"{size} s"
        if size < 60
        else " ".join(
            part for part in (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "") if part
        )
    )
    return f"{told} {'ahead' if seconds > 0 else 'behind'}"


def _alarm(text: str) -> str | None:
    level, right = alarm_of(text)
    if level is None:
        return "For a low or a high? Write it first, for example: note alarm 'low, right'."
    if right is None:
        return "Whether it was right is not said. A stick within 15 minutes tells; or add the word right or wrong."
    return None


def export_due(device: str, kind: str, days: int | None, reach: Reached | None, zones: Zones) -> str:
    """A device that is due for an export; `days` since the last (None: never)."""
    named = f"the {device}" if device == "meter" else device
    if kind == "proof":
        return (
            f"Before the first insertion: export {named} once and take the file in, so that you know that it can be done "
            f"and how far back it goes. (Or: evenhand note exported --of {device}.)"
        )
    since = "was never exported" if days is None else f"was exported {days} days ago"
    told = f"{named[0].upper()}{named[1:]} {since}: export it now, and always before a sensor is thrown away."
    if reach is None:
        return told
    back = f"{reach.seconds // 86_400} days"
    if not reach.ends:
        return f"{told} Its export went back {back} so far."
    if reach.lost_from is None or reach.by is None:
        return f"{told} Its export goes back {back}."
    start, by = (moment(zones.stamp(at).iso) for at in (reach.lost_from, reach.by))
    return f"{told} It goes back {back} only: what it read from {start} on is lost after {by}."
