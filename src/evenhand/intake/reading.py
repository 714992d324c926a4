"""One section read: times placed, kinds and owners of rows, values with their units. Decides nothing about the trial."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenhand.errors import UnknownName
from evenhand.intake import moments, named_zones, shifts, words, zoned
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.fates import Fates
from evenhand.intake.instants import LEFT_OUT, NONE, OK, Placed, Where, place
from evenhand.intake.layout import Section
from evenhand.intake.moments import Order
from evenhand.intake.names import METER, Names
from evenhand.intake.numerals import Reader
from evenhand.intake.roles import Roles
from evenhand.intake.settings import Settings, did_you_mean
from evenhand.intake.times import NO_OFFSET, Times, read_pairs, read_times, stated_offsets
from evenhand.intake.values import Column, Decided, decide_unit, read_column
from evenhand.intake.words import Kind, Role, fold
from evenhand.records.files import Fate

KINDS = tuple(Kind)
NO_KIND, UNKNOWN_KIND = -1, -2
NO_OWNER, IGNORED = -1, -2
_MEASURED = (Kind.READING, Kind.STICK, Kind.CALIBRATION, Kind.CONTROL)
BLOOD = "any blood"
"""The word in a column of kinds for glucose in blood by whatever way; it is asked about."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A section with its roles and times, before the order of day and month is known."""

    section: Section
    roles: Roles
    times: Times


@dataclass(slots=True)
class Read:
    """A section read: `placed` instants, `kind` (index into KINDS, NO_KIND, UNKNOWN_KIND) and `owner` (index into
    `owners`, NO_OWNER, IGNORED) per row; value columns with unit and owner. `counted`: times are counts of seconds;
    `unzoned`: wall times as written of rows that state no offset, -1 for the others."""

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
    counted: bool = False
    unzoned: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, np.int64))

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
        return zoned.with_offsets(times, section.columns[zone])
    told = named_zones.of_name(section.names[roles.time]) if header_zone else None
    offset = None if told is None or told.zone is None else zoned.offset_of(told.zone)
    return times if offset is None else stated_offsets(times, [offset] * len(section.lines))


def read(sheet: Sheet, order: Order, there: Where, settings: Settings, names: Names, reader: Reader) -> Read:
    """Read a section; rows without a time, of an unknown kind or of an ignored device get their fate here."""
    section, roles = sheet.section, sheet.roles
    kind, kind_asked = _kinds(section, roles, settings)
    owner, owners = _owners(section, roles, settings, names)
    wall, good = sheet.times.wall(order)
    unzoned = np.where(_stated_nowhere(sheet, good, settings), wall, -1)
    wall = shifts.apply(wall, good, settings.shift)
    placed = _placed(sheet, wall, good, there, settings, owner.astype(np.int32))
    fates = Fates(section)
    made = Read(section, roles, placed, kind, owner, owners, [], fates, kind_asked)
    made.counted, made.unzoned = bool(sheet.times.absolute.any()), unzoned
    _timeless(made, order)
    _unknown_kinds(made)
    fates.set_many(owner == IGNORED, Fate.SET_ASIDE, "of a device that you said to ignore")
    _others_rows(made, settings)
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


def _placed(
    sheet: Sheet,
    wall: NDArray[np.int64],
    good: NDArray[np.bool_],
    there: Where,
    settings: Settings,
    group: NDArray[np.int32],
) -> Placed:
    """Instants: in the zone each row names where it names one, unless a zone was said for the file."""
    zone = sheet.roles.get(Role.ZONE)
    cells = sheet.section.columns[zone] if zone is not None and settings.get("zone") is None else ()
    if any(zoned.zone_of(cell) for cell in set(cells)):
        return zoned.place_by_zone(wall, good, sheet.times, cells, there, group)
    return place(wall, good, sheet.times.offset, sheet.times.absolute, there, group)


def _stated_nowhere(sheet: Sheet, good: NDArray[np.bool_], settings: Settings) -> NDArray[np.bool_]:
    """Rows whose zone is stated neither by an offset nor by a zone's name beside them."""
    local: NDArray[np.bool_] = good & ~sheet.times.absolute & (sheet.times.offset == NO_OFFSET)
    zone = sheet.roles.get(Role.ZONE)
    if zone is not None and settings.get("zone") is None:
        cells = sheet.section.columns[zone]
        named = {cell: zoned.zone_of(cell) is not None for cell in set(cells)}
        local &= ~np.fromiter((named[cell] for cell in cells), np.bool_, len(cells))
    return local


def _kinds(section: Section, roles: Roles, settings: Settings) -> tuple[NDArray[np.int8], list[Asked]]:
    n = len(section.lines)
    index = roles.get(Role.KIND)
    if index is None:
        return np.full(n, NO_KIND, np.int8), []
    cells = section.columns[index]
    codes = {cell: _kind_of(cell, settings) for cell in set(cells)}
    blood = sum(1 for cell in cells if codes[cell] == UNKNOWN_KIND and fold(cell) == BLOOD)
    asked = [_ask_blood(blood)] if blood and settings.about("kind", BLOOD) is None else []
    if not asked and not any(code >= 0 and KINDS[code] in _MEASURED for code in codes.values()):
        asked = list(_ask_words(section, roles, codes, settings))
    return np.fromiter((codes[cell] for cell in cells), np.int8, n), asked


def _ask_words(section: Section, roles: Roles, codes: dict[str, int], settings: Settings) -> Iterator[Asked]:
    """One question for each unknown word of rows with a value, in a table where no word says what was measured."""
    index = roles.get(Role.KIND)
    assert index is not None
    held: Counter[str] = Counter()
    for value in roles.values:
        held.update(
            kind.strip()
            for kind, cell in zip(section.columns[index], section.columns[value.index], strict=True)
            if codes[kind] == UNKNOWN_KIND
            and settings.about("kind", kind) is None
            and not words.missing(cell)
        )
    for word, count in held.most_common(6):
        yield Asked(
            "kind",
            f"'{word}' is no kind of row that Evenhand knows, and {count} rows with a value are called so. What are they?",
            (*(kind.value for kind in Kind), "ignore"),
            f"kind.{word}=KIND",
        )


def _ask_blood(count: int) -> Asked:
    return Asked(
        "blood",
        f"{count} values are glucose in blood, and nothing says that a meter measured them. What are they?",
        ("fingerstick", "ignore"),
        "kind.any-blood=fingerstick|ignore",
    )


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
        if made.roles.date is not None and text and not made.section.columns[made.roles.date][row].strip():
            made.fates.set(row, Fate.SET_ASIDE, f"no date beside '{text.strip()[:40]}'")
            continue
        if moments.read_day(text) is not None:
            made.fates.set(row, Fate.SET_ASIDE, f"'{text[:40]}' is a date without a time of day")
            continue
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
        if fold(cells[row]) == BLOOD and made.asked:
            made.fates.set(row, Fate.WAITING, "waits for the answer to whether a meter measured it")
            continue
        if any(one.set == f"kind.{cells[row].strip()}=KIND" for one in made.asked):
            made.fates.set(row, Fate.WAITING, "waits for the answer to what it is")
            continue
        made.fates.set(
            row, Fate.SET_ASIDE, f"'{cells[row].strip()[:40]}' is no kind of row that Evenhand keeps"
        )


def _others_rows(made: Read, settings: Settings) -> None:
    """Rows of another person, and rows that state a unit which is not read."""
    person, index = settings.get("person"), made.roles.get(Role.PERSON)
    if person is not None and index is not None:
        mine = {cell: fold(cell) == fold(person) for cell in set(made.section.columns[index])}
        if not any(mine.values()):
            raise UnknownName(
                f"No row is of '{person}'.", did_you_mean(person, [cell.strip() for cell in mine])
            )
        other = np.fromiter(
            (not mine[cell] for cell in made.section.columns[index]), np.bool_, made.kind.size
        )
        made.fates.set_many(other, Fate.SET_ASIDE, "of another person")
    unit = made.roles.get(Role.UNIT)
    if unit is None or settings.get("unit") is not None:
        return
    cells = made.section.columns[unit]
    for cell in sorted({cell for cell in set(cells) if fold(cell) not in words.UNIT_WORDS}):
        word = words.other_unit(cell)
        if word is not None:
            rows = np.fromiter((one == cell for one in cells), np.bool_, made.kind.size)
            made.fates.set_many(rows, Fate.SET_ASIDE, f"in {word}, which is no unit of glucose read here")


def strange_devices(made: Read) -> Sequence[str]:
    """Words in the device column that are nobody's name, in order of their first row."""
    index = made.roles.get(Role.DEVICE)
    if index is None:
        return ()
    rows = np.flatnonzero((made.owner == NO_OWNER) & (made.placed.state == OK))
    cells = made.section.columns[index]
    return tuple(dict.fromkeys(cells[row].strip() for row in rows.tolist() if cells[row].strip()))
