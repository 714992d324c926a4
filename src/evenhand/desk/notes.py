"""Noting down everything else: meals, illness, trips, alarms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from evenhand.clock import Understood, Zones, zone_info
from evenhand.desk.now import Now
from evenhand.desk.times import end_of, when
from evenhand.desk.weekly import METER, clock_off
from evenhand.errors import BadTime, ContradictingRecords, WrongUse
from evenhand.records.change import Change
from evenhand.records.diary import Event, EventKind
from evenhand.records.trial import Trial
from evenhand.store import file as store

LASTING = (EventKind.ILL, EventKind.AWAY, EventKind.TRIP)
"""What goes on until its end is noted."""


@dataclass(frozen=True, slots=True)
class NoteSaid:
    """What a person says in a note, as text; None where nothing was said."""

    kind: EventKind
    text: str = ""
    of: str | None = None
    start: str | None = None
    end: str | None = None
    clocks: str | None = None


@dataclass(frozen=True, slots=True)
class NoteLogged:
    """The note as saved (None where it only ended something), the trip or illness it ended (None for none), the trial
    before, and what has to be said about its times."""

    event: Event | None
    ended: Event | None
    trial: Trial
    now: int
    said: tuple[str, ...]
    change: int


def log_note(path: Path, said: NoteSaid, now: Now) -> NoteLogged:
    """Save a diary entry. A trip ends the trip that was still going on; a trip to the trial's own zone does
    only that, as an end without a beginning does for what was still going on. Raises `BadTime`, `BadRecord`, `UnknownName`, `ContradictingRecords`; then nothing is saved."""
    trial = store.read(path, readings=False)
    instant = now.instant()
    lasting = _lasting(trial, said)
    begun = when(said.start, instant, trial.zones)
    if lasting is not None and said.end is not None:
        return _over(path, trial, lasting, when(said.end, instant, trial.zones), instant)
    zones = trial.zones
    if said.kind is EventKind.TRIP and said.text:
        zone_info(said.text)
        zones = Zones(said.text)
    over = end_of(said.end, begun.stamp, instant, zones) if said.end is not None else None
    event = Event(
        now.fresh_id(), said.kind, begun.stamp, instant, over.stamp if over else None, said.text,
        _sensor(trial, said.of), clocks=_clocks(trial, said), off=_off(said, instant, trial.zones),
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


def _lasting(trial: Trial, said: NoteSaid) -> Event | None:
    """What a note with an end and no beginning ends: the last of its kind, and sensor, that is still going on."""
    if said.start is not None or said.kind not in LASTING:
        return None
    of = _sensor(trial, said.of)
    open_ = [one for one in trial.events if one.kind is said.kind and one.end is None and one.sensor == of]
    return open_[-1] if open_ else None


def _over(path: Path, trial: Trial, lasting: Event, end: Understood, instant: int) -> NoteLogged:
    ended = replace(lasting, end=end.stamp)
    change = store.write(
        path, Change(f"ended {ended.kind} of {ended.start.iso}", instant, (ended,)), trial.change
    )
    return NoteLogged(None, ended, trial, instant, (end.said,) if end.said else (), change)


def _sensor(trial: Trial, name: str | None) -> str | None:
    """The id of the sensor that is named; None for none, and for the meter."""
    return None if name is None or name.strip().lower() == METER else trial.sensor(name).id


def _clocks(trial: Trial, said: NoteSaid) -> tuple[str, ...] | None:
    """The devices whose clocks changed by themselves; None where nothing is said."""
    if said.clocks is None:
        return None
    if said.kind is not EventKind.TRIP:
        raise WrongUse("--clocks belongs to a trip.", "Leave it out, or note a trip.")
    if said.clocks.strip().lower() == "none":
        return ()
    names = [part.strip() for part in said.clocks.split(",") if part.strip()]
    return tuple(dict.fromkeys(_sensor(trial, name) or METER for name in names))


def _off(said: NoteSaid, instant: int, zones: Zones) -> int | None:
    """How far a clock is off by what it shows now; None where the note is no such thing, or its words are no time."""
    if said.kind is not EventKind.CLOCK or said.start is not None:
        return None
    try:
        return clock_off(said.text, instant, zones)
    except BadTime:
        return None


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
