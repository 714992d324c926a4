"""An invented life as records: the trial its wearer would hold in hand."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import HOUR, MINUTE, Stamp, ZoneOrigin
from evenhand.findings import METHOD
from evenhand.records.diary import Event, EventKind, Stick
from evenhand.records.question import Declared, Policy, Question
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, Readings
from evenhand.records.sensors import CountsFrom, Sensor, Side, Wear
from evenhand.records.trial import Header, Trial
from evenhand.rehearse.grid import Floats, Grid
from evenhand.rehearse.readings import Cause, Gap, Slots, limits
from evenhand.rehearse.sticks import Pricked
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.wears import Faults, Stretch
from evenhand.rehearse.world import Calibrating, Model, World
from evenhand.units import FACTOR, Beyond, Glucose, Unit


@dataclass(frozen=True, slots=True)
class Kept:
    """What one sensor kept, shapes (n,): when, `value` in the model's unit, `flag`."""

    when: Slots
    value: Floats
    flag: NDArray[np.int8]
    model: Model

    @property
    def mg_dl(self) -> Floats:
        """The values in mg/dL, (n,)."""
        return self.value * FACTOR if self.model.unit is Unit.MMOL_L else self.value

    def showing(self, minutes: int) -> Floats:
        """What the screen shows at every minute: the last reading for `interval` minutes, else NaN; (M,)."""
        line = np.full(minutes, np.nan)
        if self.value.size == 0:
            return line
        last = np.searchsorted(self.when.minute, np.arange(minutes), side="right") - 1
        held = np.maximum(last, 0)
        fresh = (last >= 0) & (np.arange(minutes) - self.when.minute[held] < self.model.interval)
        return np.where(fresh, self.mg_dl[held], np.nan)


@dataclass(frozen=True, slots=True)
class Told:
    """What happened, to be told as records; tuples run over sensors, `exercise` in grid minutes."""

    world: World
    streams: Streams
    grid: Grid
    faults: tuple[Faults, ...]
    kept: tuple[Kept, ...]
    gaps: tuple[tuple[Gap, ...], ...]
    sticks: list[Pricked]
    exercise: tuple[Stretch, ...]

    def stamp(self, minute: int) -> Stamp:
        """The stamp of a grid minute."""
        return Stamp.at(self.grid.start + MINUTE * minute, self.grid.zone)

    @property
    def ids(self) -> tuple[str, ...]:
        """The sensors' ids."""
        return tuple(self.streams.id("sensor", place) for place in range(len(self.faults)))


def to_trial(told: Told) -> Trial:
    """The trial with all its records."""
    world, streams, grid, ids = told.world, told.streams, told.grid, told.ids
    header = Header(
        id=streams.id("trial"),
        name=world.name,
        zone=world.zone,
        zone_origin=ZoneOrigin.GIVEN,
        unit=world.unit,
        meter=world.meter.name,
        seed=streams.seed,
        made=grid.start - 2 * HOUR,
    )
    wears = [wear for place in range(len(ids)) for wear in _wears(told, place)]
    return Trial(
        header,
        tuple(
            _sensor(model, place, ids[place], told.faults[place]) for place, model in enumerate(world.sensors)
        ),
        tuple(sorted(wears, key=lambda wear: (wear.first.instant, wear.sensor))),
        _sticks(told),
        _events(told) if world.notes else (),
        _question(told),
        readings={name: readings_of(kept, grid) for name, kept in zip(ids, told.kept, strict=True)},
        edition=hashlib.sha256(f"rehearsed {streams.seed} {world!r}".encode()).hexdigest(),
        change=1,
    )


def _sensor(model: Model, place: int, name: str, found: Faults) -> Sensor:
    low, high = limits(model)
    whole = model.unit is Unit.MG_DL
    longest = (
        max(wear.end - wear.start for wear in found.wears) if model.life is None else round(model.life * 1440)
    )
    return Sensor(
        id=name,
        name=model.name,
        place=place,
        interval=model.interval * MINUTE,
        warm_up=model.warm_up * MINUTE,
        life=longest * MINUTE,
        grace=0,
        counts_from=CountsFrom.START,
        low=Glucose(low, model.unit, f"{low:.0f}" if whole else f"{low:.1f}"),
        high=Glucose(high, model.unit, f"{high:.0f}" if whole else f"{high:.1f}"),
        price=model.price,
        exports=True,
    )


def _wears(told: Told, place: int) -> list[Wear]:
    made: list[Wear] = []
    for truth in told.faults[place].wears:
        made.append(
            Wear(
                id=told.streams.id("wear", place, truth.number),
                sensor=told.ids[place],
                inserted=told.stamp(truth.start),
                removed=told.stamp(truth.end),
                site="upper arm",
                side=(Side.LEFT, Side.RIGHT)[(place + truth.number) % 2],
                lot=f"L{place + 1}{truth.number + 1:02d}",
                ending=truth.ending,
                replaces=made[-1].id if truth.replaces and made else None,
                drives=told.world.driver == place,
            )
        )
    return made


def _sticks(told: Told) -> tuple[Stick, ...]:
    unit, ids = told.world.meter.unit, told.ids
    style = "{:.0f}" if unit is Unit.MG_DL else "{:.1f}"
    return tuple(
        Stick(
            id=told.streams.id("stick", number),
            at=told.stamp(one.minute),
            glucose=Glucose(one.value, unit, style.format(one.value)),
            reason=one.reason,
            logged=told.grid.start + MINUTE * one.minute + 20,
            stated=True,
            into=None if one.into is None else ids[one.into],
            repeat=one.repeat,
        )
        for number, one in enumerate(told.sticks)
    )


@dataclass(frozen=True, slots=True)
class _Noted:
    """A diary entry in grid minutes."""

    start: int
    end: int | None
    kind: EventKind
    text: str = ""
    sensor: str | None = None


def _events(told: Told) -> tuple[Event, ...]:
    """Exercise, phones left behind, and the low alarms that prompted a stick."""
    noted = [_Noted(start, end, EventKind.EXERCISE) for start, end in told.exercise if start >= 0]
    for name, lost in zip(told.ids, told.gaps, strict=True):
        noted += [
            _Noted(gap.start, gap.end, EventKind.AWAY, "phone left behind", name)
            for gap in lost
            if gap.cause is Cause.PHONE
        ]
    noted += [
        _Noted(one.minute - 1, None, EventKind.ALARM, "low", told.ids[one.alarm])
        for one in told.sticks
        if one.alarm is not None and one.minute > 0
    ]
    noted.sort(key=lambda note: (note.start, note.kind))
    return tuple(
        Event(
            id=told.streams.id("event", number),
            kind=note.kind,
            start=told.stamp(note.start),
            logged=told.grid.start + MINUTE * ((note.end or note.start) + 1),
            end=None if note.end is None else told.stamp(note.end),
            text=note.text,
            sensor=note.sensor,
        )
        for number, note in enumerate(noted)
    )


def _question(told: Told) -> Question:
    world, ids = told.world, told.ids
    name = told.streams.id("question")
    pair = (ids[0], ids[1]) if len(ids) > 1 else None
    if not world.declared:
        return Question(name, pair=pair)
    never = all(model.calibrating is Calibrating.NEVER for model in world.sensors)
    fingerprint = hashlib.sha256(repr(world).encode()).hexdigest()
    return Question(
        name,
        pair=pair,
        waking=world.waking,
        policy=Policy.NONE if never else Policy.FREE,
        declared=Declared(told.stamp(-60), 1, 0, METHOD, fingerprint),
    )


def readings_of(kept: Kept, grid: Grid) -> Readings:
    """One sensor's readings as records; `line` counts from 1."""
    mmol = kept.model.unit is Unit.MMOL_L
    table, low, high = _texts(mmol=mmol), Beyond.LOW.value.upper(), Beyond.HIGH.value.upper()
    steps = np.rint(kept.value * (10 if mmol else 1)).astype(np.int64).tolist()
    text = [table[step] for step in steps]
    for flag, word in ((BEYOND_LOW, low), (BEYOND_HIGH, high)):
        for place in np.flatnonzero(kept.flag == flag).tolist():
            text[place] = word
    size = kept.value.size
    return Readings(
        instant=kept.when.instant,
        offset=grid.offset[kept.when.minute].astype(np.int32),
        value=kept.value,
        mmol=np.full(size, mmol),
        flag=kept.flag,
        line=np.arange(1, size + 1, dtype=np.int32),
        text=tuple(text),
    )


@lru_cache(maxsize=2)
def _texts(*, mmol: bool) -> tuple[str, ...]:
    """Every value a sensor can print, by steps of its unit."""
    return tuple(f"{step / 10:.1f}" if mmol else str(step) for step in range(1001))
