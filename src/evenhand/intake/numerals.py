"""A strict grammar for glucose values in files: never what a general number parser happens to accept."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from evenhand.intake import words
from evenhand.units import Beyond, Unit


class Decimal(StrEnum):
    """Which mark stands before the decimals, where a person said so."""

    POINT = "point"
    COMMA = "comma"


@dataclass(frozen=True, slots=True)
class Numeral:
    """A value as a cell states it.

    `value` is None for a limit word without a number ('LOW'); `unit` is the one glued on, None for none;
    `places` counts the decimals written; `text` is the cell, stripped.
    """

    text: str
    value: float | None
    places: int = 0
    unit: Unit | None = None
    beyond: Beyond | None = None


_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f\u205f\u3000]")
_UNSEEN = re.compile("[\u00ad\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
"""Marks of writing direction, joiners, byte-order marks: nothing to read."""
_FULL_WIDTH = {0xFF10 + digit: str(digit) for digit in range(10)} | {0xFF0E: ".", 0xFF0C: ","}
_ARROWS = re.compile("\\s*[\u2190-\u21ff\u27f0-\u27ff\u2900-\u297f\u2b00-\u2b11]+\ufe0f?\\Z")
"""Arrows after a value: a trend, no part of it."""
_BODY = re.compile(r"(?P<before>[^\d]*?)(?P<number>\d+(?:[ '’.,]\d+)*)\s*(?P<after>[^\d]*)", re.ASCII)
_PLAIN = re.compile(r"\d{1,4}", re.ASCII)
_POINT = re.compile(r"(\d{1,4})([.,])(\d{1,17})", re.ASCII)
_GROUPS = re.compile(r"\d{1,3}(?:(?P<mark>[ '’.,])\d{3})(?:(?P=mark)\d{3})*", re.ASCII)
_EXACT = re.compile(r"(?P<whole>.*?)(?:(?P<mark>[.,])(?P<places>\d{1,17}))?", re.ASCII)


def read(text: str, decimal: Decimal | None = None) -> Numeral | None:
    """The value a cell states, None where it states none (a word, a sign without a number, a sum).

    A single mark followed by digits is a decimal mark unless `decimal` says otherwise: no glucose value
    needs a thousands mark, so '5,500' is five and a half. With two different marks the last is the decimal.

    >>> read("6,1").value, read("< 40 mg/dL").beyond, read("110mg/dl").unit
    (6.1, <Beyond.LOW: 'low'>, <Unit.MG_DL: 'mg/dL'>)
    >>> read("LO").value is None, read("unter 2,2").value, read("1e3"), read("1_0"), read("٣")
    (True, 2.2, None, None, None)
    """
    stripped = text.strip()
    if not stripped.isascii():
        stripped = _SPACES.sub(" ", _UNSEEN.sub("", stripped)).translate(_FULL_WIDTH).strip()
        stripped = _ARROWS.sub("", stripped)
    if _PLAIN.fullmatch(stripped):
        return Numeral(stripped, float(stripped))
    if decimal is None and (point := _POINT.fullmatch(stripped)):
        return Numeral(stripped, float(f"{point[1]}.{point[3]}"), len(point[3]))
    word = _limit_word(stripped)
    if word is not None:
        return Numeral(stripped, None, beyond=word)
    match = _BODY.fullmatch(stripped)
    return _with_words(stripped, match, decimal) if match else None


def _limit_word(text: str) -> Beyond | None:
    folded = words.fold(text)
    for unit in words.UNIT_WORDS:
        folded = folded.removesuffix(f" {unit}")
    if folded in words.LOW_WORDS:
        return Beyond.LOW
    return Beyond.HIGH if folded in words.HIGH_WORDS else None


def _with_words(text: str, match: re.Match[str], decimal: Decimal | None) -> Numeral | None:
    number = _number(match["number"], decimal)
    before, after = match["before"].strip(" =:\"'"), match["after"].strip(" \"'")
    after = after.removeprefix("(").removesuffix(")").strip() if after.startswith("(") else after
    if number is None:
        return None
    beyond = _beyond(before, words.BELOW_WORDS, words.ABOVE_WORDS) if before else None
    if before and beyond is None:
        return None
    unit, late = _after(after)
    if after and unit is None and late is None:
        return None
    if beyond and late and beyond is not late:
        return None
    return Numeral(text, number[0], number[1], unit, beyond or late)


def _after(after: str) -> tuple[Unit | None, Beyond | None]:
    """The unit and the limit word that follow a number ('mg/dL', '未満', 'mg/dL or less')."""
    folded = words.fold(after)
    if folded in words.UNIT_WORDS:
        return words.UNIT_WORDS[folded], None
    for table, beyond in ((words.BELOW_AFTER, Beyond.LOW), (words.ABOVE_AFTER, Beyond.HIGH)):
        for word in table:
            if folded.endswith(word):
                rest = folded.removesuffix(word).strip()
                if not rest or rest in words.UNIT_WORDS:
                    return words.UNIT_WORDS.get(rest), beyond
    return None, _beyond(after, words.LOW_WORDS, words.HIGH_WORDS)


def _beyond(text: str, low: frozenset[str], high: frozenset[str]) -> Beyond | None:
    folded = words.fold(text) or text
    if folded in low or text in low:
        return Beyond.LOW
    return Beyond.HIGH if folded in high or text in high else None


def _number(text: str, decimal: Decimal | None) -> tuple[float, int] | None:
    """The number and its decimals; None where the marks contradict each other."""
    exact = _EXACT.fullmatch(text)
    assert exact is not None
    if decimal is not None and exact["mark"]:
        mark = "." if decimal is Decimal.POINT else ","
        if exact["mark"] != mark:
            exact = re.fullmatch(r"(?P<whole>.*)(?P<mark>)(?P<places>)", text)
            assert exact is not None
    whole, places = exact["whole"], exact["places"] or ""
    groups = _GROUPS.fullmatch(whole)
    if groups and groups["mark"] != exact["mark"]:
        whole = re.sub(r"\D", "", whole, flags=re.ASCII)
    if not re.fullmatch(r"\d{1,9}", whole, re.ASCII):
        return None
    return float(f"{whole}.{places}") if places else float(whole), len(places)


class Reader:
    """Reads cells, each distinct text once."""

    def __init__(self, decimal: Decimal | None = None) -> None:
        self._decimal = decimal
        self._known: dict[str, Numeral | None] = {}

    def __call__(self, text: str) -> Numeral | None:
        """What `read` gives, remembered."""
        try:
            return self._known[text]
        except KeyError:
            found = self._known[text] = read(text, self._decimal)
            return found

    def all(self, cells: Mapping[str, int]) -> dict[str, Numeral | None]:
        """Every distinct cell of a column, read."""
        return {cell: self(cell) for cell in cells}
