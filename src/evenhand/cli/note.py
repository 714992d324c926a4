"""`evenhand note`: note down what is no fingerstick."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.saying import moment
from evenhand.cli.streams import words
from evenhand.cli.world import now
from evenhand.desk.notes import NoteLogged, NoteSaid, log_note
from evenhand.errors import WrongUse
from evenhand.records.diary import Event, EventKind
from evenhand.say.diary import SICK_OVER, after_note

_KINDS = ", ".join(EventKind)
_Kind = Annotated[str | None, Parameter(name="KIND", help=f"What it is about: {_KINDS}.")]
_Text = Annotated[
    str | None,
    Parameter(
        name="TEXT", help="Your words, in quotes. A trip: the zone travelled to. An alarm: low or high first."
    ),
]
_Of = Annotated[str | None, Parameter(help="The sensor it is about.")]
_From = Annotated[str | None, Parameter(name="--from", help="When it began. Left out: now.")]
_Clocks = Annotated[
    str | None,
    Parameter(name="--clocks", help="A trip: whose clocks changed by themselves, 'Fern, meter', or none."),
]
_To = Annotated[
    str | None, Parameter(name="--to", help="When it ended. Left out: a moment, or still going on.")
]


def note(
    file: File = None,
    kind: _Kind = None,
    text: _Text = None,
    /,
    *,
    of: _Of = None,
    start: _From = None,
    end: _To = None,
    clocks: _Clocks = None,
) -> int:
    """Note down what is no fingerstick."""
    path, (word, rest) = split(file, kind, text)
    if word not in tuple(EventKind):
        what = f"'{word}' is not a kind of note." if word else "It is not said what the note is about."
        raise WrongUse(what, f"Choose one of {_KINDS}.")
    logged = log_note(path, NoteSaid(EventKind(word), (rest or "").strip(), of, start, end, clocks), now())
    if logged.event is not None:
        words(f"Noted: {_told(logged.event, logged)}.")
    if logged.ended is not None:
        words(f"This ends: {_told(logged.ended, logged)}.")
    for said in (*logged.said, *_after(logged)):
        words(said)
    return 0


def _after(logged: NoteLogged) -> list[str]:
    """What the note makes worth saying."""
    if logged.event is None:
        return [SICK_OVER] if logged.ended is not None and logged.ended.kind is EventKind.ILL else []
    names = {sensor.id: sensor.name for sensor in logged.trial.sensors}
    said = after_note(logged.event, names.get(logged.event.sensor or "", "the meter"))
    return [said] if said else []


def _told(event: Event, logged: NoteLogged) -> str:
    names = {sensor.id: sensor.name for sensor in logged.trial.sensors}
    zones = logged.trial.zones
    parts = [f"{event.kind}, {moment(event.start, logged.now, zones)}"]
    parts += [f"to {moment(event.end, logged.now, zones)}"] if event.end else []
    parts += [f"of {names[event.sensor]}"] if event.sensor else []
    parts += [event.text] if event.text else []
    if event.clocks is not None:
        devices = [names.get(one, one) for one in event.clocks]
        parts.append(f"clocks that changed by themselves: {' and '.join(devices) or 'none'}")
    return ", ".join(parts)
