"""What a week asks for: every device's clock read once, every device exported, and how far back its export reaches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from evenhand.clock import DAY, HOUR, MINUTE, Zones, understand_time
from evenhand.errors import BadTime
from evenhand.records.diary import Event, EventKind
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.store import file as store

WEEK = 7 * DAY
METER = "meter"


@dataclass(frozen=True, slots=True)
class Exported:
    """One file of a device: when it was taken in, and its first and last reading (instants)."""

    taken: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Reach:
    """How far back a device's export goes, as its files showed so far.

    `seconds` is the longest that one file went back from its day. `ends` True: a file left out what an earlier one still
    held, so that this is all it keeps; False: it may go back farther. `lost_from` is the instant from which readings are
    lost unless the device is exported by `by`; both None where nothing presses.
    """

    seconds: int
    ends: bool
    lost_from: int | None = None
    by: int | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """A device that is due for something: `kind` 'clock', 'export' or 'proof'; its name; when it was done last (None:
    never); its reach where it is known."""

    kind: str
    device: str
    last: int | None
    reach: Reach | None = None


def due(path: Path, now: int) -> tuple[Due, ...]:
    """What is due in the trial at `path`: exports before clocks. Before the first insertion a proof that each device's
    readings can be exported; afterwards an export and a look at the clock once a week."""
    trial = store.read(path, readings=False)
    files = exports(path, trial)
    return (*_exports_due(trial, files, now), *_clocks_due(trial, now))


def exports(path: Path, trial: Trial) -> dict[str, tuple[Exported, ...]]:
    """Every device's files that hold readings, by name, oldest first; the meter's by the sticks they brought."""
    taken = {file.id: file.taken for file in trial.files}
    found: dict[str, dict[str, tuple[int, int]]] = {}
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for batch in store.batches(path):
        if len(batch.readings):
            ends = int(batch.readings.instant[0]), int(batch.readings.instant[-1])
            _widen(found.setdefault(names[batch.sensor], {}), batch.file, ends)
    for stick in trial.sticks:
        if stick.source is not None and stick.meter in (None, trial.header.meter):
            _widen(found.setdefault(METER, {}), stick.source.file, (stick.at.instant, stick.at.instant))
    return {
        device: tuple(
            sorted(
                (Exported(taken[file], *ends) for file, ends in files.items() if file in taken),
                key=lambda one: one.taken,
            )
        )
        for device, files in found.items()
    }


def _widen(files: dict[str, tuple[int, int]], file: str, ends: tuple[int, int]) -> None:
    first, last = files.get(file, ends)
    files[file] = min(first, ends[0]), max(last, ends[1])


def reach(files: Iterable[Exported], now: int) -> Reach | None:
    """How far back a device's export goes; None without a file. A file brings only what is new, so that a later file
    counts for its reach only where it overlaps what was held or leaves a hole after it.

    >>> day = 86_400
    >>> reach([Exported(7 * day, 0, 7 * day - 300), Exported(20 * day, 12 * day, 20 * day - 300)], 21 * day)
    Reach(seconds=691200, ends=True, lost_from=1727700, by=2418900)
    """
    ordered = sorted(files, key=lambda one: one.taken)
    if not ordered:
        return None
    held = ordered[0].last
    longest, limit = ordered[0].taken - ordered[0].first, None
    for one in ordered[1:]:
        if one.first > held + DAY:
            gone = one.taken - one.first
            limit = gone if limit is None else min(limit, gone)
        longest = max(longest, one.taken - one.first)
        held = max(held, one.last)
    if limit is None:
        return Reach(longest, ends=False)
    by = held + limit
    return Reach(limit, ends=True, lost_from=held, by=by) if by - now < 30 * DAY else Reach(limit, ends=True)


def _exports_due(trial: Trial, files: dict[str, tuple[Exported, ...]], now: int) -> Iterator[Due]:
    begun = bool(trial.wears)
    devices = [*(sensor.name for sensor in trial.sensors if sensor.exports is not False), METER]
    for device in devices:
        noted = [event.start.instant for event in _of(trial, EventKind.EXPORTED, device)]
        last = max([*(one.taken for one in files.get(device, ())), *noted], default=None)
        if not begun:
            if last is None:
                yield Due("proof", device, None)
        elif last is None or now - last >= WEEK:
            yield Due("export", device, last, reach(files.get(device, ()), now))


def _clocks_due(trial: Trial, now: int) -> Iterator[Due]:
    for device in (*(sensor.name for sensor in trial.sensors), METER):
        noted = [event.start.instant for event in _of(trial, EventKind.CLOCK, device)]
        last = max(noted, default=None)
        if last is None or now - last >= WEEK:
            yield Due("clock", device, last)


def _of(trial: Trial, kind: EventKind, device: str) -> Iterator[Event]:
    sensor: Sensor | None = None if device == METER else trial.sensor(device)
    for event in trial.events:
        if event.kind is kind and event.sensor == (sensor.id if sensor else None):
            yield event


def clock_off(text: str, now: int, zones: Zones) -> int:
    """How many seconds a clock that shows `text` is ahead of now (below zero: behind), in the zone where the wearer is;
    at most twelve hours. `BadTime` where it is no time of day.

    >>> clock_off("07:45", 1772350920, Zones("Europe/Lisbon"))
    180
    """
    words = text.strip()
    here = zones.stamp(now).wall
    dated = len(words) > len("23:59:59")
    stamp = understand_time(words, now + (0 if dated else 12 * HOUR - 1), zones).stamp
    off = int((stamp.wall - here).total_seconds())
    if not dated:
        off = (off + 12 * HOUR) % DAY - 12 * HOUR
    if abs(off) > 400 * DAY:
        raise BadTime(f"'{text}' is more than a year off.", "Write what the clock shows, for example 07:45.")
    # A clock without seconds shows a minute until it is over.
    return 0 if words.count(":") < 2 and 0 >= off > -MINUTE else off
