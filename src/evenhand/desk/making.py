"""Making a trial."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from evenhand.clock import ZoneOrigin, zone_info
from evenhand.desk.find import ENDING
from evenhand.desk.now import Now
from evenhand.desk.settings import with_settings
from evenhand.errors import BadRecord, BadTime, WrongUse
from evenhand.records.change import Change
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Header, Trial
from evenhand.store import file as store
from evenhand.units import Unit, parse_unit

MOST_SENSORS = 3


@dataclass(frozen=True, slots=True)
class TrialSaid:
    """What a person says when a trial is made, as text; None where nothing was said."""

    sensors: Sequence[str]
    unit: str | None = None
    zone: str | None = None
    meter: str | None = None
    settings: Sequence[str] = ()


def make_trial(path: Path, said: TrialSaid, now: Now, seed: int | None = None) -> Trial:
    """Make a trial file and return the trial. `seed` is given only by rehearsed trials.

    Raises `TrialFileExists` where the file is there, `BadTime` where no zone is known, and every problem
    of the sensors at once.
    """
    if path.suffix != ENDING or not path.stem:
        raise WrongUse(f"'{path.name}' is no name for a trial file.", f"Write for example spring{ENDING}.")
    if not 1 <= len(said.sensors) <= MOST_SENSORS:
        raise BadRecord(f"{len(said.sensors)} sensors cannot be compared.", "Name one to three.")
    zone, origin = _zone(said.zone, now)
    unit = parse_unit(said.unit) if said.unit else Unit.MG_DL
    named = [Sensor(now.fresh_id(), name.strip(), place) for place, name in enumerate(said.sensors)]
    header = Header(
        now.fresh_id(), path.stem, zone, origin, unit, (said.meter or "meter").strip(),
        now.seed() if seed is None else seed, now.instant(),
    )  # fmt: skip
    Trial(header, tuple(named)).check()
    trial = Trial(header, with_settings(named, said.settings, unit))
    store.create(path, header, Change("made the trial", now.instant(), trial.sensors))
    return trial


def _zone(said: str | None, now: Now) -> tuple[str, ZoneOrigin]:
    if said is not None:
        zone_info(said)
        return said, ZoneOrigin.GIVEN
    found = now.computer_zone()
    if found is None:
        raise BadTime("This computer does not tell its time zone.", "Give --zone, for example Europe/Lisbon.")
    return found, ZoneOrigin.COMPUTER
