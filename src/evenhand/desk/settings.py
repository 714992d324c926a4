"""What is known of a sensor, as people write it: 'Fern.warm_up=1h'."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from evenhand.errors import BadValue, EvenhandError, UnknownName, raise_all
from evenhand.records.sensors import CountsFrom, Sensor
from evenhand.units import Glucose, Unit, parse_glucose

KEYS = ("interval", "warm_up", "life", "grace", "counts_from", "low", "high", "price", "exports")

_SECONDS = {
    "s": 1,
    "sec": 1,
    "second": 1,
    "m": 60,
    "min": 60,
    "minute": 60,
    "h": 3600,
    "hr": 3600,
    "hour": 3600,
}
_SECONDS |= {"d": 86_400, "day": 86_400, "w": 604_800, "week": 604_800}
_PART = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z]+)\s*(?:,|and)?\s*", re.ASCII)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)
_DURATION_CURE = "Write for example 5min, 1h, 1 h 30 min, 10d or 2 weeks."
_LONGEST = 10 * 366 * 86_400
"""Seconds: a duration beyond it is a slip, not a sensor's (this project's choice)."""
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}


def parse_duration(text: str) -> int:
    """A duration as people write it, in seconds; `BadValue` where it has no unit or cannot be read.

    >>> parse_duration("5min"), parse_duration("1 h 30 min"), parse_duration("10,5 days"), parse_duration("0")
    (300, 5400, 907200, 0)
    """
    words = text.strip().lower()
    if words == "0":
        return 0
    total, at = 0.0, 0
    while match := _PART.match(words, at):
        unit = match[2] if match[2] in _SECONDS else match[2].removesuffix("s")
        if unit not in _SECONDS:
            break
        total += float(match[1].replace(",", ".")) * _SECONDS[unit]
        at = match.end()
    if at == 0 or at != len(words):
        why = "has no unit of time" if _NUMBER.fullmatch(words) else "is not a duration"
        raise BadValue(f"'{text}' {why}.", _DURATION_CURE)
    if total > _LONGEST:
        raise BadValue(f"'{text}' is longer than ten years.", _DURATION_CURE)
    return round(total)


def with_settings(sensors: Iterable[Sensor], settings: Iterable[str], unit: Unit) -> tuple[Sensor, ...]:
    """The sensors with settings of the form NAME.KEY=VALUE; `unit` is that of a limit without one.

    Raises every problem at once: `UnknownName` for a name or key there is not, `BadValue` for a value that
    cannot be read.
    """
    by_name = {sensor.name.casefold(): sensor for sensor in sensors}
    problems: list[EvenhandError] = []
    for setting in settings:
        try:
            name, key, value = _split(setting, by_name)
            by_name[name] = replace(by_name[name], **{key: _value(setting, key, value, unit)})
        except EvenhandError as problem:
            problems.append(problem)
    raise_all(problems)
    return tuple(by_name.values())


def _split(setting: str, by_name: dict[str, Sensor]) -> tuple[str, str, str]:
    left, equals, value = setting.partition("=")
    name, dot, key = left.rpartition(".")
    if not equals or not dot:
        raise BadValue(f"'{setting}' is not a setting.", "Write NAME.KEY=VALUE, for example Fern.warm_up=1h.")
    if name.strip().casefold() not in by_name:
        names = ", ".join(sensor.name for sensor in by_name.values())
        raise UnknownName(f"'{setting}' is about no sensor of this trial.", f"Its sensors are: {names}.")
    if key.strip() not in KEYS:
        raise UnknownName(f"'{key}' in '{setting}' is not a key.", f"The keys are: {', '.join(KEYS)}.")
    return name.strip().casefold(), key.strip(), value.strip()


def _value(setting: str, key: str, value: str, unit: Unit) -> Any:  # noqa: ANN401
    if key in ("interval", "warm_up", "life", "grace"):
        return parse_duration(value)
    if key in ("low", "high"):
        return _limit(setting, value, unit)
    if key == "price":
        if not _NUMBER.fullmatch(value) or not math.isfinite(price := float(value.replace(",", "."))):
            raise BadValue(f"'{setting}' is not a price.", "Write the number alone, for example 59.90.")
        return price
    if key == "exports":
        if value.lower() not in _YES_NO:
            raise BadValue(f"'{setting}' is neither yes nor no.", "Write yes or no.")
        return _YES_NO[value.lower()]
    if value not in tuple(CountsFrom):
        raise BadValue(f"'{setting}': life counts from neither.", "Write insertion or start.")
    return CountsFrom(value)


def _limit(setting: str, value: str, unit: Unit) -> Glucose:
    limit = parse_glucose(value, unit)
    key = setting.partition("=")[0].rpartition(".")[2].strip()
    if (key == "low" and limit.mg_dl > 100) or (key == "high" and limit.mg_dl < 200):
        raise BadValue(
            f"{limit} cannot be where a sensor stops at the {key} end.",
            f"Check the two limits, and write the unit where it is not {unit}: '{key}={limit.text} mg/dL'.",
        )
    if limit.beyond is not None:
        raise BadValue(
            f"'{setting}' is a word.", "Write the number at which the sensor stops, for example 40."
        )
    return limit
