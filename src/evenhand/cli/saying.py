"""Saying back what was understood."""

from __future__ import annotations

from datetime import timedelta

from evenhand.clock import MONTHS, WEEKDAYS, Stamp, Zones
from evenhand.desk.sticks import StickLogged
from evenhand.records.diary import MarkKind
from evenhand.units import Beyond, Glucose


def moment(stamp: Stamp, now: int, zones: Zones) -> str:
    """A moment as it is said back: '07:42 today, Sunday 1 March'; the zone where it is not the trial's.

    >>> zones = Zones("Europe/Lisbon")
    >>> moment(Stamp.at(1772350920, "Europe/Lisbon"), 1772352000, zones)
    '07:42 today, Sunday 1 March'
    >>> moment(Stamp.at(1735803720, "Asia/Tokyo"), 1772352000, zones)
    '16:42 on Thursday 2 January 2025 (Asia/Tokyo)'
    """
    wall, today = stamp.wall, zones.stamp(now).day
    away = (today - wall.date()).days
    near = {0: " today, ", 1: " yesterday, ", -1: " tomorrow, "}.get(away, " on ")
    year = "" if wall.year == today.year else f" {wall.year}"
    zone = "" if stamp.zone == zones.home else f" ({stamp.zone})"
    named = f"{WEEKDAYS[wall.weekday()]} {wall.day} {MONTHS[wall.month - 1]}{year}"
    return f"{wall:%H:%M}{near}{named}{zone}"


def value(glucose: Glucose) -> str:
    """A value as it is said back; a word with the limit it stands for."""
    if glucose.beyond is None:
        return str(glucose)
    limit = f"{glucose.value:g} {glucose.unit}"
    return f"{glucose.beyond} ({'at most' if glucose.beyond is Beyond.LOW else 'at least'} {limit})"


def stick(done: StickLogged) -> str:
    """A fingerstick as it is said back, in one line."""
    logged, trial = done.stick, done.trial
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    parts = [f"{value(logged.glucose)} at {moment(logged.at, done.now, trial.zones)}"]
    parts.append(f"as {logged.reason}" if logged.stated else "no reason given")
    if logged.into is not None:
        parts.append(f"typed into {names[logged.into]}")
    if logged.repeat:
        missing = "" if done.first_known else ", which is not in the trial yet"
        parts.append(f"a repeat of the one before{missing}")
    parts += [_mark(mark.kind, mark.early) for mark in logged.marks]
    parts += [f"{names[one.sensor]} showed {value(one.glucose)}" for one in logged.shown]
    parts += [f"meter {logged.meter}"] if logged.meter else []
    parts += [f"strip lot {logged.lot}"] if logged.lot else []
    told = ", ".join(parts)
    return f"{told}. {done.said}" if done.said else told


def _mark(kind: MarkKind, early: bool) -> str:  # noqa: FBT001
    text = {
        MarkKind.UNWASHED: "hands unwashed",
        MarkKind.STRIP_ERROR: "strip error",
        MarkKind.CONTROL: "control solution, not blood",
        MarkKind.SAME_DROP: "same drop",
    }[kind]
    return text if early else f"{text} (marked after a reading of that time was known)"


def duration(seconds: int) -> str:
    """A duration: '5 min', '1 h 30 min', '10 days'.

    >>> duration(300), duration(5400), duration(864_000), duration(0), duration(90)
    ('5 min', '1 h 30 min', '10 days', '0 min', '1 min 30 s')
    """
    rest = timedelta(seconds=seconds)
    hours, left = divmod(rest.seconds, 3600)
    minutes, odd = divmod(left, 60)
    days = f"{rest.days} day{'s' if rest.days != 1 else ''}"
    parts = [days if rest.days else "", f"{hours} h" if hours else "", f"{minutes} min" if minutes else ""]
    parts.append(f"{odd} s" if odd else "")
    return " ".join(part for part in parts if part) or "0 min"
