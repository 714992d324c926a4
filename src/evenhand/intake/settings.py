"""What `--set KEY=VALUE` may say about a file: one syntax, each key with its help."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from evenhand.errors import BadValue, UnknownName
from evenhand.intake.moments import Order
from evenhand.intake.numerals import Decimal
from evenhand.intake.words import fold
from evenhand.units import Unit, parse_unit

KEYS: dict[str, str] = {
    "of": "whose values the file holds: 'meter' or a sensor's name",
    "sure": "'yes' where a file that looks like another device's is really the one it is said to be",
    "encoding": "the text encoding, for example utf-8, utf-16-le, cp1252, shift_jis",
    "delimiter": "what parts the cells: comma, semicolon, tab, pipe or space",
    "sheet": "the one sheet of a spreadsheet to read; the others are set aside",
    "header": "the line of the header, or 'none' where there is no header",
    "time": "the column of the time (of day, where 'date' is given too)",
    "date": "the column of the date, where time of day stands in a column of its own",
    "order": "the order of dates written in numbers: day-month, month-day or year-month",
    "zone": "the zone the times were written in: an IANA name, or an offset such as +01:00",
    "shift": "how far the device's clock was off, added to every time: -57min, +12h, +1d",
    "value": "the one column of the values",
    "unit": "the unit: mg/dL, mmol/L, 'by-value' (each value in the unit it can only be in), or the column it stands in",
    "decimal": "the decimal mark: point or comma; the other one then marks thousands",
    "low": "the value that a word for 'too low' without a number stands for, in the file's unit",
    "high": "the value that a word for 'too high' without a number stands for, in the file's unit",
    "kind": "the column that says what a row is",
    "device": "the column that names the device",
    "reason": "the column of reasons a stick was taken for",
    "marks": "the column of marks on a stick",
    "note": "the column of notes",
    "lot": "the column of the strip lot",
    "offset": "the column of each row's offset from UTC (+01:00)",
    "sensor.COLUMN": "whose values a column holds: a sensor's name, 'meter' or 'ignore'",
    "unit.COLUMN": "the unit of one column: mg/dL, mmol/L or by-value",
    "device.WORD": "which device a word in the device column stands for: a sensor's name, 'meter' or 'ignore'",
    "kind.WORD": "what a word in the kind column stands for: reading, fingerstick, calibration, control, alarm, meal, exercise, note or ignore",
    "stick.LINE": "for a row that may be a stick you typed before: 'typed' (it is the same) or 'new' (it is another)",
}
"""Every key of `--set` with its help; a key with a dot takes a name after it."""

_Word = TypeVar("_Word", Order, Decimal)
_FAMILIES = ("sensor", "device", "kind", "unit", "stick")
_COLUMN_KEYS = ("time", "date", "value", "kind", "device", "reason", "marks", "note", "lot", "offset")
_SHIFT = re.compile(r"([+\-−]?)\s*(\d{1,6})\s*(s|sec|min|m|h|d|days?)", re.I | re.A)
_SECONDS = {"s": 1, "m": 60, "h": 3600, "d": 86_400}


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of one intake, checked: keys known, words and units readable; columns are checked when the
    table is known. Families (`sensor.COLUMN` ...) map the folded name to what was said."""

    plain: Mapping[str, str]
    families: Mapping[str, Mapping[str, str]]
    order: Order | None = None
    decimal: Decimal | None = None
    unit: Unit | None = None
    shift: int = 0

    def get(self, key: str) -> str | None:
        """What was said for a plain key; None where nothing was."""
        return self.plain.get(key)

    def about(self, family: str, name: str) -> str | None:
        """What was said for a name of a family, for example `about('sensor', 'Glucose 1')`."""
        return self.families[family].get(fold(name))

    def unit_column(self) -> str | None:
        """The column that `unit=` names, None where it is a unit, 'by-value' or nothing."""
        said = self.plain.get("unit")
        return said if said is not None and self.unit is None and said != "by-value" else None

    def columns(self) -> dict[str, str]:
        """The keys that name a column, with the column."""
        return {key: self.plain[key] for key in _COLUMN_KEYS if key in self.plain}


def parse(said: Mapping[str, str]) -> Settings:
    """Settings as typed. Raises `UnknownName` for a key there is not (naming the nearest one), `BadValue` for
    what cannot stand after it.

    >>> parse({"order": "day-month", "shift": "-57min"}).shift
    -3420
    >>> parse({"ordr": "day-month"})
    Traceback (most recent call last):
    evenhand.errors.UnknownName: There is no setting 'ordr'. Did you mean 'order'?
    """
    plain: dict[str, str] = {}
    families: dict[str, dict[str, str]] = {family: {} for family in _FAMILIES}
    for key, value in said.items():
        head, dot, name = key.partition(".")
        if dot and head.lower() in _FAMILIES and name:
            families[head.lower()][fold(name)] = value.strip()
        elif key.lower() in KEYS:
            plain[key.lower()] = value.strip()
        else:
            raise UnknownName(f"There is no setting '{key}'.", did_you_mean(key, KEYS))
    return Settings(
        plain,
        families,
        _word(Order, "order", plain),
        _word(Decimal, "decimal", plain),
        _unit(plain),
        _shift(plain.get("shift")),
    )


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A cure that names the nearest of the known words, or all of them.

    >>> did_you_mean("Glukose", ["Glucose", "Time"]), did_you_mean("x", ["Glucose", "Time"])
    ("Did you mean 'Glucose'?", 'Choose one of: Glucose, Time.')
    """
    names = [name for name in known if name]
    near = difflib.get_close_matches(word.lower(), [name.lower() for name in names], 1, 0.6)
    if near:
        return f"Did you mean '{next(name for name in names if name.lower() == near[0])}'?"
    return f"Choose one of: {', '.join(names)}." if names else "There is none to choose from."


def _word(kind: type[_Word], key: str, plain: Mapping[str, str]) -> _Word | None:
    said = plain.get(key)
    if said is None:
        return None
    try:
        return kind(said.lower())
    except ValueError:
        raise BadValue(
            f"'{said}' cannot stand after {key}=.", did_you_mean(said, [choice.value for choice in kind])
        ) from None


def _unit(plain: Mapping[str, str]) -> Unit | None:
    try:
        return parse_unit(plain["unit"]) if "unit" in plain else None
    except BadValue:
        return None


def _shift(said: str | None) -> int:
    if said is None:
        return 0
    match = _SHIFT.fullmatch(said)
    if match is None:
        raise BadValue(
            f"'{said}' is not a time to shift by.", "Write for example shift=-57min, +12h or +365d."
        )
    seconds = int(match[2]) * _SECONDS[match[3][0].lower()]
    return seconds if match[1] in ("", "+") else -seconds
