"""`evenhand wear`: log a wear, complete or correct one."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.saying import moment
from evenhand.cli.streams import words
from evenhand.cli.world import now
from evenhand.clock import Stamp
from evenhand.desk.wears import WearLogged, WearSaid, log_wear
from evenhand.records.sensors import Wear

_NOTHING = WearSaid()
_Sensor = Annotated[str, Parameter(help="Which sensor, by its name.")]


def wear(
    file: File = None, /, *, sensor: _Sensor, said: Annotated[WearSaid, Parameter(name="*")] = _NOTHING
) -> int:
    """Log a wear, complete or correct one."""
    path, _ = split(file)
    logged = log_wear(path, sensor, said, now())
    told = _told(logged.wear, logged)
    if logged.change is None:
        words(f"Nothing new: {told}.")
        return 0
    words(f"{'Logged' if logged.before is None else 'Changed'}: {told}.")
    if logged.before is not None:
        words(f"Before: {_told(logged.before, logged)}. 'evenhand undo' brings that back.")
    for note in _notes(logged):
        words(note)
    return 0


def _told(one: Wear, logged: WearLogged) -> str:
    def at(stamp: Stamp) -> str:
        return moment(stamp, logged.now, logged.trial.zones)

    parts = [logged.sensor.name]
    parts += [f"inserted {at(one.inserted)}"] if one.inserted else []
    parts += [f"started {at(one.started)}"] if one.started else []
    parts += [f"removed {at(one.removed)}"] if one.removed else ["still worn"]
    parts += [f"ending: {one.ending}"] if one.ending else []
    parts += [f"{one.side} side"] if one.side else []
    named = (("site", one.site), ("lot", one.lot), ("serial", one.serial), ("expires", one.expires))
    parts += [f"{label} {value}" for label, value in named if value]
    replaced = next((other for other in logged.trial.wears if other.id == one.replaces), None)
    parts += [f"replaces the one of {at(replaced.first)}"] if replaced else []
    parts += ["drives insulin"] if one.drives else []
    return ", ".join(parts)


def _notes(logged: WearLogged) -> list[str]:
    notes = list(logged.said)
    if logged.wear.ending is not None and logged.wear.removed is None:
        notes.append("It has an ending but no removal yet: add --removed TIME.")
    for other in logged.still_open:
        began = moment(other.first, logged.now, logged.trial.zones)
        notes.append(
            f"Another wear of {logged.sensor.name}, of {began}, has no removal: add it with "
            f"--inserted {other.first.wall:%Y-%m-%dT%H:%M} --removed TIME."
        )
    return notes
