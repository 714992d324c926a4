"""Zones that a file names beside its table: in the name of the time column, or in a line before the table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from evenhand.intake import moments, zoned
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.words import fold, word_set

_OFFSET = re.compile(
    r"(?<![\w:])(?:(?:UTC|GMT)\s*(?:[+\-−±]\s?\d{1,2}(?::?[0-5]\d)?)?|[+\-−]\d{2}:[0-5]\d)(?![\w:])",
    re.I | re.A,
)
_IANA = re.compile(r"(?<![\w/])[A-Z][A-Za-z_]+/[A-Za-z0-9_+\-]+(?:/[A-Za-z0-9_+\-]+)?", re.A)
_SHORT = re.compile(r"[(\[\s]([A-Z]{2,4}T)[)\]\s]")
_AFTER_A_TIME = re.compile(
    r"\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|UTC|GMT|[A-Z]{2,4}T|[+\-−]\d{2}:?\d{2})(?:[+\-−]\d{1,2})?\b",
    re.I | re.A,
)
_MARKS = re.compile(r"[^\w]+")
_SAYS_SO = word_set(
    "time zone,timezone,time-zone,zone,tz,times,all times,utc offset,gmt offset,zeitzone,zeiten,alle zeiten,zeitangaben,fuseau,fuseau horaire,heures,zona horaria,"
    "horas,fuso orario,orari,fuso horário,horários,tijdzone,tijden,tidszon,tider,tidszone,aikavyöhyke,ajat,strefa czasowa,časové pásmo,часовой пояс,время,saat dilimi,"
    "タイムゾーン,时区,시간대"
)


@dataclass(frozen=True, slots=True)
class Named:
    """A zone as `zone=` takes it ('+02:00', 'UTC', 'Europe/Lisbon'), None where the word means several; `word` as written,
    `sure` whether the line says that the times are in it."""

    zone: str | None
    word: str
    sure: bool
    line: str


def of_name(name: str) -> Named | None:
    """The zone in the name of a time column.

    >>> of_name("Time (UTC+2)").zone, of_name("Time GMT-05:30").zone, of_name("Timestamp (UTC)").zone, of_name("Time (EST)").zone
    ('+02:00', '-05:30', 'UTC', None)
    >>> of_name("UTC offset"), of_name("Time")
    (None, None)
    """
    if "offset" in fold(name):
        return None
    return _in(f" {name} ", sure=True, line=name)


def before(preambles: Sequence[str]) -> Named | None:
    """The zone that the lines before a table name; one that says so before one that only holds the word."""
    found = []
    for line in dict.fromkeys(line for text in preambles for line in text.splitlines()):
        padded = f" {_MARKS.sub(' ', fold(line))} "
        sure = any(f" {word} " in padded or (not word.isascii() and word in padded) for word in _SAYS_SO)
        one = _in(f" {_AFTER_A_TIME.sub(' ', line)} ", sure=sure, line=line.strip())
        if one is not None:
            found.append(one)
    sure_ones = [one for one in found if one.sure] or found
    zones = {one.zone for one in sure_ones}
    if not sure_ones:
        return None
    first = sure_ones[0]
    return first if len(zones) == 1 else Named(None, first.word, sure=False, line=first.line)


def _in(text: str, *, sure: bool, line: str) -> Named | None:
    for name in _IANA.findall(text):
        if zoned.zone_of(name):
            return Named(name, name, sure, line)
    if match := _OFFSET.search(text):
        seconds = moments.read_offset(re.sub(r"\s", "", match[0]).upper().replace("±", "+"))
        if seconds is not None:
            return Named(_said(seconds), match[0].strip(), sure, line)
    if short := _SHORT.search(text):
        seconds = zoned.offset_of(short[1])
        return Named(None if seconds is None else _said(seconds), short[1], sure, line)
    return None


def _said(seconds: int) -> str:
    if seconds == 0:
        return "UTC"
    minutes = abs(seconds) // 60
    return f"{'+' if seconds > 0 else '-'}{minutes // 60:02d}:{minutes % 60:02d}"


def guess(found: Named) -> Guess:
    """What is said of a zone that was taken from the file."""
    return Guess("zone", found.zone or "", 0.9, f"'{found.line[:60]}' says so")


def ask(found: Named, home: str) -> Asked:
    """The question for a zone that the file names without saying that the times are in it, or by a word for several."""
    choices = tuple(dict.fromkeys(one for one in (found.zone, home) if one is not None))
    more = () if found.zone else ("an IANA name, such as America/New_York", "an offset, such as -05:00")
    return Asked(
        "zone",
        f"The file names a zone ('{found.line[:60]}'). Which zone were the times written in?",
        (*choices, *more),
        "zone=ZONE",
    )
