"""Columns of values as arrays, and the unit of every row: stated in the cell, the row, the column, or proven."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenhand.intake import words
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.layout import Section
from evenhand.intake.numerals import Reader
from evenhand.intake.roles import unit_in
from evenhand.intake.settings import Settings
from evenhand.units import PLAUSIBLE, Beyond, Unit

EMPTY, WORD, NUMBER, BARE_LOW, BARE_HIGH = 0, 1, 2, 3, 4
"""What a cell is: nothing, text that is no value, a number, a word for 'too low' or 'too high' without a number."""

SMALL, LARGE = 20.0, 36.0
"""Below the one nothing is mg/dL in a body that lives, above the other nothing is mmol/L on a device (this project's choice)."""

_UNITS = (Unit.MG_DL, Unit.MMOL_L)
NO_UNIT = -1


@dataclass(frozen=True, slots=True)
class Column:
    """One column of values, shape (n,) each: `what` (EMPTY ...), `number` (NaN where there is none), `places`,
    `flag` (0, 1 'at most', 2 'at least'), `glued` 0 mg/dL, 1 mmol/L, NO_UNIT. `cells` are the texts."""

    index: int
    name: str
    what: NDArray[np.int8]
    number: NDArray[np.float64]
    places: NDArray[np.int8]
    flag: NDArray[np.int8]
    glued: NDArray[np.int8]
    cells: Sequence[str] = field(repr=False)


def read_column(section: Section, index: int, reader: Reader) -> Column:
    """A column read, each distinct cell once."""
    cells = section.columns[index]
    distinct = dict.fromkeys(cells)
    codes = {cell: code for code, cell in enumerate(distinct)}
    at = np.fromiter((codes[cell] for cell in cells), np.int64, len(cells))
    what = np.zeros(len(codes), np.int8)
    number = np.full(len(codes), np.nan)
    places, flag = np.zeros(len(codes), np.int8), np.zeros(len(codes), np.int8)
    glued = np.full(len(codes), NO_UNIT, np.int8)
    for cell, code in codes.items():
        found = reader(cell) if cell else None
        if found is None:
            what[code] = EMPTY if words.missing(cell) else WORD
            continue
        flag[code] = 0 if found.beyond is None else (1 if found.beyond is Beyond.LOW else 2)
        if found.value is None:
            what[code] = BARE_LOW if found.beyond is Beyond.LOW else BARE_HIGH
            continue
        what[code], number[code], places[code] = NUMBER, found.value, min(found.places, 100)
        if found.unit is not None:
            glued[code] = _UNITS.index(found.unit)
    return Column(index, section.names[index], what[at], number[at], places[at], flag[at], glued[at], cells)


@dataclass(frozen=True, slots=True)
class Decided:
    """The unit of each row of a column: 0 mg/dL, 1 mmol/L, NO_UNIT where it is not known; shape (n,)."""

    unit: NDArray[np.int8]
    guesses: tuple[Guess, ...] = ()
    asked: tuple[Asked, ...] = ()


def decide_unit(
    column: Column,
    section: Section,
    unit_column: int | None,
    settings: Settings,
    alone: bool,  # noqa: FBT001
    rows: NDArray[np.bool_],
) -> Decided:
    """The unit of each value: as said, else as stated in the cell, its row, the column or the preamble, else proven
    by all values. Where values contradict what is stated, change halfway, or fit both: a question.

    `rows` are the rows whose values count; `alone` says that the section has no other column of values.
    """
    key = "unit" if alone else f"unit.{column.name}"
    said = settings.about("unit", column.name) or settings.get("unit")
    n = column.what.size
    if said is not None and said == "by-value":
        unit = np.where(column.number > 0.5 * (SMALL + LARGE), 0, 1).astype(np.int8)
        if np.isnan(column.number).any():
            unit = _nearest(unit, ~np.isnan(column.number))
        return Decided(unit, (Guess("unit", "by value", 1.0, "you said so", section.sheet),))
    said_unit = _said_unit(said)
    if said_unit is not None:
        return Decided(
            np.full(n, said_unit, np.int8),
            (Guess("unit", _UNITS[said_unit].value, 1.0, "you said so", section.sheet),),
        )
    stated, source = _stated(column, section, unit_column)
    asked: list[Asked] = []
    guesses: list[Guess] = []
    for code in (0, 1, NO_UNIT):
        group = (stated == code) & rows
        numbers = column.number[group & (column.number >= 0.5) & (column.number <= 1000)]
        if not numbers.size:
            continue
        outcome = _judge(code, numbers, column, group, section, key, source)
        if isinstance(outcome, Asked):
            asked.append(outcome)
        else:
            stated[group] = outcome[0]
            guesses.append(
                Guess(
                    "unit",
                    _UNITS[outcome[0]].value,
                    outcome[1],
                    f"{column.name}: {outcome[2]}",
                    section.sheet,
                )
            )
    if (stated == NO_UNIT).any() and not asked:
        known = np.unique(stated[stated != NO_UNIT])
        if known.size == 1:
            stated[stated == NO_UNIT] = known[0]
        elif known.size > 1:
            stated = np.where(stated == NO_UNIT, _nearest(stated, stated != NO_UNIT), stated)
        elif known.size == 0 and rows.any() and np.isin(column.what[rows], (BARE_LOW, BARE_HIGH)).any():
            asked.append(
                _ask_unit(key, f"Column '{column.name}' holds no number and no unit. Which unit is it in?")
            )
    return Decided(stated, tuple(guesses), tuple(asked))


def _said_unit(said: str | None) -> int | None:
    word = words.UNIT_WORDS.get(words.fold(said)) if said is not None else None
    return None if word is None else _UNITS.index(word)


def _nearest(unit: NDArray[np.int8], known: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Rows without a number take the unit of the row before (of the one after at the start)."""
    places = np.where(known, np.arange(unit.size), -1)
    last = np.maximum.accumulate(places)
    first = int(np.flatnonzero(known)[0]) if known.any() else 0
    return unit[np.where(last < 0, first, last)]


def _stated(column: Column, section: Section, unit_column: int | None) -> tuple[NDArray[np.int8], str]:
    """The unit each row states (NO_UNIT for none) and where: the cell, the row's unit column, the header, above it."""
    stated = column.glued.copy()
    source = "written beside the values" if (stated != NO_UNIT).any() else ""
    if unit_column is not None:
        codes = {
            cell: _code(words.UNIT_WORDS.get(words.fold(cell))) for cell in set(section.columns[unit_column])
        }
        by_row = np.fromiter((codes[cell] for cell in section.columns[unit_column]), np.int8, stated.size)
        stated = np.where(stated == NO_UNIT, by_row, stated)
        source = source or f"column '{section.names[unit_column]}' says so"
    for text, where in (
        (section.names[column.index], "the header says so"),
        (_under(section, column.index), "the units row says so"),
    ):
        word = unit_in(text)
        if word is not None:
            stated = np.where(stated == NO_UNIT, _code(words.UNIT_WORDS[word]), stated)
            source = source or where
    if (stated == NO_UNIT).all():
        mentioned = {
            words.UNIT_WORDS[word]
            for line in section.preamble.splitlines()
            if (word := unit_in(line)) and word not in ("mg", "mm", "mmol")
        }
        if len(mentioned) == 1:
            stated = np.full(stated.size, _code(mentioned.pop()), np.int8)
            source = "a line before the table says so"
    return stated.astype(np.int8), source


def _under(section: Section, index: int) -> str:
    return section.units[index] if index < len(section.units) else ""


def _code(unit: Unit | None) -> int:
    return NO_UNIT if unit is None else _UNITS.index(unit)


def _judge(
    code: int,
    numbers: NDArray[np.float64],
    column: Column,
    group: NDArray[np.bool_],
    section: Section,
    key: str,
    source: str,
) -> Asked | tuple[int, float, str]:
    """What the numbers of rows that state a unit (or none) say about it: a question, or (unit, score, evidence)."""
    small, large = int((numbers < SMALL).sum()), int((numbers > LARGE).sum())
    shown = f"{numbers.min():g} to {numbers.max():g}"
    minority = min(small, large)
    decimals = bool(((column.places > 0) & group & (column.number < SMALL)).any())
    if (
        minority
        and (minority >= 3 or minority >= 0.02 * numbers.size)
        and (decimals or minority >= 0.2 * numbers.size)
    ):
        return _changes(column, group, section, key, small, large)
    looks = None if small == large == 0 else (1 if small > large else 0)
    if code == NO_UNIT:
        if looks is None:
            return _ask_unit(
                key, f"The values of '{column.name}' ({shown}) state no unit and fit both. Which is it?"
            )
        return looks, 0.9, f"no unit is stated, and values from {shown} can only be {_UNITS[looks].value}"
    if looks is not None and looks != code:
        return Asked(
            "unit-contradiction",
            f"The values of '{column.name}' ({shown}) are said to be {_UNITS[code].value} ({source}) but look like {_UNITS[looks].value}, a factor of about 18. Which is it?",
            (_UNITS[looks].value, _UNITS[code].value),
            f"{key}=UNIT",
        )
    return code, 1.0, source


def _ask_unit(key: str, text: str) -> Asked:
    return Asked("unit", text, tuple(unit.value for unit in _UNITS), f"{key}=UNIT")


def _changes(
    column: Column, group: NDArray[np.bool_], section: Section, key: str, small: int, large: int
) -> Asked:
    """The question for a column in which both units seem to occur, with the line where it first changes."""
    rows = np.flatnonzero(group & ((column.number < SMALL) | (column.number > LARGE)))
    kind = column.number[rows] < SMALL
    turn = np.flatnonzero(kind[1:] != kind[:-1])
    at = section.lines[int(rows[turn[0] + 1])] if turn.size else section.lines[int(rows[0])]
    return Asked(
        "unit-changes",
        f"In '{column.name}' {small} values can only be mmol/L and {large} can only be mg/dL; it changes in line {at}. How is it to be read?",
        ("by-value", *(unit.value for unit in _UNITS)),
        f"{key}=UNIT",
    )


def plausible(number: NDArray[np.float64], unit: NDArray[np.int8]) -> NDArray[np.bool_]:
    """Which numbers a body can have in their unit."""
    least = np.where(unit == 1, PLAUSIBLE[Unit.MMOL_L][0], PLAUSIBLE[Unit.MG_DL][0])
    most = np.where(unit == 1, PLAUSIBLE[Unit.MMOL_L][1], PLAUSIBLE[Unit.MG_DL][1])
    return (number >= least) & (number <= most)


def span_of(column: Column) -> Counter[str]:
    """How many cells are what, for a person: numbers, limit words, other words, empty."""
    names = ("empty", "words", "numbers", "low", "high")
    return Counter({names[code]: int((column.what == code).sum()) for code in range(5)})
