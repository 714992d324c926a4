"""`evenhand wear`: log a wear, complete or correct one."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.saying import moment
from evenhand.cli.streams import words
from evenhand.cli.world import now
from evenhand.clock import Stamp
from evenhand.desk.wears import WearLogged, WearSaid, log_wear
from evenhand.records.sensors import Ending, Wear
from evenhand.say.diary import PUMP_OFF, unguarded

_NOTHING = WearSaid()
_Claim = Annotated[
    str | None, Parameter(name="--claim", help="Write a claim sheet for its maker: an HTML page to print.")
]
_Sensor = Annotated[str, Parameter(help="Which sensor, by its name.")]


def wear(
    file: File = None,
    /,
    *,
    sensor: _Sensor,
    claim: _Claim = None,
    said: Annotated[WearSaid, Parameter(name="*")] = _NOTHING,
) -> int:
    """Log a wear, complete or correct one."""
    path, _ = split(file)
    logged = log_wear(path, sensor, said, now())
    told = _told(logged.wear, logged)
    if logged.change is None:
        words(f"{told}." if claim is not None else f"Nothing new: {told}.")
        return _claimed(path, claim, logged)
    words(f"{'Logged' if logged.before is None else 'Changed'}: {told}.")
    if logged.before is not None:
        words(f"Before: {_told(logged.before, logged)}. 'evenhand undo' brings that back.")
    for note in _notes(logged):
        words(note)
    return _claimed(path, claim, logged)


def _claimed(path: Path, claim: str | None, logged: WearLogged) -> int:
    """Write the claim sheet where one is wanted."""
    if claim is not None:
        from evenhand.desk.claiming import write_claim

        words(f"Claim sheet: {write_claim(path, logged.wear.id, Path(claim), now())}")
        words("It carries the serial number; nothing else that Evenhand makes does.")
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


def _warnings(logged: WearLogged) -> list[str]:
    """What guards the wearer: warm-up without another sensor, a driver that came off, a failure to be claimed."""
    one, warned = logged.wear, []
    gap = logged.unguarded
    if gap is not None and gap[1].instant > logged.now:
        start = moment(gap[0], logged.now, logged.trial.zones)
        end = (
            f"{gap[1].wall:%H:%M}"
            if gap[0].day == gap[1].day
            else moment(gap[1], logged.now, logged.trial.zones)
        )
        warned.append(unguarded(start, end))
    before = logged.before
    over = one.removed is not None and (before is None or before.removed is None)
    if over and one.drives:
        warned.append(PUMP_OFF)
    if over and one.ending in (Ending.FAILED, Ending.ACCIDENT, Ending.NEVER_STARTED):
        name = shlex.quote(logged.sensor.name)
        began = f"{one.first.wall:%Y-%m-%dT%H:%M}"
        warned.append(
            f"For its maker: evenhand wear --sensor {name} --inserted {began} --claim claim.html. "
            f"The next one: evenhand wear --sensor {name} --inserted TIME --replaces {began}."
        )
    return warned


def _notes(logged: WearLogged) -> list[str]:
    notes = [*logged.said, *_warnings(logged)]
    if logged.wear.ending is not None and logged.wear.removed is None:
        notes.append("It has an ending but no removal yet: add --removed TIME.")
    for other in logged.still_open:
        began = moment(other.first, logged.now, logged.trial.zones)
        notes.append(
            f"Another wear of {logged.sensor.name}, of {began}, has no removal: add it with "
            f"--inserted {other.first.wall:%Y-%m-%dT%H:%M} --removed TIME."
        )
    return notes
