"""An invented trial with readings, sticks and wears, for tests of what is said and drawn. No truth is claimed."""

from __future__ import annotations

import numpy as np

from evenhand.clock import DAY, HOUR, MINUTE, Stamp, ZoneOrigin
from evenhand.records.diary import Event, EventKind, Reason, Stick
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, Readings
from evenhand.records.sensors import CountsFrom, Ending, Sensor, Side, Wear
from evenhand.records.trial import Header, Trial
from evenhand.units import FACTOR, Glucose, Unit, rounded

ZONE = "Europe/Lisbon"
START = 1_772_438_400  # 2026-03-02 08:00 in Lisbon
NAMES = ("Fern", "Slate", "Birch")
LIFE = (10 * DAY, 7 * DAY, 14 * DAY)


def blood(at: np.ndarray, seed: int) -> np.ndarray:
    """Invented glucose in mg/dL: three meals a day, a slow swing, a low now and then."""
    rng = np.random.default_rng(seed)
    path = 118 + 18 * np.sin(2 * np.pi * at / DAY) + 12 * np.sin(2 * np.pi * at / (3.3 * DAY))
    for day in range(int(at.min() // DAY), int(at.max() // DAY) + 1):
        for hour in (8, 13, 19.5):
            meal = day * DAY + (hour + rng.normal(0, 0.6)) * HOUR
            since = np.maximum(at - meal, 0) / HOUR
            path = path + rng.uniform(70, 190) * since**2 * np.exp(-1.6 * since)
            path = path - rng.uniform(10, 55) * np.exp(-(((since - 4) / 1.1) ** 2)) * (since > 0)
    return np.clip(path, 34, 420)


def glucose(mg_dl: float, unit: Unit) -> Glucose:
    """A recorded value in a unit."""
    if unit is Unit.MG_DL:
        text = rounded(mg_dl)
        return Glucose(float(text), unit, text)
    text = rounded(mg_dl / FACTOR, 1)
    return Glucose(float(text), unit, text)


def make_readings(place: int, at: np.ndarray, seed: int, unit: Unit, days: int) -> Readings:
    """Readings of one sensor: gaps, a bad first day, values at the limits."""
    rng = np.random.default_rng(1000 * place + seed)
    lagged = blood(at - 8 * MINUTE, seed)
    age = (at - START) % LIFE[place]
    drift = (14.0 if place else -4.0) * np.exp(-age / (0.7 * DAY)) + rng.normal(0, 5, at.size)
    value = lagged * (1.05 if place else 0.98) + drift
    kept = age > (2 * HOUR if place else HOUR)
    kept &= ~((at > START + 2.4 * DAY) & (at < START + 2.7 * DAY) & (place == 0))
    at, value = at[kept], value[kept]
    flag = np.where(value < 45, BEYOND_LOW, np.where(value > 340, BEYOND_HIGH, 0)).astype(np.int8)
    value = np.clip(value, 45, 340)
    mmol = np.full(at.size, unit is Unit.MMOL_L)
    recorded = np.round(value / FACTOR, 1) if unit is Unit.MMOL_L else np.round(value)
    return Readings(
        at.astype(np.int64),
        np.zeros(at.size, np.int32),
        recorded,
        mmol,
        flag,
        np.arange(at.size, dtype=np.int32),
        tuple(str(number) for number in recorded),
    )


def make_wears(sensor: Sensor, end: int) -> list[Wear]:
    """Wears one after another, the second of the second sensor failing on its third day."""
    wears, start, number = [], START, 0
    while start < end:
        number += 1
        failed = sensor.place == 1 and number == 2
        stop = min(start + (3 * DAY if failed else LIFE[sensor.place]), end)
        wears.append(
            Wear(
                f"w{sensor.place}{number}",
                sensor.id,
                inserted=Stamp.at(start, ZONE),
                removed=Stamp.at(stop, ZONE),
                side=Side.LEFT if number % 2 else Side.RIGHT,
                lot="F7" if sensor.place == 0 else "S2",
                ending=Ending.FAILED if failed else Ending.END,
                replaces=f"w{sensor.place}2" if sensor.place == 1 and number == 3 else None,
            )
        )
        start = stop
    return wears


def make_sticks(end: int, unit: Unit, seed: int, a_day: int) -> list[Stick]:
    """Sticks in waking hours; every ninth prompted, one calibration."""
    rng = np.random.default_rng(7 * seed)
    moments = [
        START + day * DAY + int(rng.uniform(0, 14.5) * HOUR)
        for day in range((end - START) // DAY)
        for _ in range(a_day)
    ]
    sticks = []
    for count, at in enumerate(sorted(moments)):
        value = float(blood(np.array([at], float), seed)[0] + rng.normal(0, 5))
        reason = Reason.PROMPTED if count % 9 == 4 else Reason.PLAN
        reason = Reason.CALIBRATION if count == 22 else reason
        into = "s1" if reason is Reason.CALIBRATION else None
        sticks.append(
            Stick(f"k{count}", Stamp.at(at, ZONE), glucose(value, unit), reason, at + 30, into=into)
        )
    return sticks


def make_trial(
    *,
    sensors: int = 2,
    days: int = 20,
    unit: Unit = Unit.MG_DL,
    every: int = 5,
    seed: int = 5,
    a_day: int = 7,
) -> Trial:
    """A trial of `days` days with readings every `every` minutes."""
    end = START + days * DAY
    kinds = tuple(
        Sensor(
            f"s{place}",
            NAMES[place],
            place,
            every * MINUTE,
            (2 if place else 1) * HOUR,
            LIFE[place],
            None,
            CountsFrom.INSERTION,
        )
        for place in range(sensors)
    )
    at = np.arange(START, end, every * MINUTE, dtype=float)
    wears = sorted(
        (wear for sensor in kinds for wear in make_wears(sensor, end)), key=lambda wear: wear.first.instant
    )
    away = Event(
        "e1",
        EventKind.AWAY,
        Stamp.at(START + int(2.4 * DAY), ZONE),
        START,
        Stamp.at(START + int(2.7 * DAY), ZONE),
    )
    return Trial(
        Header("t1", "spring", ZONE, ZoneOrigin.GIVEN, unit, "meter", 11, START - DAY),
        kinds,
        tuple(wears),
        tuple(make_sticks(end, unit, seed, a_day)),
        (away,),
        readings={sensor.id: make_readings(sensor.place, at, seed, unit, days) for sensor in kinds},
        edition="3f9c0a7d" + "5" * 56,
    )
