"""Sections read to readings per sensor, sticks and diary entries, before they meet what the trial holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import Stamp, Zones
from evenhand.intake import words
from evenhand.intake.merge import Entries
from evenhand.intake.names import METER
from evenhand.intake.reading import IGNORED, KINDS, NO_KIND, NO_OWNER, Read
from evenhand.intake.settings import Settings
from evenhand.intake.sticks import Draft
from evenhand.intake.values import BARE_HIGH, BARE_LOW, EMPTY, NUMBER, WORD, Column, Decided, plausible
from evenhand.intake.words import Kind, Role, fold
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason
from evenhand.records.files import Fate
from evenhand.records.sensors import Sensor
from evenhand.units import Beyond, Glucose, Unit, from_mg_dl

UNITS = (Unit.MG_DL, Unit.MMOL_L)
_EVENTS = {
    Kind.ALARM: EventKind.ALARM,
    Kind.MEAL: EventKind.MEAL,
    Kind.EXERCISE: EventKind.EXERCISE,
    Kind.NOTE: EventKind.OTHER,
}
_EVENT_CODES = tuple(KINDS.index(kind) for kind in _EVENTS)
_STICK_CODES = tuple(KINDS.index(kind) for kind in (Kind.STICK, Kind.CALIBRATION, Kind.CONTROL))

USUAL = {(0, 1): 40.0, (0, 2): 400.0, (1, 1): 2.2, (1, 2): 22.2}
"""What a word for 'too low' (1) or 'too high' (2) means for a sensor of unknown limits, by unit (0 mg/dL, 1 mmol/L):
common practice, no source. Values beyond it in the same column move it."""

METER_USUAL = {(0, 1): 20.0, (0, 2): 600.0, (1, 1): 1.1, (1, 2): 33.3}
"""The same for a meter: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Block:
    """Readings of one sensor from one section: rows (positions in the section), entries and texts in row order."""

    section: int
    sensor: str
    rows: NDArray[np.int64]
    entries: Entries
    offset: NDArray[np.int32]
    texts: tuple[str, ...] = field(repr=False)


@dataclass(slots=True)
class Collected:
    """What a file holds. `ownerless` counts values of whom nobody said whose they are; `assumed` are sentences
    about limits that were assumed."""

    blocks: list[Block] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    events: list[tuple[int, int, Event]] = field(default_factory=list)
    ownerless: int = 0
    assumed: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Context:
    """What collecting needs to know: whose the file is (None: not known), the trial's sensors and zones, settings,
    the id of the file, new ids, and the instant of taking in."""

    of: str | None
    sensors: dict[str, Sensor]
    zones: Zones
    settings: Settings
    file: str
    ids: Iterator[str]
    now: int


def collect(reads: list[Read], context: Context) -> Collected:
    """Everything in the sections, each row's failures already told to its fates."""
    made = Collected()
    for number, one in enumerate(reads):
        open_rows = one.fates.undecided
        _events(one, number, open_rows & np.isin(one.kind, _EVENT_CODES), made, context)
        open_rows &= ~np.isin(one.kind, _EVENT_CODES)
        for values in one.columns:
            _column(one, number, values, open_rows, made, context)
        _empty(one, number, open_rows, made, context)
        unowned = one.fates.undecided & open_rows & ~_has_owner(one, context)
        one.fates.set_many(unowned, Fate.WAITING, "waits for the answer to whose value it is")
    return made


def _has_owner(one: Read, context: Context) -> NDArray[np.bool_]:
    """Rows whose values all have an owner, or that need none (a stick)."""
    owned = (
        np.full(one.owner.size, context.of is not None) | (one.owner >= 0) | np.isin(one.kind, _STICK_CODES)
    )
    for column, _, named in one.columns:
        if named is not None:
            owned |= column.what != EMPTY
    return owned


def _column(
    one: Read,
    number: int,
    values: tuple[Column, Decided, str | None],
    open_rows: NDArray[np.bool_],
    made: Collected,
    context: Context,
) -> None:
    """One column of values: failures to fates, the rest to readings and sticks."""
    column, decided, named = values
    unit = decided.unit
    where = f" in '{column.name}'" if len(one.columns) > 1 else ""
    _failures(one, column, unit, open_rows, where)
    good = open_rows & (
        ((column.what == NUMBER) & plausible(column.number, unit))
        | np.isin(column.what, (BARE_LOW, BARE_HIGH))
    )
    one.fates.set_many(good & (unit < 0), Fate.WAITING, "waits for the answer to its unit")
    good &= unit >= 0
    owner = _owner_of(one, named, context)
    kind = one.kind
    is_stick = np.isin(kind, _STICK_CODES) | (
        (owner == 0) & np.isin(kind, (NO_KIND, KINDS.index(Kind.READING)))
    )
    is_reading = ~is_stick & (owner > 0)
    made.ownerless += int((good & ~is_stick & (owner == NO_OWNER)).sum())
    for code in np.unique(owner[good & is_reading]).tolist():
        rows = np.flatnonzero(good & is_reading & (owner == code))
        made.blocks.append(_block(one, number, column, unit, rows, one.owners[code], made, context))
    for row in np.flatnonzero(good & is_stick).tolist():
        made.drafts.append(_draft(one, number, column, int(unit[row]), row, int(owner[row]), context))


def _owner_of(one: Read, named: str | None, context: Context) -> NDArray[np.int16]:
    """Per row the index of the owner: the column's own, else the row's, else whose the file is."""
    if named is not None:
        return np.where(one.owner == IGNORED, IGNORED, one.owners.index(named)).astype(np.int16)
    default = NO_OWNER if context.of is None else one.owners.index(context.of)
    return np.where(one.owner == NO_OWNER, default, one.owner).astype(np.int16)


def _failures(
    one: Read, column: Column, unit: NDArray[np.int8], open_rows: NDArray[np.bool_], where: str
) -> None:
    """Rows whose cell is empty, no value, or a number no body has."""
    for row in np.flatnonzero(open_rows & (column.what == WORD)).tolist():
        one.fates.set(row, Fate.SET_ASIDE, f"'{column.cells[row].strip()[:40]}'{where} is not a value")
    odd = open_rows & (column.what == NUMBER) & ~plausible(column.number, unit)
    for row in np.flatnonzero(odd).tolist():
        unit_word = UNITS[max(int(unit[row]), 0)].value
        one.fates.set(
            row, Fate.SET_ASIDE, f"'{column.cells[row].strip()[:40]}'{where} cannot be a value in {unit_word}"
        )


def _block(
    one: Read,
    number: int,
    column: Column,
    unit: NDArray[np.int8],
    rows: NDArray[np.int64],
    sensor: str,
    made: Collected,
    context: Context,
) -> Block:
    value, flag = column.number[rows].copy(), column.flag[rows]
    mmol = unit[rows] == 1
    for code, side in ((BARE_LOW, 1), (BARE_HIGH, 2)):
        bare = column.what[rows] == code
        for kind in np.unique(mmol[bare]).tolist():
            limit, said = _limit(
                column, unit, rows, side, int(kind), context.sensors[sensor], context.settings
            )
            value[bare & (mmol == kind)] = limit
            if said:
                made.assumed.append(said)
    texts = tuple(column.cells[row].strip() for row in rows.tolist())
    entries = Entries(one.placed.instant[rows], value, mmol, flag)
    return Block(number, sensor, rows, entries, one.placed.offset[rows], texts)


def _limit(
    column: Column,
    unit: NDArray[np.int8],
    rows: NDArray[np.int64],
    side: int,
    mmol: int,
    sensor: Sensor,
    settings: Settings,
) -> tuple[float, str]:
    """The value a limit word stands for, and a sentence where it is assumed ('' where it is known)."""
    said = _said_limit(settings, side)
    if said is not None:
        return said, ""
    known = sensor.low if side == 1 else sensor.high
    if known is not None:
        return (known.value if known.unit is UNITS[mmol] else from_mg_dl(known.mg_dl, UNITS[mmol])), ""
    own = rows[(unit[rows] == mmol) & (column.what[rows] == NUMBER)]
    stated = column.number[own[column.flag[own] == side]]
    if stated.size:
        return float(stated.min() if side == 1 else stated.max()), ""
    plain = column.number[own[column.flag[own] == 0]]
    usual = USUAL[mmol, side]
    if plain.size:
        usual = min(usual, float(plain.min())) if side == 1 else max(usual, float(plain.max()))
    word, key = ("low", "at most") if side == 1 else ("high", "at least")
    return (
        usual,
        f"The word for 'too {word}' in '{column.name}' is read as {key} {usual:g} {UNITS[mmol].value}; say otherwise with --set {word}=VALUE.",
    )


def _said_limit(settings: Settings, side: int) -> float | None:
    from evenhand.intake.numerals import read

    text = settings.get("low" if side == 1 else "high")
    found = read(text) if text is not None else None
    return found.value if found is not None else None


def _draft(
    one: Read, number: int, column: Column, unit: int, row: int, owner: int, context: Context
) -> Draft:
    side = int(column.flag[row])
    value = float(column.number[row])
    if np.isnan(value):
        said = _said_limit(context.settings, side)
        value = METER_USUAL[unit, side] if said is None else said
    beyond = (None, Beyond.LOW, Beyond.HIGH)[side]
    glucose = Glucose(value, UNITS[unit], _number_text(column.cells[row]), beyond)
    kind = KINDS[one.kind[row]] if one.kind[row] >= 0 else None
    reason = words.REASON_WORDS.get(fold(one.cell(Role.REASON, row)))
    stated = reason not in (None, Reason.UNKNOWN)
    if kind is Kind.CALIBRATION:
        reason, stated = Reason.CALIBRATION, True
    reason = reason or Reason.UNKNOWN
    sensor = one.owners[owner] if owner > 0 else None
    return Draft(
        number, row, one.section.sheet, one.section.lines[row], stamp(one, row, context), glucose, reason, stated,
        _marks(one, row, kind), one.cell(Role.LOT, row) or None,
        sensor if reason is Reason.CALIBRATION else None, owner == 0 or (owner == NO_OWNER and kind is None),
    )  # fmt: skip


def _number_text(cell: str) -> str:
    """The value as recorded, without the unit glued on."""
    bare = cell.strip()
    for tail in ("mg/dl", "mmol/l", "mg/dL", "mmol/L"):
        if bare.lower().endswith(tail.lower()):
            return bare[: -len(tail)].strip()
    return bare


def _marks(one: Read, row: int, kind: Kind | None) -> tuple[Mark, ...]:
    cell = one.cell(Role.MARKS, row)
    parts = [cell, *cell.replace(";", ",").replace("+", ",").replace("|", ",").split(",")]
    found = dict.fromkeys(words.MARK_WORDS[fold(part)] for part in parts if fold(part) in words.MARK_WORDS)
    if kind is Kind.CONTROL:
        found[MarkKind.CONTROL] = None
    return tuple(Mark(mark) for mark in found)


def stamp(one: Read, row: int, context: Context) -> Stamp:
    """The stamp of a row, with its time as it stands in the file."""
    instant = int(one.placed.instant[row])
    return Stamp(one.time_text(row), instant, context.zones.at(instant), int(one.placed.offset[row]))


def _events(one: Read, number: int, rows: NDArray[np.bool_], made: Collected, context: Context) -> None:
    """Alarms, meals, exercise and notes among the rows."""
    for row in np.flatnonzero(rows).tolist():
        kind = KINDS[one.kind[row]]
        word = one.cell(Role.KIND, row)
        note = one.cell(Role.NOTE, row)
        values = [
            column.cells[row].strip() for column, _, _ in one.columns if not words.missing(column.cells[row])
        ]
        text = ", ".join(part for part in (word, *values, note) if part)
        if kind is Kind.ALARM:
            side = next(
                (
                    side
                    for side, known in (("low", words.LOW_WORDS), ("high", words.HIGH_WORDS))
                    if set(fold(f"{word} {note}").split()) & known
                ),
                "",
            )
            text = f"{side} {text}".strip()
        elif kind is Kind.NOTE:
            text = ", ".join(part for part in (*values, note) if part) or word
        made.events.append((number, row, _event(one, row, _EVENTS[kind], text, context)))


def _event(one: Read, row: int, kind: EventKind, text: str, context: Context) -> Event:
    owner = int(one.owner[row])
    of = one.owners[owner] if owner >= 0 else context.of
    return Event(
        next(context.ids), kind, stamp(one, row, context), context.now, None, text,
        None if of in (None, METER) else of, None,
    )  # fmt: skip


def _empty(one: Read, number: int, rows: NDArray[np.bool_], made: Collected, context: Context) -> None:
    """Rows without a value: their note is kept as a diary entry; without one they are set aside."""
    empty = rows.copy()
    for column, _, _ in one.columns:
        empty &= column.what == EMPTY
    if one.roles.get(Role.NOTE) is None:
        one.fates.set_many(empty, Fate.SET_ASIDE, "no value")
        return
    for row in np.flatnonzero(empty).tolist():
        note = one.cell(Role.NOTE, row)
        if note:
            made.events.append((number, row, _event(one, row, EventKind.OTHER, note, context)))
        else:
            one.fates.set(row, Fate.SET_ASIDE, "no value")
