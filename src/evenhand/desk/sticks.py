"""Logging a fingerstick. Nothing here may import numpy: a stick is logged in the blink of an eye."""

from __future__ import annotations

from dataclasses import dataclass
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
    logged, what has to be said about its time, and the number of the change."""

    stick: Stick
    trial: Trial
    now: int
    said: str
    change: int

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
    change = store.write(path, Change(f"stick {value} at {stick.at.iso}", instant, (stick,)))
    return StickLogged(stick, trial, instant, understood.said, change)


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
