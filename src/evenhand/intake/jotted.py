"""One line as people jot it: a time, a value, and words; every way it can be read.

'Tue 07:42 6.1 alarm', '0212 110 felt fine', '2026-03-01 02:10 4.1 low, washed', '6.1 at 07:42'.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from evenhand.intake import moments, numerals, words
from evenhand.intake.moments import Order, plain_spaces
from evenhand.intake.numerals import Numeral
from evenhand.units import PLAUSIBLE, Unit

_LONGEST = 7
"""Words that a date and a time of day take at most ('Sunday, 1 March 2026 at 7:42 pm')."""

_BULLET = re.compile(r"(?:[-*•–—·☐☑✓✔]|\[[ xX✓]?\]|\d{1,2}\))\s+")
_EDGES = " ,;:=-–—→@|"
_CLOCK = re.compile(r"(\d{1,2})[:h](\d{2})(?::(\d{2}))?\s*([ap]\.?m\.?)?", re.I | re.A)
_HALF = re.compile(r"(\d{1,2})\s*([ap]\.?m\.?)", re.I | re.A)
_FOUR = re.compile(r"(\d{2})(\d{2})", re.A)
_LOOSE = re.compile(r"(\d{1,2})\.(\d{2})|(\d)(\d{2})", re.A)
_SHORT = re.compile(r"(\d{1,2})([./-])(\d{1,2})([./-]?)", re.A)
_DAY_NAME = re.compile(r"(\d{1,2})(?:\.|st|nd|rd|th)?\s+(?:de\s+)?([^\W\d_]{3,12})\.?", re.I)
_NAME_DAY = re.compile(r"([^\W\d_]{3,12})\.?\s+(\d{1,2})(?:st|nd|rd|th)?", re.I)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

_CLOCK_AFTER = re.compile(
    r"(?:(?:at|um|à|kl\.?|klo|alle|om)\s+)?\d{1,2}(?:[:.h]?\d{2})?(?::\d{2})?\s*(?:[ap]\.?m\.?)?", re.I | re.A
)


def weekday(word: str) -> int | None:
    """The day of the week that a word names (0 for Monday), None for none; three letters of an English one are enough.

    >>> weekday("Tues."), weekday("Di"), weekday("mercredi,"), weekday("marzo")
    (1, 1, 2, None)
    """
    folded = words.fold(word.rstrip(",.:"))
    if folded in words.WEEKDAY_WORDS:
        return words.WEEKDAY_WORDS[folded]
    near = [at for at, name in enumerate(_WEEKDAYS) if len(folded) >= 3 and name.startswith(folded)]
    return near[0] if len(near) == 1 else None


def at_weekday(told: str) -> bool:
    """Whether a time as written begins with the name of a weekday."""
    return weekday(told.partition(" ")[0]) is not None


def only_weekday(told: str) -> bool:
    """Whether a time as written tells its date by the day of the week alone.

    >>> [only_weekday(told) for told in ("Tue 07:42", "Dienstag", "Tue, 3 March 07:42", "07:42")]
    [True, True, False, False]
    """
    name, _, rest = told.partition(" ")
    return weekday(name) is not None and (not rest or _CLOCK_AFTER.fullmatch(rest) is not None)


_AT = frozenset(("at", "@", "um", "um ca.", "à", "kl", "kl.", "klo", "alle", "om"))


@dataclass(frozen=True, slots=True)
class Jotting:
    """One way to read a line.

    `day` is the date (or None where none is written, or the line's weekday was resolved into it), `clock` the
    time of day with its offset ('07:42', '' for none), `told` both as written; `value` None where there is none;
    `unit` the one written; `rest` the words that follow.
    """

    day: date | None
    clock: str
    told: str
    value: Numeral | None
    unit: Unit | None
    rest: str

    def __str__(self) -> str:
        parts = [
            self.day.isoformat() if self.day else "",
            self.clock,
            self.value.text if self.value else "",
            str(self.unit or "") if self.value and self.value.unit is None else "",
            self.rest,
        ]
        return " ".join(part for part in parts if part)


def parse(line: str, today: date, order: Order | None = None) -> tuple[Jotting, ...]:
    """Every way to read a line; none where it holds neither a time nor a value.

    `today` is the date where the wearer is: a weekday, or a date without a year, is the last one not after it.

    >>> day = date(2026, 3, 4)
    >>> [str(way) for way in parse("Tue 07:42 6.1 alarm", day)]
    ['2026-03-03 07:42 6.1 alarm']
    >>> [str(way) for way in parse("0212 110 felt fine", day)]
    ['02:12 110 felt fine']
    >>> [str(way) for way in parse("742 6.1", day)]
    ['07:42 6.1', '742 6.1']
    """
    tokens = _BULLET.sub("", " ".join(plain_spaces(line).split()), count=1).split(" ")
    if tokens == [""]:
        return ()
    for count in range(min(_LONGEST, len(tokens)), 0, -1):
        prefix, after = " ".join(tokens[:count]).strip(_EDGES), tokens[count:]
        found = _moments(prefix, today, order)
        if found:
            value, unit, rest = _value(after)
            if value is None and _FOUR.fullmatch(prefix):
                continue
            return tuple(Jotting(day, clock, prefix, value, unit, rest) for day, clock in found)
    return _undated(tokens, today, order) or _value_first(tokens, today, order)


def _undated(tokens: list[str], today: date, order: Order | None) -> tuple[Jotting, ...]:
    """Lines that begin with a day but no clear time of day."""
    for count in range(min(_LONGEST, len(tokens)), 0, -1):
        prefix, after = " ".join(tokens[:count]).strip(_EDGES), tokens[count:]
        days = _days(prefix, today, order)
        if days:
            loose = _loose(after)
            value, unit, rest = _value(after)
            ways = tuple(Jotting(day, loose[0], prefix, *loose[1]) for day in days if loose)
            if loose and _dotted(after):
                return ways
            return (*ways, *(Jotting(day, "", prefix, value, unit, rest) for day in days))
    return ()


def _value_first(tokens: list[str], today: date, order: Order | None) -> tuple[Jotting, ...]:
    """Lines that begin with a number: a value (its time may follow), or a time written without a colon."""
    loose = _loose(tokens)
    ways = [Jotting(None, loose[0], tokens[0], *loose[1])] if loose else []
    value, unit, rest = _value(tokens)
    if value is None or value.value is None or (loose and _dotted(tokens)):
        return tuple(ways)
    after = rest.split(" ")
    if after[0].lower() in _AT or after[0].startswith("@"):
        after = after[1:] if after[0].lower() in _AT else [after[0][1:], *after[1:]]
    for count in range(min(_LONGEST, len(after)), 0, -1):
        prefix = " ".join(after[:count]).strip(_EDGES)
        found = _moments(prefix, today, order) if ":" in prefix or "m" in prefix.lower() else ()
        if found:
            left = " ".join(after[count:]).strip(_EDGES)
            return tuple(Jotting(day, clock, prefix, value, unit, left) for day, clock in found)
    return (*ways, Jotting(None, "", "", value, unit, rest))


def _dotted(tokens: list[str]) -> bool:
    """Whether a time is written '7.42': before another number it is no value, for those have one decimal."""
    return "." in tokens[0].strip(_EDGES)


def _loose(tokens: list[str]) -> tuple[str, tuple[Numeral, Unit | None, str]] | None:
    """A time written '7.42' or '742' before a value; '742' may be a value itself."""
    match = _LOOSE.fullmatch(tokens[0].strip(_EDGES)) if tokens else None
    if match is None:
        return None
    hour, minute = int(match[1] or match[3]), int(match[2] or match[4])
    value, unit, rest = _value(tokens[1:])
    if hour > 23 or minute > 59 or value is None or value.value is None:
        return None
    return f"{hour:02d}:{minute:02d}", (value, unit, rest)


def _value(tokens: list[str]) -> tuple[Numeral | None, Unit | None, str]:
    """The value that a line goes on with, the unit after it, and the rest."""
    while tokens and not tokens[0].strip(_EDGES):
        tokens = tokens[1:]
    if not tokens:
        return None, None, ""
    first, used = tokens[0].strip(" ,;:=|"), 1
    if first in ("<", ">", "≤", "≥", "<=", ">=") and len(tokens) > 1:
        first, used = f"{first}{tokens[1].strip(' ,;')}", 2
    found = None if re.match(r"0\d", first) else numerals.read(first.lstrip("@"))
    if found is None or (found.value is not None and not _possible(found)):
        return None, None, " ".join(tokens).strip(_EDGES)
    unit = found.unit
    if unit is None and found.value is not None and len(tokens) > used:
        unit = words.UNIT_WORDS.get(words.fold(tokens[used]))
        used += unit is not None
    return found, unit, " ".join(tokens[used:]).strip(_EDGES)


_OTHER_THINGS = words.word_set(
    "g,gr,gram,grams,gramm,u,ie,ui,iu,unit,units,einheiten,unités,unidades,min,mins,minute,minutes,minuten,h,hr,hrs,hour,hours,stunden,km,m,steps,bpm,kg,lb,lbs,"
    "kcal,cal,carbs,carb,kh,be,insulin,bolus,basal,rapid,pulse,puls,weight,ketone,ketones,bp,temp,hba1c,a1c,%,°c,c,°,x,times,mal,strip,lot,day,days,week,weeks"
)


def second_values(way: Jotting) -> tuple[tuple[str, str], ...]:
    """Other numbers among the words of a line that may be its value as well, each with the words that are left without it.

    A number beside the name of something else ('45 g carbs', 'pulse 72') is none, nor one of another size than the value.

    >>> from datetime import date
    >>> [second_values(way) for way in parse("07:42 110 112", date(2026, 3, 4))]
    [(('112', ''),)]
    >>> [second_values(way) for way in parse("07:42 110 ate 45 g carbs, 2 rolls", date(2026, 3, 4))]
    [()]
    """
    if way.value is None:
        return ()
    tokens = way.rest.split(" ")
    bare = [words.fold(token.strip(_EDGES + "/()+")) for token in tokens]
    found = []
    for at, token in enumerate(tokens):
        text = token.strip(_EDGES + "/()+")
        number = numerals.read(text)
        beside = {bare[near] for near in (at - 1, at + 1) if 0 <= near < len(bare)}
        if number is None or number.value is None or beside & _OTHER_THINGS or not _like(number, way.value):
            continue
        found.append((text, " ".join([*tokens[:at], *tokens[at + 1 :]]).strip(_EDGES + "/")))
    return tuple(found)


def _like(number: Numeral, value: Numeral) -> bool:
    """Whether a number is of the size of a value: a whole one in mg/dL, one with a decimal in mmol/L."""
    assert number.value is not None
    large, small = (
        number.places == 0 and 20 <= number.value <= 600,
        number.places == 1 and 1 <= number.value <= 33.3,
    )
    if value.value is None:
        return large or small
    return large if value.value > 36 else (small or (large and value.value >= 20))


def _possible(found: Numeral) -> bool:
    units = [found.unit] if found.unit else list(Unit)
    assert found.value is not None
    return any(PLAUSIBLE[unit][0] <= found.value <= PLAUSIBLE[unit][1] for unit in units)


def _moments(text: str, today: date, order: Order | None) -> tuple[tuple[date | None, str], ...]:
    """Every (date or None, time of day) that a text states as a whole."""
    clock = _clock(text)
    if clock:
        return ((None, clock),)
    parted = moments.split(text)
    if parted is not None:
        read = moments.read_clock(parted[1])
        found = moments.read_day(parted[0])
        if read and found:
            tail = re.search(r"(?:Z|[+-]\d{2}:?\d{2})$", parted[1])
            told = _hms(read[0]) + (tail[0] if tail else "")
            return tuple((day, told) for day in _distinct(found, order))
    if _days(text, today, order):
        return ()
    for at in [at for at, mark in enumerate(text) if mark == " "]:
        clock = _clock(re.sub(r"^(?:at|um|à|kl\.?|klo|alle|om)\s+", "", text[at + 1 :].strip(_EDGES)))
        days = _days(text[:at].strip(_EDGES), today, order) if clock else ()
        if days:
            return tuple((day, clock) for day in days)
    return ()


def _hms(seconds: int) -> str:
    told = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}"
    return told if seconds % 60 == 0 else f"{told}:{seconds % 60:02d}"


def _clock(text: str) -> str:
    """A time of day as 'HH:MM', '' where the text is none."""
    if match := _CLOCK.fullmatch(text):
        hour, minute, second, half = int(match[1]), int(match[2]), int(match[3] or 0), match[4]
    elif match := _HALF.fullmatch(text):
        hour, minute, second, half = int(match[1]), 0, 0, match[2]
    elif match := _FOUR.fullmatch(text):
        hour, minute, second, half = int(match[1]), int(match[2]), 0, None
    else:
        return ""
    if half:
        if not 1 <= hour <= 12:
            return ""
        hour = hour % 12 + 12 * (half[0].lower() == "p")
    return _hms(hour * 3600 + minute * 60 + second) if hour < 24 and minute < 60 and second < 60 else ""


def _distinct(found: moments.Day, order: Order | None) -> tuple[date, ...]:
    if order is not None:
        return (moments.day_of(found.under[order]),) if order in found.under else ()
    return tuple(moments.day_of(one) for one in dict.fromkeys(found.under.values()))


def _days(text: str, today: date, order: Order | None) -> tuple[date, ...]:
    """Every date that a text states as a whole; without a year, the last one not after today."""
    word = words.fold(text.rstrip(",.:"))
    if word in words.TODAY_WORDS or word in words.YESTERDAY_WORDS:
        return (today - timedelta(days=word in words.YESTERDAY_WORDS),)
    named_day = weekday(text)
    if named_day is not None:
        return (today - timedelta(days=(today.weekday() - named_day) % 7),)
    found = moments.read_day(text)
    if found is not None:
        return _distinct(found, order)
    return _yearless(text, today, order)


def _yearless(text: str, today: date, order: Order | None) -> tuple[date, ...]:
    """The same for '3/4', '1.3.', '1 March' and 'March 1', with or without the day of the week before it."""
    name, _, rest = text.partition(" ")
    named_day = weekday(name)
    if rest and named_day is not None:
        days = _yearless(rest, today, order)
        return tuple(day for day in days if day.weekday() == named_day) or days
    if match := _SHORT.fullmatch(text):
        dotted = match[2] == "." and match[4] == "."
        if match[2] == "." and not dotted:
            return ()
        ways = [(int(match[1]), int(match[3]))] if order is not Order.MONTH_DAY or dotted else []
        ways += [(int(match[3]), int(match[1]))] if order is not Order.DAY_MONTH and not dotted else []
        return tuple(dict.fromkeys(day for way in ways if (day := _last(*way, today))))
    for pattern, day_at, name_at in ((_DAY_NAME, 1, 2), (_NAME_DAY, 2, 1)):
        named = pattern.fullmatch(text)
        month = words.MONTH_WORDS.get(words.fold(named[name_at])) if named else None
        if named and month:
            found = _last(int(named[day_at]), month, today)
            return (found,) if found else ()
    return ()


def _last(day: int, month: int, today: date) -> date | None:
    for year in (today.year, today.year - 1):
        try:
            found = datetime(year, month, day).date()  # noqa: DTZ001
        except ValueError:
            continue
        if found <= today:
            return found
    return None
