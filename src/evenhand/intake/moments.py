"""A strict grammar for dates and clock times in files, whatever order day, month and year stand in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from evenhand.intake.words import MONTH_WORDS, fold


class Order(StrEnum):
    """The order of day, month and year in a date of three numbers."""

    DAY_MONTH = "day-month"
    MONTH_DAY = "month-day"
    YEAR_MONTH = "year-month"


@dataclass(frozen=True, slots=True)
class Day:
    """A date as written: days since 1970-01-01 under each order that makes it a date.

    A date that can be read one way only has the same number under each order it allows; an order that
    makes it no date is absent.
    """

    under: dict[Order, int]
    proof: bool = False
    """True where the text itself shows the order (year first, or the month's name): it proves nothing for others."""


EPOCH = date(1970, 1, 1)
_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f\u205f\u3000]+")
_UNSEEN = re.compile("[\u00ad\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_FULL_WIDTH = {0xFF10 + digit: str(digit) for digit in range(10)} | {
    0xFF0E: ".",
    0xFF0F: "/",
    0xFF1A: ":",
    0xFF0D: "-",
}
_NUMBERS = re.compile(r"(\d{1,4})\s?([-./])\s?(\d{1,2})\s?\2\s?(\d{1,4})\.?", re.ASCII)
_RUN = re.compile(r"(\d{4})(\d{2})(\d{2})", re.ASCII)
_CJK = re.compile(r"(\d{4})[年년]\s?(\d{1,2})[月월]\s?(\d{1,2})[日일]")
_DAY_NAME = re.compile(
    r"(\d{1,2})(?:\.|st|nd|rd|th|º|er)?[\s\-/.]*(?:de\s+)?([^\W\d_]{3,12})\.?[\s\-/.,]*(?:de\s+)?(\d{4}|\d{2})",
    re.I,
)
_NAME_DAY = re.compile(r"([^\W\d_]{3,12})\.?[\s\-/]*(\d{1,2})(?:st|nd|rd|th)?,?[\s\-/]+(\d{4})", re.I)
_YEAR_NAME = re.compile(r"(\d{4})[\s\-/.]+([^\W\d_]{3,12})\.?[\s\-/.]+(\d{1,2})", re.I)
_WEEKDAY = re.compile(
    r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]{0,6}\.?,?\s+(?=[^\W\d_])|[^\W\d_]{2,12}\.?,?\s+(?=\d)|[^\W\d_]{2,12}[.,]+\s*(?=[^\W\d_])|[(（].[)）]",
    re.I,
)


def plain_spaces(text: str) -> str:
    """A text with one kind of space, none at its ends, digits of full width as plain ones; marks of writing direction
    and other marks nobody sees are left out."""
    if text.isascii():
        return text.strip()
    return _SPACES.sub(" ", _UNSEEN.sub("", text)).translate(_FULL_WIDTH).strip()


def read_day(text: str) -> Day | None:
    """The date a text states, None where it states none.

    >>> read_day("03/04/2026").under == {Order.DAY_MONTH: 20546, Order.MONTH_DAY: 20516}
    True
    >>> read_day("2026-03-01").proof, read_day("1 März 2026").under[Order.DAY_MONTH], read_day("31.02.2026")
    (True, 20513, None)
    """
    bare = plain_spaces(text).rstrip(",")
    day = _numbers(bare) or _named(bare)
    if day is None and (weekday := _WEEKDAY.match(bare)):
        rest = bare[weekday.end() :]
        return _numbers(rest) or _named(rest)
    return day


def _numbers(text: str) -> Day | None:
    for pattern in (_RUN, _CJK):
        if match := pattern.fullmatch(text):
            return _fixed(int(match[1]), int(match[2]), int(match[3]))
    match = _NUMBERS.fullmatch(text)
    if match is None:
        return None
    first, second, third = match[1], match[3], match[4]
    if len(first) == 4:
        return _fixed(int(first), int(second), int(third)) if len(third) <= 2 else None
    if len(first) == 3 or len(third) == 3:
        return None
    under: dict[Order, int] = {}
    if len(third) > 1:
        _add(under, Order.DAY_MONTH, _year(third), second, first)
        _add(under, Order.MONTH_DAY, _year(third), first, second)
    if len(third) <= 2 and len(first) == 2:
        _add(under, Order.YEAR_MONTH, _year(first), second, third)
    return Day(under) if under else None


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _add(under: dict[Order, int], order: Order, year: int, month: str, day: str) -> None:
    found = _ordinal(year, int(month), int(day))
    if found is not None:
        under[order] = found


def _ordinal(year: int, month: int, day: int) -> int | None:
    if not 1970 <= year <= 2199:
        return None
    try:
        return (date(year, month, day) - EPOCH).days
    except ValueError:
        return None


def _fixed(year: int, month: int, day: int) -> Day | None:
    found = _ordinal(year, month, day)
    return None if found is None else Day(dict.fromkeys(Order, found), proof=True)


def _named(text: str) -> Day | None:
    for pattern, places in ((_DAY_NAME, (3, 2, 1)), (_NAME_DAY, (3, 1, 2)), (_YEAR_NAME, (1, 2, 3))):
        match = pattern.fullmatch(text)
        if match:
            month = MONTH_WORDS.get(fold(match[places[1]]))
            if month is not None:
                return _fixed(_year(match[places[0]]), month, int(match[places[2]]))
    return None


_CLOCK = re.compile(
    r"(?P<early>[ap]\.?\s?m\.?|午前|午後|上午|下午|오전|오후)?\s*(?P<hour>\d{1,2})(?:[:.h時点](?P<minute>\d{2})分?(?:[:.](?P<second>\d{2})秒?(?:[.,:]\d{1,9})?)?)?"
    r"\s*(?P<half>[ap]\.?\s?m\.?|[ap]|π\.?\s?μ\.?|μ\.?\s?μ\.?|vorm(?:ittags|\.)|nachm(?:ittags|\.)|öğleden önce|öğleden sonra|öö|ös|дп|пп)?\s*(?:uhr|h)?",
    re.I | re.A,
)
_RUN_CLOCK = re.compile(r"(?P<hour>\d{2})(?P<minute>\d{2})(?P<second>\d{2})?", re.ASCII)
_OFFSET = re.compile(
    r"\s*(?:(?P<z>[zZ]|(?:UTC|GMT)(?!\s?[+\-−]))|(?:UTC|GMT)?(?P<sign>[+\-−])(?P<hours>\d{1,2}):?(?P<minutes>\d{2})?)",
    re.ASCII,
)
HOURS = {"WET": 0, "WEST": 1, "CET": 1, "CEST": 2, "MEZ": 1, "MESZ": 2, "EET": 2, "EEST": 3}
"""Hours east of UTC of abbreviations that mean one thing only (common practice, no source)."""
_ZONE_AFTER = re.compile(rf"(?<=[\d\smM.])\s*\(?\b({'|'.join(HOURS)})\)?\Z", re.I | re.A)
_CLOCK_WORD = re.compile(r"(?:kl\.?|klo|klokken|klockan|kello)\s+(?=\d)", re.I)
_SIGNS = re.compile(r"(\d{1,2})\s?[時时点시]\s?(\d{1,2})\s?[分분](?:\s?(\d{1,2})\s?[秒초])?")
_LATER = {"p", "午後", "下午", "오후", "ös", "öğleden sonra", "пп"}


def read_clock(text: str) -> tuple[int, int | None] | None:
    """Seconds since midnight and the offset stated (seconds east of UTC, None for none).

    >>> read_clock("7:42 PM"), read_clock("07:42:15+01:00"), read_clock("25:00"), read_clock("12:05 am")
    ((70920, None), (27735, 3600), None, (300, None))
    """
    bare = _words_of_time(plain_spaces(text))
    offset: int | None = None
    zone = _ZONE_AFTER.search(bare)
    if zone is not None:
        bare, offset = bare[: zone.start()].strip(), HOURS[zone[1].upper()] * 3600
    for match in _OFFSET.finditer(bare):
        if match.end() == len(bare) and match.start() >= 4:
            offset = _offset(match)
            if offset is None:
                return None
            bare = bare[: match.start()].strip()
            break
    clock = _CLOCK.fullmatch(bare)
    if clock is None or (clock["minute"] is None and not (clock["half"] or clock["early"])):
        return None
    hour, minute, second = (int(clock[part] or 0) for part in ("hour", "minute", "second"))
    half = (clock["half"] or clock["early"] or "").lower()
    if minute > 59 or second > 59:
        return None
    if half:
        if not 1 <= hour <= 12:
            return None
        later = half[:1] in _LATER or half in _LATER or half[:1] in ("μ", "n")
        hour = hour % 12 + (12 if later else 0)
    return (hour * 3600 + minute * 60 + second, offset) if hour <= 23 else None


def _words_of_time(text: str) -> str:
    """A clock without the word before it ('kl. 07.15'), and with colons for the signs of hour and minute ('7時5分')."""
    text = _CLOCK_WORD.sub("", text)
    if text.isascii():
        return text
    return _SIGNS.sub(lambda found: ":".join(part.zfill(2) for part in found.groups() if part), text)


def _offset(match: re.Match[str]) -> int | None:
    if match["z"]:
        return 0
    seconds = int(match["hours"]) * 3600 + int(match["minutes"] or 0) * 60
    if seconds > 14 * 3600:
        return None
    return seconds if match["sign"] == "+" else -seconds


def read_offset(text: str) -> int | None:
    """Seconds east of UTC that a cell of offsets states, None where it states none.

    >>> read_offset("+01:00"), read_offset("UTC-3"), read_offset("UTC"), read_offset("summer")
    (3600, -10800, 0, None)
    """
    match = _OFFSET.fullmatch(plain_spaces(text))
    return _offset(match) if match else None


_HEAD_CLOCK = re.compile(
    r"(?P<clock>.*?\d{1,2}[:h]\d{2}\S*(?:\s*[ap]\.?m\.?)?)\s+(?P<day>.*\d{4}|.*\d{1,2}[./-]\d{1,2}[./-]\d{2})",
    re.I,
)


_ZONE_NAME = re.compile(r"((?:Z|[+\-−]\d{2}:?\d{2}))\s*\([A-Za-z][A-Za-z /_\-]+\)\Z", re.A)
"""An offset with the zone's name in brackets after it: the offset is what counts."""


def split(text: str) -> tuple[str, str] | None:
    """A text parted into its date and its clock; None where it does not hold both.

    >>> split("2026-03-01T07:42"), split("Mar 1, 2026 7:42 PM"), split("6.1")
    (('2026-03-01', '07:42'), ('Mar 1, 2026', '7:42 PM'), None)
    """
    bare = _ZONE_NAME.sub(r"\1", plain_spaces(text))
    for mark in ("T", " ", "t", ", ", "_"):
        day, found, clock = bare.partition(mark)
        if found and day[-1:].isalnum() and read_clock(clock) and read_day(day):
            return day, clock
    marks = [at for at, sign in enumerate(bare) if sign in " ,T;"]
    for at in marks:
        day, clock = bare[:at], bare[at + 1 :].strip(" ,;-@|")
        clock = re.sub(r"^(?:at|um|à|a las|kl\.?|klo|alle|às|om)\s+", "", clock, flags=re.I)
        if read_clock(clock) and read_day(day):
            return day, clock
    match = _HEAD_CLOCK.fullmatch(bare)
    if match and read_clock(match["clock"]) and read_day(match["day"]):
        return match["day"], match["clock"]
    run = re.fullmatch(r"(\d{8})[T ]?(\d{4}(?:\d{2})?)(Z|[+-]\d{2}:?\d{2})?", bare, re.ASCII)
    if run and read_day(run[1]) and (glued := _RUN_CLOCK.fullmatch(run[2])):
        clock = ":".join(part for part in glued.groups() if part) + (run[3] or "")
        return (run[1], clock) if read_clock(clock) else None
    return None


_COUNT = re.compile(r"\d{9,10}(?:\.\d{1,9})?|\d{12,13}|\d{15,16}|\d{18,19}", re.ASCII)
_SERIAL = re.compile(r"\d{5}(?:[.,]\d{1,12})?", re.ASCII)


def read_epoch(text: str) -> int | None:
    """The instant a count of seconds, milli-, micro- or nanoseconds since 1970 states, between 2000 and 2100; else
    None.

    >>> read_epoch("1772327520"), read_epoch("1772327520000"), read_epoch("1772327520000000"), read_epoch("110")
    (1772327520, 1772327520, 1772327520, None)
    """
    bare = text.strip()
    if not _COUNT.fullmatch(bare):
        return None
    whole = bare.partition(".")[0]
    instant = int(whole) // 10 ** (3 * ((len(whole) - 9) // 3))
    return instant if 946_684_800 <= instant < 4_102_444_800 else None


def read_serial(text: str, base: str | None) -> int | None:
    """Seconds of wall time since 1970 of a spreadsheet's serial number, between 2000 and 2079; else None.

    Day 25569 of the system of 1900, and day 24107 of that of 1904, are 1970-01-01 (computed from the two
    systems' first days).

    >>> read_serial("46082.5", "1900") == ((date(2026, 3, 1) - EPOCH).days * 2 + 1) * 43200
    True
    """
    bare = text.strip()
    if not _SERIAL.fullmatch(bare):
        return None
    days, _, part = bare.replace(",", ".").partition(".")
    seconds = round(float(f"0.{part}") * 86_400) if part else 0
    wall = (int(days) - (24_107 if base == "1904" else 25_569)) * 86_400 + seconds
    return wall if 10_957 * 86_400 <= wall < 40_000 * 86_400 else None


def day_of(ordinal: int) -> date:
    """The date of a count of days since 1970-01-01."""
    return EPOCH + timedelta(days=ordinal)
