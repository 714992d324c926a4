"""One section read: times placed, kinds and owners of rows, values with their units. Decides nothing about the trial."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenhand.errors import UnknownName
from evenhand.intake import moments, words
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.fates import Fates
from evenhand.intake.instants import LEFT_OUT, NONE, OK, Placed, Where, place
from evenhand.intake.layout import Section
from evenhand.intake.moments import Order
from evenhand.intake.names import METER, Names
from evenhand.intake.numerals import Reader
from evenhand.intake.roles import Roles
from evenhand.intake.settings import Settings, did_you_mean
from evenhand.intake.times import Times, read_pairs, read_times, stated_offsets
from evenhand.intake.values import Column, Decided, decide_unit, read_column
from evenhand.intake.words import Kind, Role, fold
from evenhand.records.files import Fate

KINDS = tuple(Kind)
NO_KIND, UNKNOWN_KIND = -1, -2
NO_OWNER, IGNORED = -1, -2


@dataclass(frozen=True, slots=True)
class Sheet:
    """A section with its roles and times, before the order of day and month is known."""

    section: Section
    roles: Roles
    times: Times


@dataclass(slots=True)
class Read:
    """A section read: `placed` instants, `kind` (index into KINDS, NO_KIND, UNKNOWN_KIND) and `owner` (index into
    `owners`, NO_OWNER, IGNORED) per row; value columns with unit and owner."""

    section: Section
    roles: Roles
    placed: Placed
    kind: NDArray[np.int8]
    owner: NDArray[np.int16]
    owners: list[str]
    columns: list[tuple[Column, Decided, str | None]]
    fates: Fates
    asked: list[Asked] = field(default_factory=list)
    guesses: list[Guess] = field(default_factory=list)

    def cell(self, role: Role, row: int) -> str:
        """The cell of a role in a row, stripped; '' where there is no such column."""
        index = self.roles.get(role)
        return self.section.columns[index][row].strip() if index is not None else ""

    def time_text(self, row: int) -> str:
        """The time of a row as it stands in the file."""
        columns, roles = self.section.columns, self.roles
        clock = columns[roles.time][row].strip()
        return f"{columns[roles.date][row].strip()} {clock}" if roles.date is not None else clock


def read_sheet_times(section: Section, roles: Roles, *, header_zone: bool = True) -> Times:
    """The times of a section, in one column or two, with offsets from a column of them or (`header_zone`) the header."""
    if roles.date is not None:
        times = read_pairs(section.columns[roles.date], section.columns[roles.time], section.serial_base)
    else:
        times = read_times(section.columns[roles.time], section.serial_base or "1900")
    zone = roles.get(Role.ZONE)
    if zone is not None:
        known = {cell: moments.read_offset(cell) for cell in set(section.columns[zone])}
        return stated_offsets(times, [known[cell] for cell in section.columns[zone]])
    if header_zone and in_utc(section.names[roles.time]):
        return stated_offsets(times, [0] * len(section.lines))
    return times


def in_utc(name: str) -> bool:
    """Whether a column's name says that its times are in UTC.

    >>> in_utc("Time (UTC)"), in_utc("UTC offset"), in_utc("Time")
    (True, False, False)
    """
    found = set(fold(name.replace("(", " ").replace(")", " ")).split())
    return bool(found & {"utc", "gmt"}) and "offset" not in found


def read(sheet: Sheet, order: Order, there: Where, settings: Settings, names: Names, reader: Reader) -> Read:
    """Read a section; rows without a time, of an unknown kind or of an ignored device get their fate here."""
    section, roles = sheet.section, sheet.roles
    kind, kind_asked = _kinds(section, roles, settings)
    owner, owners = _owners(section, roles, settings, names)
    wall, good = sheet.times.wall(order)
    wall = np.where(good, wall + settings.shift, wall)
    placed = place(wall, good, sheet.times.offset, sheet.times.absolute, there, owner.astype(np.int32))
    fates = Fates(section)
    made = Read(section, roles, placed, kind, owner, owners, [], fates, kind_asked)
    _timeless(made, order)
    _unknown_kinds(made)
    fates.set_many(owner == IGNORED, Fate.SET_ASIDE, "of a device that you said to ignore")
    alone = len(roles.values) == 1
    usable = fates.undecided & ~np.isin(
        kind, [KINDS.index(one) for one in (Kind.ALARM, Kind.MEAL, Kind.EXERCISE, Kind.NOTE)]
    )
    for value in roles.values:
        column = read_column(section, value.index, reader)
        decided = decide_unit(column, section, roles.get(Role.UNIT), settings, alone, usable)
        made.columns.append((column, decided, value.owner))
        made.asked += decided.asked
        made.guesses += decided.guesses
    return made


def _kinds(section: Section, roles: Roles, settings: Settings) -> tuple[NDArray[np.int8], list[Asked]]:
    n = len(section.lines)
    index = roles.get(Role.KIND)
    if index is None:
        return np.full(n, NO_KIND, np.int8), []
    codes = {cell: _kind_of(cell, settings) for cell in set(section.columns[index])}
    return np.fromiter((codes[cell] for cell in section.columns[index]), np.int8, n), []


def _kind_of(cell: str, settings: Settings) -> int:
    said = settings.about("kind", cell)
    if said is not None:
        if said.lower() == "ignore":
            return UNKNOWN_KIND
        try:
            return KINDS.index(Kind(said.lower()))
        except ValueError:
            raise UnknownName(
                f"'{said}' is not a kind of row.",
                did_you_mean(said, [kind.value for kind in Kind] + ["ignore"]),
            ) from None
    folded = fold(cell)
    if not folded or words.missing(cell):
        return NO_KIND
    kind = words.KIND_WORDS.get(folded)
    return UNKNOWN_KIND if kind is None else KINDS.index(kind)


def _owners(
    section: Section, roles: Roles, settings: Settings, names: Names
) -> tuple[NDArray[np.int16], list[str]]:
    """Per row the device its own cell names; nobody where there is no device column or its word is no name."""
    n = len(section.lines)
    owners = [METER, *names.sensors]
    index = roles.get(Role.DEVICE)
    if index is None:
        return np.full(n, NO_OWNER, np.int16), owners
    codes: dict[str, int] = {}
    for cell in set(section.columns[index]):
        said = settings.about("device", cell)
        if said is not None and said.lower() == "ignore":
            codes[cell] = IGNORED
            continue
        owner = names.owner(said) if said is not None else names.whose(cell)
        codes[cell] = NO_OWNER if owner is None else owners.index(owner)
    return np.fromiter((codes[cell] for cell in section.columns[index]), np.int16, n), owners


def _timeless(made: Read, order: Order) -> None:
    state = made.placed.state
    for row in np.flatnonzero(state == NONE).tolist():
        text = made.time_text(row)
        made.fates.set(
            row,
            Fate.SET_ASIDE,
            f"'{text[:40]}' is not a time in {order} order"
            if text and _digits(text)
            else (f"'{text[:40]}' is not a time" if text else "no time"),
        )
    for row in np.flatnonzero(state == LEFT_OUT).tolist():
        made.fates.set(
            row,
            Fate.SET_ASIDE,
            f"that time did not exist: clocks were put forward over {made.time_text(row)}",
        )


def _digits(text: str) -> bool:
    return any(mark.isdigit() for mark in text) and any(mark in text for mark in "./-")


def _unknown_kinds(made: Read) -> None:
    index = made.roles.get(Role.KIND)
    if index is None:
        return
    cells = made.section.columns[index]
    for row in np.flatnonzero((made.kind == UNKNOWN_KIND) & made.fates.undecided).tolist():
        made.fates.set(
            row, Fate.SET_ASIDE, f"'{cells[row].strip()[:40]}' is no kind of row that Evenhand keeps"
        )


def strange_devices(made: Read) -> Sequence[str]:
    """Words in the device column that are nobody's name, in order of their first row."""
    index = made.roles.get(Role.DEVICE)
    if index is None:
        return ()
    rows = np.flatnonzero((made.owner == NO_OWNER) & (made.placed.state == OK))
    cells = made.section.columns[index]
    return tuple(dict.fromkeys(cells[row].strip() for row in rows.tolist() if cells[row].strip()))
