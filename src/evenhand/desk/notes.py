"""Noting down everything else: meals, illness, trips, alarms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from evenhand.clock import Zones, zone_info
from evenhand.desk.now import Now
from evenhand.desk.times import end_of, when
from evenhand.errors import ContradictingRecords, WrongUse
from evenhand.records.change import Change
from evenhand.records.diary import Event, EventKind
from evenhand.records.trial import Trial
from evenhand.store import file as store


@dataclass(frozen=True, slots=True)
class NoteSaid:
    """What a person says in a note, as text; None where nothing was said."""

    kind: EventKind
    text: str = ""
    of: str | None = None
    start: str | None = None
    end: str | None = None


@dataclass(frozen=True, slots=True)
class NoteLogged:
    """The note as saved (None where it only ended a trip), the trip it ended (None for none), the trial
    before, and what has to be said about its times."""

    event: Event | None
    ended: Event | None
    trial: Trial
    now: int
    said: tuple[str, ...]
    change: int


def log_note(path: Path, said: NoteSaid, now: Now) -> NoteLogged:
    """Save a diary entry. A trip ends the trip that was still going on; a trip to the trial's own zone does
    only that. Raises `BadTime`, `BadRecord`, `UnknownName`, `ContradictingRecords`; then nothing is saved."""
    trial = store.read(path, readings=False)
    instant = now.instant()
    begun = when(said.start, instant, trial.zones)
    zones = trial.zones
    if said.kind is EventKind.TRIP and said.text:
        zone_info(said.text)
        zones = Zones(said.text)
    over = end_of(said.end, begun.stamp, instant, zones) if said.end is not None else None
    event = Event(
        now.fresh_id(), said.kind, begun.stamp, instant, over.stamp if over else None, said.text,
        trial.sensor(said.of).id if said.of is not None else None,
    )  # fmt: skip
    ended = _ended(trial, event) if said.kind is EventKind.TRIP else None
    home = said.kind is EventKind.TRIP and said.text == trial.header.zone
    if home and ended is None:
        raise WrongUse(
            f"{said.text} is the trial's own zone, and no trip is going on.", "Name the zone travelled to."
        )
    records = tuple(record for record in (ended, None if home else event) if record is not None)
    notes = tuple(understood.said for understood in (begun, over) if understood and understood.said)
    change = store.write(
        path, Change(f"noted {said.kind} from {event.start.iso}", instant, records), trial.change
    )
    return NoteLogged(None if home else event, ended, trial, instant, notes, change)


def _ended(trial: Trial, trip: Event) -> Event | None:
    """The trip that this one ends, with its end; None where none was going on."""
    ended = None
    for other in trial.events:
        if other.kind is not EventKind.TRIP:
            continue
        if other.end is None and other.start.instant < trip.start.instant:
            ended = replace(other, end=trip.start)
        elif _overlap(other, trip):
            raise ContradictingRecords(
                f"Another trip, to {other.text}, is noted from {other.start.iso}.",
                "Undo it, or give --from and --to that do not overlap it.",
            )
    return ended


def _overlap(one: Event, other: Event) -> bool:
    first, second = sorted((one, other), key=lambda event: event.start.instant)
    return first.end is None or first.end.instant > second.start.instant
