"""What is wanted of a plan, as people write it: 'start=2026-03-02 09:00', 'days=28', 'Fern.held=3 lot L12 until 2027-02-28'."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

from evenhand.clock import Stamp
from evenhand.desk.settings import parse_duration
from evenhand.errors import BadTime, BadValue, EvenhandError, UnknownName, raise_all
from evenhand.records.plan import Held, Wanted
from evenhand.records.trial import Trial

KEYS = ("start", "days", "sticks", "repeats", "overlap")
"""What `plan --set` knows of the whole plan."""
OF_SENSOR = ("wears", "early", "spares", "held")
"""What it knows of a sensor, as NAME.KEY."""

MORNING = time(9, 0)
"""When a start is meant that names a day alone."""
_ANY = ("any", "none", "-")
_BOX = re.compile(
    r"(?P<count>\d{1,3})(?:\s+(?:of\s+)?lot\s+(?P<lot>.+?))?(?:\s+until\s+(?P<until>\d{4}-\d{2}-\d{2}))?",
    re.ASCII,
)


def is_wish(setting: str) -> bool:
    """Whether a KEY=VALUE is about the plan.

    >>> is_wish("days=28"), is_wish("Fern.early=12h"), is_wish("margin=3")
    (True, True, False)
    """
    key = setting.partition("=")[0].strip()
    return key in KEYS or key.rpartition(".")[2].strip() in OF_SENSOR


def with_wishes(trial: Trial, settings: Iterable[str]) -> Wanted:
    """What is wanted, with settings of the form KEY=VALUE or NAME.KEY=VALUE; every problem at once."""
    wanted = trial.plan.wanted
    problems: list[EvenhandError] = []
    for setting in settings:
        try:
            wanted = _with(trial, wanted, setting)
        except EvenhandError as problem:
            problems.append(problem)
    raise_all(problems)
    return wanted


def _with(trial: Trial, wanted: Wanted, setting: str) -> Wanted:
    key, equals, value = (part.strip() for part in setting.partition("="))
    if not equals or not value:
        raise BadValue(
            f"'{setting}' is not a wish.", "Write KEY=VALUE, for example days=28 or Fern.early=12h."
        )
    name, dot, inner = key.rpartition(".")
    if not dot:
        reads = _OF_PLAN.get(key)
        if reads is None:
            raise UnknownName(f"'{key}' is not known of a plan.", f"The keys are: {', '.join(KEYS)}.")
        fields: dict[str, Any] = {key: reads(trial, value)}
        return replace(wanted, **fields)
    sensor = trial.sensor(name)
    of_sensor = _OF_SENSOR.get(inner.strip())
    if of_sensor is None:
        raise UnknownName(
            f"'{inner}' is not known of a sensor's plan.", f"The keys are: {', '.join(OF_SENSOR)}."
        )
    told: dict[str, Any] = {inner.strip(): of_sensor(trial, value)}
    new = replace(wanted.of(sensor.id), **told)
    return replace(wanted, sensors=(*(one for one in wanted.sensors if one.sensor != sensor.id), new))


def _start(trial: Trial, value: str) -> Stamp | None:
    if value.lower() in _ANY:
        return None
    cure = "Write a date and a time, 2026-03-02 09:00; a date alone means 09:00."
    try:
        wall = (
            datetime.combine(date.fromisoformat(value), MORNING)
            if len(value) <= len("2026-03-02")
            else datetime.fromisoformat(value.replace(" ", "T", 1))
        )
    except ValueError:
        raise BadTime(f"'{value}' is not a start.", cure) from None
    if wall.tzinfo is not None:
        raise BadTime(f"'{value}' has a zone of its own.", "Leave the offset out; the trial's zone is meant.")
    there = trial.zones.possible(wall.replace(second=0, microsecond=0))
    if not there:
        raise BadTime(f"'{value}' does not exist there: the clock was put forward.", "Write another time.")
    return trial.zones.stamp(there[0])


def _count(name: str, *, may_be_any: bool = False) -> Callable[[Trial, str], int | None]:
    def read(_trial: Trial, value: str) -> int | None:
        if may_be_any and value.lower() in _ANY:
            return None
        if not re.fullmatch(r"\d{1,4}", value, re.ASCII):
            raise BadValue(f"{name}: '{value}' is not a whole number.", "Write for example 7.")
        return int(value)

    return read


def _overlap(_trial: Trial, value: str) -> bool:
    if value.lower() not in ("yes", "no"):
        raise BadValue(f"overlap: '{value}' is neither yes nor no.", "Write yes or no.")
    return value.lower() == "yes"


def _early(_trial: Trial, value: str) -> int:
    return 0 if value.lower() in _ANY else parse_duration(value)


def _held(_trial: Trial | None, value: str) -> tuple[Held, ...]:
    """Boxes in the drawer.

    >>> _held(None, "3 lot L12 until 2027-02-28, 2")
    (Held(count=3, lot='L12', expires=datetime.date(2027, 2, 28)), Held(count=2, lot=None, expires=None))
    """
    if value.lower() in _ANY:
        return ()
    found = []
    for part in value.split(","):
        match = _BOX.fullmatch(part.strip())
        until = _day(match["until"]) if match and match["until"] else None
        if match is None or (match["until"] and until is None):
            raise BadValue(
                f"'{part.strip()}' does not say what is in the drawer.",
                "Write for example '3 lot L12 until 2027-02-28, 2'.",
            )
        found.append(Held(int(match["count"]), match["lot"], until))
    return tuple(found)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


_OF_PLAN: dict[str, Callable[[Trial, str], Any]] = {
    "start": _start, "days": _count("days", may_be_any=True), "sticks": _count("sticks"), "repeats": _count("repeats"),
    "overlap": _overlap,
}  # fmt: skip
_OF_SENSOR: dict[str, Callable[[Trial, str], Any]] = {
    "wears": _count("wears", may_be_any=True), "early": _early, "spares": _count("spares"), "held": _held,
}  # fmt: skip
