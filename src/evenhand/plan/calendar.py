"""A plan as a calendar file (RFC 5545): neutral titles, alarms only in waking hours, and ids by which a new export
replaces the old one."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from evenhand.clock import DAY, HOUR, MINUTE, zone_info
from evenhand.plan.ahead import ill
from evenhand.plan.hours import Hours
from evenhand.records.plan import Drawn
from evenhand.records.trial import Trial

if TYPE_CHECKING:
    from icalendar import Event

TITLE, TWICE, CHANGE, END = "Reminder", "Reminder (twice)", "Reminder: change", "Reminder: last day"
"""What the calendar shows, to whoever looks over a shoulder."""
TEXT = "As planned. Not while driving. Leave it out when you are unwell."
LASTS = 10 * MINUTE
WARNING = HOUR
"""A change rings this long before, too, where that lies in the hours."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its id within the trial, when (instant), its title, and how many seconds before it alarms ring (none:
    it does not ring). `cancelled`: an earlier drawing had it, this one has not."""

    uid: str
    at: int
    title: str
    rings: tuple[int, ...] = ()
    cancelled: bool = False


def entries(trial: Trial, drawn: Drawn) -> Iterator[Entry]:
    """Every entry of the plan, in order of its ids: sticks, then changes, then what is taken back."""
    hours = Hours.of(trial.question, trial.zones)
    for number, minute in enumerate(drawn.minutes, 1):
        title = TWICE if minute in drawn.repeats else TITLE
        left_out = ill(trial, minute)
        rings: tuple[int, ...] = (0,) if hours.allows(minute) else ()
        yield Entry(_uid(trial, "stick", number), minute, title, rings, cancelled=left_out)
    for number, wear in enumerate(drawn.wears, 1):
        at = wear.inserted.instant
        rings = tuple(before for before in (WARNING, 0) if hours.allows(at - before))
        yield Entry(_uid(trial, "change", number), at, CHANGE, rings)
    end = drawn.end.instant
    yield Entry(
        _uid(trial, "end", 1),
        end,
        END,
        tuple(before for before in (WARNING, 0) if hours.allows(end - before)),
    )
    for number in range(len(drawn.minutes) + 1, drawn.most_sticks + 1):
        yield Entry(_uid(trial, "stick", number), end, TITLE, cancelled=True)
    for number in range(len(drawn.wears) + 1, drawn.most_wears + 1):
        yield Entry(_uid(trial, "change", number), end, CHANGE, cancelled=True)


def _uid(trial: Trial, kind: str, number: int) -> str:
    """The same for the same entry of the same trial in every export; tells nothing of the trial."""
    digest = hashlib.sha256(f"calendar/{trial.header.id}/{kind}/{number}".encode()).hexdigest()
    return f"{digest[:32]}@evenhand.invalid"


def calendar(trial: Trial, drawn: Drawn) -> bytes:
    """The calendar file. The same plan gives the same bytes; later drawings and days noted ill raise SEQUENCE."""
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//Evenhand//plan//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    stamp = datetime.fromtimestamp(drawn.at.instant, UTC)
    for entry in entries(trial, drawn):
        made.add_component(_event(trial, entry, stamp, drawn.number - 1 + _edits(trial)))
    first = min(drawn.minutes[:1] + tuple(wear.inserted.instant for wear in drawn.wears))
    begin, finish = (datetime.fromtimestamp(at, UTC).date() for at in (first - DAY, drawn.end.instant + DAY))
    made.add_missing_timezones(begin, finish)
    return bytes(made.to_ical())


def _edits(trial: Trial) -> int:
    """Illness and trips noted change what the same drawing exports, so they raise SEQUENCE too."""
    return sum(event.kind.value in ("ill", "trip") for event in trial.events)


def _event(trial: Trial, entry: Entry, stamp: datetime, sequence: int) -> Event:
    from icalendar import Alarm, Event

    where = zone_info(trial.zones.at(entry.at))
    begin = datetime.fromtimestamp(entry.at, where)
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", stamp)
    event.add("sequence", sequence)
    event.add("summary", entry.title)
    event.add("description", TEXT)
    event.add("dtstart", begin)
    event.add("duration", timedelta(seconds=LASTS))
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    event.add("status", "CANCELLED" if entry.cancelled else "CONFIRMED")
    for before in () if entry.cancelled else entry.rings:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", entry.title)
        alarm.add("trigger", timedelta(seconds=-before))
        event.add_component(alarm)
    return event
