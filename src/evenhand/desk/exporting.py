"""Getting the records out again, as recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from enum import StrEnum
from pathlib import Path

from evenhand.clock import iso_of
from evenhand.desk.tables import Format, Row, written
from evenhand.records.diary import Mark, Stick
from evenhand.records.sensors import Ending, Sensor
from evenhand.records.trial import Trial
from evenhand.store import file as store
from evenhand.units import Glucose


class What(StrEnum):
    """What can be exported."""

    READINGS = "readings"
    STICKS = "sticks"
    DIARY = "diary"
    LEDGER = "ledger"
    KEYS = "keys"


COLUMNS = {
    What.READINGS: ("time", "sensor", "value", "unit", "flag", "wear"),
    What.STICKS: ("time", "value", "unit", "flag", "reason", "meter", "marks", "shown"),
    What.DIARY: ("time", "until", "kind", "text", "sensor"),
    What.LEDGER: ("file", "sheet", "line", "fate", "reason"),
    What.KEYS: ("kind", "setting", "value"),
}


def export(path: Path, what: What, form: Format) -> str:
    """The records of one sort as text. Times are ISO 8601 with offset; value and unit as recorded, and beyond
    the measuring limits the value is the word 'low' or 'high'."""
    rows: dict[What, Callable[[Path], Iterator[Row]]] = {
        What.READINGS: _readings,
        What.STICKS: _sticks,
        What.DIARY: _diary,
        What.LEDGER: _ledger,
        What.KEYS: _keys,
    }
    return written(rows[what](path), COLUMNS[what], form)


def number_as_recorded(value: float, text: str) -> float | int:
    """The number in the unit recorded, whole where it was written whole.

    >>> number_as_recorded(6.0, "6,0"), number_as_recorded(110.0, "110"), number_as_recorded(6.1, "6,1 mmol/L")
    (6.0, 110, 6.1)
    """
    whole = value.is_integer() and "." not in text and "," not in text
    return int(value) if whole else value


def _value(glucose: Glucose) -> float | int | str:
    return str(glucose.beyond) if glucose.beyond else number_as_recorded(glucose.value, glucose.text)


def _readings(path: Path) -> Iterator[Row]:
    import numpy as np

    from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW

    words = {BEYOND_LOW: "low", BEYOND_HIGH: "high"}
    trial = store.read(path)
    for sensor in trial.sensors:
        readings = trial.readings.get(sensor.id)
        if readings is None:
            continue
        numbers = _wear_numbers(trial, sensor, np.asarray(readings.instant).tolist())
        columns = (
            readings.instant.tolist(),
            readings.offset.tolist(),
            readings.value.tolist(),
            readings.flag.tolist(),
        )
        for index, (instant, offset, value, flag) in enumerate(zip(*columns, strict=True)):
            word = words.get(flag)
            yield {
                "time": iso_of(instant, offset),
                "sensor": sensor.name,
                "value": word or number_as_recorded(value, readings.text[index]),
                "unit": str(readings.unit(index)),
                "flag": word or "",
                "wear": numbers[index],
            }


def _wear_numbers(trial: Trial, sensor: Sensor, instants: list[int]) -> list[int | None]:
    """For each instant the number (from 1) of the wear it belongs to: the one started last before it, unless
    that was removed by then; None where there is none. No reading belongs to a wear that never started."""
    started = [
        (number, wear)
        for number, wear in enumerate(trial.wears_of(sensor.id), 1)
        if wear.ending is not Ending.NEVER_STARTED
    ]
    numbers: list[int | None] = []
    place = 0
    for instant in instants:
        while place < len(started) and started[place][1].start.instant <= instant:
            place += 1
        number, wear = started[place - 1] if place else (None, None)
        gone = wear is not None and wear.removed is not None and instant > wear.removed.instant
        numbers.append(None if gone else number)
    return numbers


def _sticks(path: Path) -> Iterator[Row]:
    trial = store.read(path, readings=False)
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for stick in trial.sticks:
        yield {
            "time": stick.at.iso,
            "value": _value(stick.glucose),
            "unit": str(stick.glucose.unit),
            "flag": _flag(stick),
            "reason": str(stick.reason),
            "meter": stick.meter or trial.header.meter,
            "marks": [_mark(mark) for mark in stick.marks],
            "shown": {names[one.sensor]: f"{_value(one.glucose)} {one.glucose.unit}" for one in stick.shown},
        }


def _flag(stick: Stick) -> str:
    return str(stick.glucose.beyond) if stick.glucose.beyond else "repeat" if stick.repeat else ""


def _mark(mark: Mark) -> str:
    return str(mark.kind) if mark.early else f"{mark.kind} (set later)"


def _diary(path: Path) -> Iterator[Row]:
    trial = store.read(path, readings=False)
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for event in trial.events:
        yield {
            "time": event.start.iso,
            "until": event.end.iso if event.end else None,
            "kind": str(event.kind),
            "text": event.text,
            "sensor": names.get(event.sensor) if event.sensor else None,
        }


def _ledger(path: Path) -> Iterator[Row]:
    names = {file.id: file.name for file in store.read(path, readings=False).files}
    for row in store.ledger(path):
        yield {
            "file": names.get(row.file, row.file),
            "sheet": row.sheet,
            "line": row.line,
            "fate": str(row.fate),
            "reason": row.reason,
        }


def _keys(path: Path) -> Iterator[Row]:
    for key in store.read(path, readings=False).keys:
        for setting, value in key.settings:
            yield {"kind": key.kind, "setting": setting, "value": value}
