"""One jotted line alone, as it is typed at a prompt: understood at once or refused, never asked about."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.clock import Stamp, understand_time
from evenhand.errors import BadTime, BadValue
from evenhand.intake import jotted
from evenhand.intake.jotted import Jotting
from evenhand.intake.remarks import understood
from evenhand.records.diary import MarkKind, Reason
from evenhand.records.trial import Trial
from evenhand.units import Glucose, parse_glucose


@dataclass(frozen=True, slots=True)
class Line:
    """One line as understood: when (text with the offset), the value, its reason (None: not said), marks, and words that
    say more."""

    when: str
    glucose: Glucose
    reason: Reason | None
    marks: tuple[MarkKind, ...]
    note: str


def read_line(text: str, trial: Trial, now: int) -> Line:
    """One jotted line; a value without a time is of now (an instant).

    Raises `BadValue` where it is no time and value, or can be read two ways; `BadTime` where its time is none or has not come yet.
    """
    ways = [way for way in jotted.parse(text, trial.zones.stamp(now).day) if way.value is not None]
    if not ways:
        raise BadValue(
            f"'{text.strip()}' is not a time and a value.",
            "Write for example '02:10 4.1' or 'Tue 07:42 6.1 alarm'.",
        )
    if len(ways) > 1:
        raise BadValue(
            f"'{text.strip()}' can be read in {len(ways)} ways.",
            " or ".join(f"'{way}'" for way in ways) + ": write the one you mean, with the time as 07:42.",
        )
    (way,) = ways
    stamp = _moment(way, trial, now)
    if stamp.instant > now:
        raise BadTime(f"'{way.told}' is {stamp.iso}, which has not come yet.", "Write when it happened.")
    told = understood(way.rest)
    return Line(
        stamp.iso,
        _glucose(way, trial),
        told.reasons[0] if len(told.reasons) == 1 else None,
        told.marks,
        told.text if told.more or len(told.reasons) > 1 else "",
    )


def _moment(way: Jotting, trial: Trial, now: int) -> Stamp:
    if not way.clock:
        if way.day is not None:
            raise BadTime(
                f"'{way.told}' is a day without a time.", "Write the time after it: 'Tue 07:42 6.1'."
            )
        return trial.zones.stamp(now)
    if way.day is None or jotted.only_weekday(way.told):
        return understand_time(way.told if way.day else way.clock, now, trial.zones).stamp
    return understand_time(f"{way.day.isoformat()} {way.clock}", now, trial.zones).stamp


def _glucose(way: Jotting, trial: Trial) -> Glucose:
    value = way.value
    assert value is not None
    text = value.text if way.unit is None or value.unit is not None else f"{value.text} {way.unit}"
    return parse_glucose(text, trial.header.unit)
