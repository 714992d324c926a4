"""Glucose values, their two units, the consensus limits, strict parsing and the one rounding function.

Never converts before it classifies: consensus limits are conventional pairs, not conversions
(Battelino et al., Diabetes Care 2019;42:1593-1603), so 3.9 mmol/L is not low though 3.886 mmol/L,
which is 70 mg/dL, would be.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from evenhand.errors import BadValue

FACTOR = 18.0156
"""mg/dL per mmol/L, from the molar mass of glucose, 180.156 g/mol (6 C, 12 H, 6 O; masses from memory)."""


class Unit(StrEnum):
    """The two units glucose is recorded in."""

    MG_DL = "mg/dL"
    MMOL_L = "mmol/L"


class Beyond(StrEnum):
    """A reading or stick outside the measuring range: 'at least that far'."""

    LOW = "low"
    HIGH = "high"


VERY_LOW = {Unit.MG_DL: 54.0, Unit.MMOL_L: 3.0}
LOW = {Unit.MG_DL: 70.0, Unit.MMOL_L: 3.9}
HIGH = {Unit.MG_DL: 180.0, Unit.MMOL_L: 10.0}
VERY_HIGH = {Unit.MG_DL: 250.0, Unit.MMOL_L: 13.9}
"""Consensus limits as pairs (Battelino et al. 2019, Table 1): below `LOW` is low, above `HIGH` is high."""

PLAUSIBLE = {Unit.MG_DL: (10.0, 1000.0), Unit.MMOL_L: (0.5, 60.0)}
"""Outside this a number in a file is no glucose value (this project's choice)."""

METER_SHOWS = {Unit.MG_DL: (20.0, 600.0), Unit.MMOL_L: (1.1, 33.3)}
"""What home meters show between LO and HI (common practice, no source). Outside this a typed number is a slip, or in the
other unit: 34 to 60 in mmol/L would be a low in mg/dL, which must never be kept as a high."""

USUAL_LIMITS = {Unit.MG_DL: (20.0, 600.0), Unit.MMOL_L: (1.1, 33.3)}
"""What meters show at least and at most, where a device's own limits are not known (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Glucose:
    """One glucose value as recorded: number, unit and the text it came from.

    `value` is in `unit`. Beyond the measuring range (`beyond`) it is the limit itself, and means
    'at least that far'.

    >>> rounded(Glucose(6.1, Unit.MMOL_L, "6.1").mg_dl, 3)
    '109.895'
    >>> Glucose(10.0, Unit.MMOL_L, "10.0").is_high      # 180.156 mg/dL, but in range
    False
    >>> Glucose(3.9, Unit.MMOL_L, "3.9").is_low, Glucose(70.0, Unit.MG_DL, "70").is_low
    (False, False)
    """

    value: float
    unit: Unit
    text: str
    beyond: Beyond | None = None

    @property
    def mg_dl(self) -> float:
        """The value in mg/dL, unrounded."""
        return self.value if self.unit is Unit.MG_DL else self.value * FACTOR

    @property
    def is_low(self) -> bool:
        """Below 70 mg/dL or 3.9 mmol/L, in the unit recorded; a 'low' word always is."""
        return self.beyond is Beyond.LOW or self.value < LOW[self.unit]

    @property
    def is_very_low(self) -> bool:
        """Below 54 mg/dL or 3.0 mmol/L, in the unit recorded; a 'low' word always is."""
        return self.beyond is Beyond.LOW or self.value < VERY_LOW[self.unit]

    @property
    def is_high(self) -> bool:
        """Above 180 mg/dL or 10.0 mmol/L, in the unit recorded; a 'high' word always is."""
        return self.beyond is Beyond.HIGH or self.value > HIGH[self.unit]

    def __str__(self) -> str:
        return f"{self.text} {self.unit}"


def to_mg_dl(value: float, unit: Unit) -> float:
    """`value` in `unit`, in mg/dL, unrounded."""
    return value if unit is Unit.MG_DL else value * FACTOR


def from_mg_dl(mg_dl: float, unit: Unit) -> float:
    """`mg_dl` in `unit`, unrounded."""
    return mg_dl if unit is Unit.MG_DL else mg_dl / FACTOR


def rounded(value: float, places: int = 0) -> str:
    """The one rounding function: half away from zero on the number as it prints, never '-0'.

    >>> rounded(40.9452, 1), rounded(2.5), rounded(-0.04, 1), rounded(0.145, 2)
    ('40.9', '3', '0.0', '0.15')
    """
    exact = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    return str(abs(exact)) if exact == 0 else f"{exact:f}"


def shown(mg_dl: float, unit: Unit) -> str:
    """A glucose level for a reader: whole mg/dL, or mmol/L to one place; without the unit.

    >>> shown(109.89516, Unit.MMOL_L), shown(109.6, Unit.MG_DL)
    ('6.1', '110')
    """
    return rounded(from_mg_dl(mg_dl, unit), 0 if unit is Unit.MG_DL else 1)


def shown_difference(mg_dl: float, unit: Unit, *, sign: bool = False) -> str:
    """A difference or error for a reader: mg/dL to one place, mmol/L to two; with a sign where asked.

    >>> shown_difference(-3.04, Unit.MG_DL), shown_difference(3.0, Unit.MMOL_L, sign=True)
    ('-3.0', '+0.17')
    """
    text = rounded(from_mg_dl(mg_dl, unit), 1 if unit is Unit.MG_DL else 2)
    return f"+{text}" if sign and not text.startswith("-") and float(text) != 0 else text


_UNIT_WORDS = {
    "mg/dl": Unit.MG_DL,
    "mg": Unit.MG_DL,
    "mgdl": Unit.MG_DL,
    "mmol/l": Unit.MMOL_L,
    "mmol": Unit.MMOL_L,
    "mmoll": Unit.MMOL_L,
}
_TYPED = re.compile(r"(?P<number>\d{1,4}(?:[.,]\d{1,2})?)\s*(?P<unit>[a-zA-Z]+(?:/[a-zA-Z]+)?)?", re.ASCII)
_TYPED_WORD = {"low": Beyond.LOW, "lo": Beyond.LOW, "high": Beyond.HIGH, "hi": Beyond.HIGH}


def parse_unit(text: str) -> Unit:
    """A unit as people write it.

    >>> parse_unit("mmol/l")
    <Unit.MMOL_L: 'mmol/L'>
    """
    unit = _UNIT_WORDS.get(text.strip().lower())
    if unit is None:
        raise BadValue(f"'{text}' is not a unit of glucose.", "Write mg/dL or mmol/L.")
    return unit


def parse_glucose(text: str, unit: Unit, limits: tuple[float | None, float | None] = (None, None)) -> Glucose:
    """A glucose value as a person types it: '6.1', '6,1', '110', '110 mg/dL', 'low'.

    `unit` is used where none is written. `limits` are the device's measuring limits in `unit`, for the
    words 'low' and 'high'. Raises `BadValue` for anything else, for a number no body has, and for one
    that can only be in the other unit.

    >>> parse_glucose("6,1", Unit.MMOL_L)
    Glucose(value=6.1, unit=<Unit.MMOL_L: 'mmol/L'>, text='6,1', beyond=None)
    >>> parse_glucose("6.1", Unit.MG_DL)
    Traceback (most recent call last):
    evenhand.errors.BadValue: '6.1' cannot be in mg/dL. If it is in mmol/L, write '6.1 mmol/L'.
    """
    stripped = text.strip()
    beyond = _TYPED_WORD.get(stripped.lower())
    if beyond is not None:
        return _limit_word(stripped, beyond, unit, limits)
    match = _TYPED.fullmatch(stripped)
    if match is None:
        raise BadValue(f"'{text}' is not a glucose value.", f"Write a number, for example {_example(unit)}.")
    stated = parse_unit(match["unit"]) if match["unit"] else unit
    value = float(match["number"].replace(",", "."))
    least, most = METER_SHOWS[stated]
    if least <= value <= most:
        return Glucose(value, stated, match["number"])
    raise BadValue(*_implausible(match["number"], value, stated))


def _example(unit: Unit) -> str:
    return "110" if unit is Unit.MG_DL else "6.1"


def _implausible(text: str, value: float, unit: Unit) -> tuple[str, str]:
    other = Unit.MMOL_L if unit is Unit.MG_DL else Unit.MG_DL
    least, most = METER_SHOWS[other]
    if least <= value <= most:
        return f"'{text}' cannot be in {unit}.", f"If it is in {other}, write '{text} {other}'."
    return f"'{text}' cannot be a glucose value in {unit}.", f"Write a number, for example {_example(unit)}."


def _limit_word(text: str, beyond: Beyond, unit: Unit, limits: tuple[float | None, float | None]) -> Glucose:
    side = 0 if beyond is Beyond.LOW else 1
    known = limits[side]
    return Glucose(USUAL_LIMITS[unit][side] if known is None else known, unit, text, beyond)
