"""Logging a fingerstick. Nothing here may import numpy: a stick is logged in the blink of an eye."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from evenhand.desk.now import Now
from evenhand.desk.times import past
from evenhand.errors import BadValue, WrongUse
from evenhand.records.change import Change
from evenhand.records.diary import REPEAT_WITHIN, Mark, MarkKind, Reason, Shown, Stick
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.store import file as store
from evenhand.store.cover import covered
from evenhand.units import Glucose, Unit, from_mg_dl, parse_glucose


@dataclass(frozen=True, slots=True)
class StickSaid:
    """What a person says with a fingerstick's value; None where nothing was said.

    Parameters
    ----------
    at
        When: 07:42, 'yesterday 22:10', 2026-03-01 02:10. Left out: now.
    reason
        Why it was taken. Left out: unknown.
    shown
        What a sensor showed at that moment, as NAME=VALUE; once for each sensor.
    into
        The sensor this value was typed into: a calibration.
    repeat
        A planned repeat of the stick before it, at most five minutes earlier.
    mark
        What may be wrong with it, or special about it.
    lot
        The lot of the strip.
    meter
        The meter, where it is not the trial's own.
    """

    at: str | None = None
    reason: Reason | None = None
    shown: tuple[str, ...] = ()
    into: str | None = None
    repeat: bool = False
    mark: tuple[MarkKind, ...] = ()
    lot: str | None = None
    meter: str | None = None


@dataclass(frozen=True, slots=True)
class StickLogged:
    """The stick as saved, the trial it went into (without readings, before the stick), the instant it was
    logged, what has to be said about its time, and the number of the change: None where it was there already."""

    stick: Stick
    trial: Trial
    now: int
    said: str
    change: int | None

    @property
    def first_known(self) -> bool:
        """Whether the trial holds a stick that this one can be the planned repeat of; it may come with the
        meter's file later."""
        return any(0 <= self.stick.at.instant - one.at.instant <= REPEAT_WITHIN for one in self.trial.sticks)


def read_trial(path: Path) -> Trial:
    """The trial a stick will go into, without its readings."""
    return store.read(path, readings=False)


def understood_value(value: str, trial: Trial) -> Glucose:
    """The value a person typed, in the wearer's unit where none was typed; `BadValue` with the cure."""
    return parse_glucose(value, trial.header.unit)


def log_stick(path: Path, trial: Trial, value: Glucose, said: StickSaid, now: Now) -> StickLogged:
    """Save a fingerstick of `value` in the trial file at `path`, last read as `trial`.

    Raises `BadTime`, `BadValue` or `UnknownName` for what cannot be understood, `WrongUse` for flags that
    contradict each other; then nothing is saved.
    """
    instant = now.instant()
    understood = past(said.at, instant, trial.zones)
    into = trial.sensor(said.into) if said.into is not None else None
    stick = Stick(
        now.fresh_id(),
        understood.stamp,
        value,
        _reason(said),
        instant,
        stated=said.reason is not None or into is not None,
        meter=said.meter,
        lot=said.lot,
        marks=_marks(path, understood.stamp.instant, said),
        shown=tuple(_shown(text, trial, instant) for text in said.shown),
        into=into.id if into else None,
        repeat=said.repeat,
    )
    twin = None if said.repeat else same_stick(trial, stick)
    if twin is not None:
        return _joined(path, trial, (twin, stick), understood.said)
    change = store.write(path, Change(f"stick {value} at {stick.at.iso}", instant, (stick,)))
    return StickLogged(stick, trial, instant, understood.said, change)


def same_stick(trial: Trial, stick: Stick) -> Stick | None:
    """The stick of the same value and minute, by the same meter, that the trial holds already; None where there is none."""
    for one in trial.sticks:
        alike = (one.glucose.value, one.glucose.unit, one.glucose.beyond, one.meter, one.repeat) == (
            stick.glucose.value, stick.glucose.unit, stick.glucose.beyond, stick.meter, stick.repeat,
        )  # fmt: skip
        if alike and one.at.instant // 60 == stick.at.instant // 60:
            return one
    return None


def _joined(path: Path, trial: Trial, twins: tuple[Stick, Stick], noted: str) -> StickLogged:
    """One stick typed twice: what was said the second time is added to the first; nothing is kept twice."""
    held, fresh = twins
    told = fresh.stated and not held.stated
    known = {one.sensor for one in held.shown}
    kinds = {one.kind for one in held.marks}
    joined = replace(
        held,
        reason=fresh.reason if told else held.reason,
        stated=held.stated or fresh.stated,
        into=fresh.into if told else held.into,
        lot=held.lot or fresh.lot,
        shown=(*held.shown, *(one for one in fresh.shown if one.sensor not in known)),
        marks=(*held.marks, *(replace(one, early=False) for one in fresh.marks if one.kind not in kinds)),
    )
    if joined == held:
        return StickLogged(held, trial, fresh.logged, noted, None)
    change = store.write(path, Change(f"said more of the stick of {held.at.iso}", fresh.logged, (joined,)))
    return StickLogged(joined, trial, fresh.logged, noted, change)


def say_more(
    path: Path,
    stick: Stick,
    now: Now,
    *,
    reason: Reason | None = None,
    shown: Sequence[str] = (),
    into: str | None = None,
) -> Stick:
    """Say afterwards why a stick was taken, what a sensor showed then (NAME=VALUE), or into which sensor it was typed;
    the stick as it is now. `WrongUse` where it is in the trial no more."""
    trial = store.read(path, readings=False)
    held = next((one for one in trial.sticks if one.id == stick.id), None)
    if held is None:
        raise WrongUse("That stick is not in the trial any more.", "Log it again.")
    instant = now.instant()
    fresh = tuple(_shown(text, trial, instant) for text in shown)
    named = {one.sensor for one in fresh}
    more = replace(
        held,
        reason=reason or held.reason,
        stated=held.stated or reason is not None,
        into=trial.sensor(into).id if into else held.into,
        shown=(*(one for one in held.shown if one.sensor not in named), *fresh),
    )
    if more != held:
        store.write(path, Change(f"said more of the stick of {held.at.iso}", instant, (more,)), trial.change)
    return more


def _reason(said: StickSaid) -> Reason:
    if said.into is None:
        return said.reason or Reason.UNKNOWN
    if said.reason not in (None, Reason.CALIBRATION):
        raise WrongUse(
            f"--into makes the stick a calibration, --reason says {said.reason}.", "Leave one of them out."
        )
    return Reason.CALIBRATION


def _marks(path: Path, instant: int, said: StickSaid) -> tuple[Mark, ...]:
    """Marks are early where no reading of that time could be known when they were set: neither a value
    shown that was typed with them nor a file with readings of that time."""
    if not said.mark:
        return ()
    early = not said.shown and not covered(path, instant)
    return tuple(Mark(kind, early) for kind in dict.fromkeys(said.mark))


def _shown(text: str, trial: Trial, instant: int) -> Shown:
    name, equals, value = text.rpartition("=")
    if not equals or not name.strip():
        raise BadValue(f"'{text}' does not say which sensor showed what.", "Write NAME=VALUE.")
    sensor = trial.sensor(name)
    unit = trial.header.unit
    return Shown(sensor.id, parse_glucose(value, unit, _limits(sensor, unit)), instant)


def _limits(sensor: Sensor, unit: Unit) -> tuple[float | None, float | None]:
    low, high = (
        None if limit is None else limit.value if limit.unit is unit else from_mg_dl(limit.mg_dl, unit)
        for limit in (sensor.low, sensor.high)
    )
    return low, high
