"""Small trials by hand, for the tests of `compare`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from evenhand.clock import Stamp, ZoneOrigin
from evenhand.records.diary import Reason, Stick
from evenhand.records.readings import Readings
from evenhand.records.sensors import Sensor, Wear
from evenhand.records.trial import Header, Trial
from evenhand.units import FACTOR, Glucose, Unit

ZONE = "Europe/Lisbon"
MIDNIGHT = 1772323200
"""2026-03-01 00:00 in Lisbon (offset 0 until 2026-03-29)."""
HOUR, DAY = 3600, 86400


def stamp(instant, zone=ZONE):
    return Stamp.at(int(instant), zone)


def readings(instants, values, unit=Unit.MG_DL, flags=None):
    """Readings at instants with values in `unit`."""
    instants = np.asarray(instants, np.int64)
    n = instants.size
    return Readings(
        instants,
        np.zeros(n, np.int32),
        np.asarray(values, np.float64),
        np.full(n, unit is Unit.MMOL_L),
        np.zeros(n, np.int8) if flags is None else np.asarray(flags, np.int8),
        np.arange(1, n + 1, dtype=np.int32),
        tuple(str(value) for value in values),
    )


def stick(instant, value, reason=Reason.UNKNOWN, unit=Unit.MG_DL, beyond=None, **more):
    """A stick at an instant."""
    return Stick(
        id=more.pop("id", f"stick-{instant}-{value}"),
        at=stamp(instant),
        glucose=Glucose(float(value), unit, str(value), beyond),
        reason=reason,
        logged=int(instant),
        **more,
    )


def wear(sensor, started, removed=None, **more):
    """A wear of the sensor with that id."""
    return Wear(
        id=more.pop("id", f"wear-{sensor}-{started}"),
        sensor=sensor,
        started=stamp(started),
        removed=None if removed is None else stamp(removed),
        **more,
    )


def sensor(name, place=0, **more):
    """A sensor whose id is its name in lower case."""
    return Sensor(id=name.lower(), name=name, place=place, **{"interval": 300, "warm_up": 3600, **more})


def trial(sensors, wears=(), sticks=(), streams=None, events=(), **more):
    """A trial in Lisbon; `streams` maps sensor ids to `Readings`."""
    header = Header(
        "trial", "By hand", more.pop("zone", ZONE), ZoneOrigin.GIVEN, Unit.MG_DL, "the meter", 1, 0
    )
    return Trial(
        header,
        tuple(sensors),
        wears=tuple(sorted(wears, key=lambda one: one.first.instant)),
        sticks=tuple(sorted(sticks, key=lambda one: one.at.instant)),
        events=tuple(events),
        readings=dict(streams or {}),
        **more,
    )


def usual(days=20, per_day=7, seed=1, interval=300, unit=Unit.MG_DL, wear_days=10, **more):
    """Two sensors worn one after the other's end for `days`, sticks at random minutes of the day."""
    rng = np.random.default_rng(seed)
    grid = np.arange(0, days * DAY, 60)
    hours = grid / HOUR
    blood = 140 + 45 * np.sin(hours * 2 * np.pi / 5.3) + 25 * np.sin(hours * 2 * np.pi / 24 + 1)
    sensors, wears, streams = [], [], {}
    for place, name in enumerate(("Fern", "Slate")):
        made = sensor(name, place, interval=interval)
        sensors.append(made)
        at = np.arange(30 * (place + 1), days * DAY, interval)
        noise = rng.normal(0, 8 + 4 * place, at.size) + (place * 2 - 1) * 3
        value = np.maximum(np.round(np.interp(at, grid, blood) + noise), 40)
        keep = np.ones(at.size, bool)
        for first in range(0, days, wear_days):
            start = MIDNIGHT + first * DAY
            wears.append(wear(made.id, start, min(start + wear_days * DAY, MIDNIGHT + days * DAY) - 60))
            keep &= ~((at >= first * DAY) & (at < first * DAY + HOUR))
        shown = value[keep] if unit is Unit.MG_DL else value[keep] / FACTOR
        streams[made.id] = readings(MIDNIGHT + at[keep], shown, unit)
    when = np.sort(rng.choice(np.arange(120, days * DAY // 60 - 120), days * per_day, replace=False)) * 60
    values = np.round(np.interp(when, grid, blood) * rng.normal(1, 0.04, when.size))
    scale = 1.0 if unit is Unit.MG_DL else FACTOR
    sticks = [
        stick(MIDNIGHT + at, value / scale, unit=unit, id=f"s{i}")
        for i, (at, value) in enumerate(zip(when, values, strict=True))
    ]
    return replace(trial(sensors, wears, sticks, streams), **more)
