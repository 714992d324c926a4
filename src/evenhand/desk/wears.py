"""Logging a wear: insertion, start, removal, and what is known of that one sensor."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from evenhand.clock import MINUTE, Stamp
from evenhand.desk.now import Now
from evenhand.desk.times import past
from evenhand.errors import BadTime, UnknownName, WrongUse
from evenhand.records.change import Change
from evenhand.records.sensors import Ending, Sensor, Side, Wear
from evenhand.records.trial import Trial
from evenhand.store import file as store

_MONTH_ONLY = re.compile(r"(\d{4})-(\d{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class WearSaid:
    """What a person says of a wear; None where nothing was said.

    Parameters
    ----------
    inserted
        When it was inserted. Left out: the one open wear of this sensor.
    started
        When it was started; left out: when it was inserted.
    removed
        When it was taken off.
    site
        Where on the body, in your words.
    side
        Which side of the body.
    lot
        The sensor's lot.
    serial
        Its serial number; stays in the trial file.
    expires
        Its expiry date: 2027-03-31 or 2027-03.
    ending
        How the wear ended.
    replaces
        When the wear began that this one replaces, of the same sensor.
    drives
        It drives an insulin pump.
    was
        The insertion as it was logged, where --inserted (or --started) now corrects it.
    """

    inserted: str | None = None
    started: str | None = None
    removed: str | None = None
    site: str | None = None
    side: Side | None = None
    lot: str | None = None
    serial: str | None = None
    expires: str | None = None
    ending: Ending | None = None
    replaces: str | None = None
    drives: bool = False
    was: str | None = None


@dataclass(frozen=True, slots=True)
class WearLogged:
    """The wear as saved; the one it supersedes (None for a new one); the trial before; what has to be said
    about its times; and the number of the change, None where nothing was new."""

    sensor: Sensor
    wear: Wear
    before: Wear | None
    trial: Trial
    now: int
    said: tuple[str, ...]
    change: int | None

    @property
    def unguarded(self) -> tuple[Stamp, Stamp] | None:
        """From when to when no sensor is past its warm-up, of the time in which this wear warms up; None where one is
        throughout, and where this wear is over."""
        warm_up = self.sensor.warm_up or 0
        if not warm_up or self.wear.removed is not None:
            return None
        start, end = self.wear.start.instant, self.wear.start.instant + warm_up
        models = {sensor.id: sensor for sensor in self.trial.sensors}
        for other in self.trial.wears:
            if other.id == self.wear.id:
                continue
            reads = other.start.instant + (models[other.sensor].warm_up or 0)
            gone = other.removed.instant if other.removed is not None else end
            if reads <= start < gone:
                start = min(gone, end)
            elif start < reads < min(gone, end):
                end = reads
        zones = self.trial.zones
        return (zones.stamp(start), zones.stamp(end)) if end > start else None

    @property
    def still_open(self) -> tuple[Wear, ...]:
        """Other wears of the same sensor that have no removal."""
        return tuple(
            wear
            for wear in self.trial.wears_of(self.sensor.id)
            if wear.removed is None and wear.id != self.wear.id
        )


def log_wear(path: Path, sensor_name: str, said: WearSaid, now: Now) -> WearLogged:
    """Log a wear, or complete or correct one that was logged.

    The same sensor and the same insertion (to the minute) supersede; without an insertion the one open wear
    of that sensor is meant, or with a start a new one where none is open. Raises `BadTime`, `UnknownName`,
    `BadRecord`, `ContradictingRecords` (all at once); then nothing is saved.
    """
    trial = store.read(path, readings=False)
    instant = now.instant()
    sensor = trial.sensor(sensor_name)
    times = {
        name: past(text, instant, trial.zones)
        for name in ("inserted", "started", "removed")
        if (text := getattr(said, name)) is not None
    }
    stamps = {name: understood.stamp for name, understood in times.items()}
    before = _corrected(trial, sensor, said, instant) or _meant(trial, sensor, stamps)
    fresh = _told(said) | stamps
    if said.replaces is not None:
        replaced = past(said.replaces, instant, trial.zones).stamp
        fresh["replaces"] = _wear_at(trial, sensor, replaced).id
    if before is None and trial.question.driver is not None and trial.question.driver.sensor == sensor.id:
        fresh["drives"] = True
    wear = Wear(now.fresh_id(), sensor.id, **fresh) if before is None else replace(before, **fresh)
    notes = tuple(understood.said for understood in times.values() if understood.said)
    if wear == before:
        return WearLogged(sensor, wear, before, trial, instant, notes, None)
    others = tuple(other for other in trial.wears if other.id != wear.id)
    replace(trial, wears=(*others, wear)).check()
    verb = "logged a wear" if before is None else "changed the wear"
    what = f"{verb} of {sensor.name} from {wear.first.iso}"
    change = store.write(path, Change(what, instant, (wear,)), trial.change)
    return WearLogged(sensor, wear, before, trial, instant, notes, change)


def _told(said: WearSaid) -> dict[str, Any]:
    told = {name: getattr(said, name) for name in ("site", "side", "lot", "serial", "ending")}
    fresh = {name: value for name, value in told.items() if value is not None}
    if said.expires is not None:
        fresh["expires"] = parse_date(said.expires)
    if said.drives:
        fresh["drives"] = True
    return fresh


def _meant(trial: Trial, sensor: Sensor, stamps: dict[str, Stamp]) -> Wear | None:
    """The logged wear that is meant; None for a new one."""
    wears = trial.wears_of(sensor.id)
    inserted = stamps.get("inserted")
    if inserted is not None:
        return next((wear for wear in wears if wear.inserted and _same(wear.inserted, inserted)), None)
    still = [wear for wear in wears if wear.removed is None]
    if len(still) > 1:
        raise WrongUse(
            f"{sensor.name} has {len(still)} open wears ({_list(still)}).", "Say which: --inserted TIME."
        )
    if not still and "started" not in stamps:
        raise WrongUse(f"{sensor.name} has no open wear.", "Say when it was inserted: --inserted TIME.")
    return still[0] if still else None


def _corrected(trial: Trial, sensor: Sensor, said: WearSaid, instant: int) -> Wear | None:
    """The wear whose insertion is corrected; None where none is."""
    if said.was is None:
        return None
    if said.inserted is None and said.started is None:
        raise WrongUse(
            "--was names the time as it was logged; the right one is missing.", "Add --inserted TIME."
        )
    return _wear_at(trial, sensor, past(said.was, instant, trial.zones).stamp, "--was")


def _same(one: Stamp, other: Stamp) -> bool:
    return one.instant // MINUTE == other.instant // MINUTE


def _list(wears: list[Wear]) -> str:
    return ", ".join(wear.first.iso for wear in wears)


def _wear_at(trial: Trial, sensor: Sensor, stamp: Stamp, flag: str = "--replaces") -> Wear:
    wears = trial.wears_of(sensor.id)
    for wear in wears:
        if _same(wear.first, stamp) or _same(wear.start, stamp):
            return wear
    told = f"It has: {_list(list(wears))}." if wears else "It has none yet; log the earlier one first."
    raise UnknownName(f"{flag}: no wear of {sensor.name} began at {stamp.iso}.", told)


def parse_date(text: str) -> date:
    """An expiry date: 2027-03-31, or 2027-03 for the last day of that month.

    >>> parse_date("2027-02")
    datetime.date(2027, 2, 28)
    """
    month = _MONTH_ONLY.fullmatch(text.strip())
    try:
        if month:
            year, number = int(month[1]), int(month[2])
            return date(year, number, calendar.monthrange(year, number)[1])
        return date.fromisoformat(text.strip())
    except (ValueError, calendar.IllegalMonthError):
        raise BadTime(f"'{text}' is not a date.", "Write it as 2027-03-31 or 2027-03.") from None
