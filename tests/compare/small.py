"""Small trials laid out by hand: what `lay_out` would give, written so that each number can be seen."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from evenhand.clock import DAY, MINUTE, Stamp, ZoneOrigin
from evenhand.compare.shapes import Layout, Minutes, Pairs, Worn
from evenhand.compare.worn_readings import nearest
from evenhand.records.diary import Event, EventKind
from evenhand.records.readings import Readings
from evenhand.records.sensors import Ending, Sensor, Wear
from evenhand.records.trial import Header, Trial
from evenhand.units import FACTOR, Unit

T0 = 1_772_409_600
"""2026-03-02T00:00Z, a Monday."""

HEADER = Header("trial", "Spring", "UTC", ZoneOrigin.GIVEN, Unit.MG_DL, "Strip", 7, T0)


def stamp(instant, zone="UTC"):
    """The stamp of an instant."""
    return Stamp.at(instant, zone)


def fern(**more):
    """The first sensor, every 5 minutes."""
    return Sensor(**{"id": "fern", "name": "Fern", "place": 0, "interval": 300, "life": 10 * DAY} | more)


def slate(**more):
    """The second sensor, every 5 minutes."""
    return Sensor(**{"id": "slate", "name": "Slate", "place": 1, "interval": 300, "life": 10 * DAY} | more)


def wear(sensor, start, end=None, ending=None, **more):
    """A wear from `start` to `end` (seconds after T0), with an id made of sensor and start."""
    return Wear(
        f"{sensor}-{start}",
        sensor,
        started=stamp(T0 + start),
        removed=None if end is None else stamp(T0 + end),
        ending=ending,
        **more,
    )


def readings(at, value, *, mmol=False, flag=None):
    """Readings at seconds after T0; `value` one number or as many."""
    at = np.asarray(at, np.int64) + T0
    n = at.size
    value = np.broadcast_to(np.asarray(value, float), (n,)).copy()
    flags = np.zeros(n, np.int8) if flag is None else np.asarray(flag, np.int8)
    return Readings(
        at, np.zeros(n, np.int32), value, np.broadcast_to(np.asarray(mmol), (n,)).copy(), flags,
        np.arange(n, dtype=np.int32), tuple(f"{v:g}" for v in value),
    )  # fmt: skip


def every(step, start, end):
    """Seconds from `start` up to but not including `end`."""
    return np.arange(start, end, step, dtype=np.int64)


def away(start, end=None, sensor=None):
    """A note that the phone was away (seconds after T0)."""
    return Event(
        f"away-{start}", EventKind.AWAY, stamp(T0 + start), T0 + start,
        end=None if end is None else stamp(T0 + end), sensor=sensor,
    )  # fmt: skip


def trial(sensors, wears=(), told=None, events=()):
    """A trial of these records; `told` maps a sensor's id to its readings."""
    return Trial(HEADER, tuple(sensors), tuple(wears), events=tuple(events), readings=told or {})


def layout(made, warm_up=0, limit=300.0, inferred=()):
    """The trial laid out: wears as recorded (never-started ones left out), minutes from the first start to the last
    end, sticks none. `inferred` are (sensor, start, end) in seconds after T0."""
    places = {sensor.id: place for place, sensor in enumerate(made.sensors)}
    worn, numbers = [], {}
    for one in sorted(made.wears, key=lambda w: w.start.instant):
        numbers[one.sensor] = numbers.get(one.sensor, 0) + 1
        if one.ending is Ending.NEVER_STARTED:
            continue
        start = one.start.instant
        last = made.readings.get(one.sensor, Readings.none()).instant
        end = one.removed.instant if one.removed else int(last.max()) if last.size else start
        worn.append(
            Worn(places[one.sensor], numbers[one.sensor], start, start + warm_up, end, bool(one.removed), one)
        )
    worn += [Worn(s, 1, T0 + a, T0 + a + warm_up, T0 + b, False, None) for s, a, b in inferred]
    parts = {"worn": tuple(worn), "pairs": no_pairs(), "minutes": minutes(made, worn, limit), "limit": limit}
    return Layout(**parts, **{field.name: () for field in fields(Layout) if field.name not in parts})


def minutes(made, worn, limit):
    """Every minute of the span, with the nearest reading of each sensor."""
    first = min((one.start for one in worn), default=T0)
    last = max((one.end for one in worn), default=T0)
    at = np.arange(first, last, MINUTE, dtype=np.int64)
    m, s = at.size, len(made.sensors)
    wears, reading = np.full((m, s), -1, np.int64), np.full((m, s), np.nan)
    for index, one in enumerate(worn):
        wears[(at >= one.usable) & (at < one.end), one.sensor] = index
    for place, sensor in enumerate(made.sensors):
        own = made.readings.get(sensor.id, Readings.none())
        if len(own):
            index = nearest(own.instant, at)
            close = (np.abs(own.instant[index] - at) <= limit) & (wears[:, place] >= 0)
            value = np.where(own.mmol, own.value * FACTOR, own.value)[index]
            reading[close, place] = value[close]
    parts = {
        "at": at,
        "day": at // DAY + 719_163,
        "in_hours": np.ones(m, bool),
        "wear": wears,
        "have": np.isfinite(reading),
        "reading": reading,
    }
    rest = {field.name: np.zeros((m, s)) for field in fields(Minutes) if field.name not in parts}
    return Minutes(**parts, **rest)


def no_pairs():
    """No stick at all."""
    return Pairs(**{field.name: np.empty(0) for field in fields(Pairs)})
