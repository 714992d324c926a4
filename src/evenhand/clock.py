"""Times as they were recorded, where the wearer was, and as instants; never 'now' and never the machine's zone.

An instant is whole seconds since 1970-01-01T00:00Z. A wall time is what a clock on the wearer's wall
showed. Between them stands a zone, and which zone holds when is told by `Zones`: the trial's own, and
those of the trips.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from functools import lru_cache
from zoneinfo import ZoneInfo

from evenhand.errors import BadTime

DAY = 86_400
HOUR = 3_600
MINUTE = 60

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


class ZoneOrigin(StrEnum):
    """Where a zone was learnt."""

    GIVEN = "given"
    COMPUTER = "taken from this computer"
    TRIP = "trip"


_OF_THIS_COMPUTER = re.compile(r"localtime$|posixrules$|Factory$|posix/|right/")


@lru_cache(maxsize=64)
def zone_info(name: str) -> ZoneInfo:
    """The rules of an IANA zone; `BadTime` where there is no such zone.

    'localtime' and the like, which mean whatever this computer is set to, are no zones.
    """
    try:
        if not _OF_THIS_COMPUTER.match(name):
            return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        pass
    raise BadTime(f"'{name}' is not a time zone.", "Write an IANA name, for example Europe/Lisbon.")


@dataclass(frozen=True, slots=True)
class Stamp:
    """A moment: the text it was recorded as, the instant, and the zone it was understood in.

    `instant` is seconds since the epoch, `zone` an IANA name. `offset` is the seconds east of UTC at
    that moment: the zone's, or the one the text itself stated.

    >>> stamp = Stamp.at(1772327520, "Europe/Lisbon")
    >>> stamp.iso, stamp.wall
    ('2026-03-01T01:12:00+00:00', datetime.datetime(2026, 3, 1, 1, 12))
    """

    text: str
    instant: int
    zone: str
    offset: int

    @classmethod
    def at(cls, instant: int, zone: str, text: str | None = None) -> Stamp:
        """The stamp of an instant in a zone; the text is its ISO form where none is given."""
        offset = offset_at(instant, zone)
        made = cls("", instant, zone, offset)
        return cls(made.iso if text is None else text, instant, zone, offset)

    @property
    def wall(self) -> datetime:
        """What a clock where the wearer was showed (naive)."""
        return wall_of(self.instant, self.offset)

    @property
    def day(self) -> date:
        """The calendar date where the wearer was."""
        return self.wall.date()

    @property
    def iso(self) -> str:
        """ISO 8601 with the offset, to the second."""
        return iso_of(self.instant, self.offset)


def offset_at(instant: int, zone: str) -> int:
    """Seconds east of UTC in `zone` at `instant`."""
    there = datetime.fromtimestamp(instant, zone_info(zone)).utcoffset()
    assert there is not None
    return int(there.total_seconds())


def wall_of(instant: int, offset: int) -> datetime:
    """The naive wall time of an instant at an offset."""
    return datetime(1970, 1, 1) + timedelta(seconds=instant + offset)  # noqa: DTZ001


def iso_of(instant: int, offset: int) -> str:
    """ISO 8601 with offset.

    >>> iso_of(0, -12_600)
    '1969-12-31T20:30:00-03:30'
    """
    sign = "-" if offset < 0 else "+"
    hours, rest = divmod(abs(offset), HOUR)
    return f"{wall_of(instant, offset).isoformat()}{sign}{hours:02d}:{rest // MINUTE:02d}"


def possible_instants(wall: datetime, zone: str) -> tuple[int, ...]:
    """Every instant at which clocks in `zone` showed `wall`: none in the hour that is left out in
    spring, two in the hour that comes twice in autumn, else one; in order.

    >>> possible_instants(datetime(2026, 3, 29, 2, 30), "Europe/Berlin")
    ()
    >>> possible_instants(datetime(2026, 10, 25, 2, 30), "Europe/Berlin")
    (1792888200, 1792891800)
    """
    info = zone_info(zone)
    found = set()
    for fold in (0, 1):
        instant = int(wall.replace(tzinfo=info, fold=fold).timestamp())
        if datetime.fromtimestamp(instant, info).replace(tzinfo=None) == wall.replace(microsecond=0):
            found.add(instant)
    return tuple(sorted(found))


@dataclass(frozen=True, slots=True)
class Trip:
    """A stretch in another zone; `end` is None while it lasts. Instants in seconds."""

    start: int
    end: int | None
    zone: str

    def covers(self, instant: int) -> bool:
        """Whether the wearer was on this trip at that instant."""
        return self.start <= instant and (self.end is None or instant < self.end)


@dataclass(frozen=True, slots=True)
class Zones:
    """Which zone the wearer was in, when: the trial's zone, and the trips'.

    >>> zones = Zones("Europe/Lisbon", (Trip(1000, 2000, "Asia/Tokyo"),))
    >>> zones.at(999), zones.at(1000), zones.at(2000)
    ('Europe/Lisbon', 'Asia/Tokyo', 'Europe/Lisbon')
    """

    home: str
    trips: tuple[Trip, ...] = ()

    def at(self, instant: int) -> str:
        """The zone at an instant: of the trip begun last before it, where trips overlap."""
        under_way = [trip for trip in self.trips if trip.covers(instant)]
        return max(under_way, key=lambda trip: trip.start).zone if under_way else self.home

    def names(self) -> tuple[str, ...]:
        """Every zone that occurs, home first."""
        return tuple(dict.fromkeys((self.home, *(trip.zone for trip in self.trips))))

    def stamp(self, instant: int, text: str | None = None) -> Stamp:
        """The stamp of an instant where the wearer was."""
        return Stamp.at(instant, self.at(instant), text)

    def possible(self, wall: datetime) -> tuple[int, ...]:
        """Every instant at which the clock on the wearer's wall showed `wall`, trips and clock changes
        included; in order."""
        return tuple(
            sorted(
                instant
                for name in self.names()
                for instant in possible_instants(wall, name)
                if self.at(instant) == name
            )
        )


@dataclass(frozen=True, slots=True)
class Understood:
    """A time a person wrote, and what has to be said back about how it was understood (may be empty)."""

    stamp: Stamp
    said: str = ""


_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:[:.h](?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.\d+)?)?)?\s*(?P<half>[ap]\.?m\.?)?",
    re.I | re.A,
)
_ISO_DAY = re.compile(r"(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})", re.A)
_DOT_DAY = re.compile(r"(?P<day>\d{1,2})\.\s?(?P<month>\d{1,2})\.(?:\s?(?P<year>\d{4}))?", re.A)
_NAMED_DAY = re.compile(r"(?P<day>\d{1,2})\.?\s+(?P<name>[a-z]{3,9})\.?(?:\s+(?P<year>\d{4}))?", re.I | re.A)
_OFFSET = re.compile(r"(?P<z>[zZ])|(?P<sign>[+-])(?P<hours>\d{2}):?(?P<minutes>\d{2})", re.A)
_SLASH_DAY = re.compile(r"\d{1,2}/\d{1,2}(/\d{2,4})?", re.A)
_CURE = "Write for example '07:42', 'yesterday 22:10', 'Tue 07:42' or '2026-03-01 02:10'."


def understand_time(text: str, now: int, zones: Zones) -> Understood:
    """A time as a person writes it, understood near `now` (an instant) where the wearer was.

    A bare clock time is the last one that is not later than `now`; a weekday is the last of that name. A time
    that came twice, both not later than `now`, is the first of the two where a day is written, the last where
    none is, and what is said back names the other. Raises `BadTime` for what cannot be understood, can be read
    two ways, or did not exist because the clock was put forward.

    >>> zones, now = Zones("Europe/Lisbon"), 1772352000        # 2026-03-01 08:00
    >>> understand_time("07:42", now, zones).stamp.iso
    '2026-03-01T07:42:00+00:00'
    >>> understand_time("23:10", now, zones).stamp.iso
    '2026-02-28T23:10:00+00:00'
    >>> understand_time("3/4 07:42", now, zones)
    Traceback (most recent call last):
    evenhand.errors.BadTime: '3/4 07:42' can be read two ways. Write the date as 2026-03-04 or 4 March.
    """
    words = (
        " ".join(text.replace("T", " ", 1).split())
        if _ISO_DAY.match(text.strip())
        else " ".join(text.split())
    )
    if words.lower() == "now":
        return Understood(zones.stamp(now, text))
    today = zones.stamp(now).wall
    rest, offset = _split_offset(words)
    when, clock_text = _split_day(rest, text, today)
    clock = _clock(clock_text, text)
    if offset is not None:
        if when is None:
            raise BadTime(f"'{text}' has an offset but no date.", _CURE)
        wall = _combine(when, clock)
        instant = int(wall.replace(tzinfo=UTC).timestamp()) - offset
        return Understood(Stamp(text, instant, zones.at(instant), offset))
    if when is None:
        return _last(text, clock, now, zones)
    wall = _combine(when, clock)
    if _names_weekday(words) and wall > today:
        wall -= timedelta(days=7)
    return _settle(text, wall, zones, now)


def _last(text: str, clock: tuple[int, int, int], now: int, zones: Zones) -> Understood:
    """The last moment, not later than `now`, at which the clock on the wearer's wall showed this time of day."""
    here = zones.stamp(now).wall
    today = _combine(here.date(), clock)
    if today <= here and not zones.possible(today):
        return _settle(text, today, zones, now)
    # A day ahead too: a wearer who crossed the date line may have had that date already.
    for wall in (today + timedelta(days=1), today, today - timedelta(days=1)):
        past = [instant for instant in zones.possible(wall) if instant <= now]
        if past:
            return _twice(text, wall, zones, past, place=-1)
    return _settle(text, today - timedelta(days=1), zones, now)


def _combine(when: date, clock: tuple[int, int, int]) -> datetime:
    return datetime(when.year, when.month, when.day, *clock)  # noqa: DTZ001


def _settle(text: str, wall: datetime, zones: Zones, now: int) -> Understood:
    instants = zones.possible(wall)
    if not instants:
        raise BadTime(
            f"'{text}' is {wall:%Y-%m-%d %H:%M}, which no clock showed there: it was put forward.",
            "Write the time your clock did show, or give the offset, for example 2026-03-29T03:30+02:00.",
        )
    past = [instant for instant in instants if instant <= now]
    return _twice(text, wall, zones, past or list(instants), place=0)


def _twice(text: str, wall: datetime, zones: Zones, instants: list[int], *, place: int) -> Understood:
    """One of the instants at which the clock showed `wall` (`place` 0 the first, -1 the last), naming the other."""
    stamp = zones.stamp(instants[place], text)
    if len(instants) == 1:
        return Understood(stamp)
    other = zones.stamp(instants[-1 - place])
    taken, left = ("first", "second") if place == 0 else ("second", "first")
    return Understood(
        stamp,
        f"{wall:%H:%M} came twice that day; understood as the {taken}. If it was the {left}, write {other.iso}.",
    )


def _names_weekday(words: str) -> bool:
    return _only(words.split(" ", maxsplit=1)[0].lower().rstrip(",."), WEEKDAYS) is not None


def _split_offset(words: str) -> tuple[str, int | None]:
    """The text without its trailing UTC offset, and that offset in seconds (None where there is none)."""
    for match in _OFFSET.finditer(words):
        if match.end() != len(words) or match.start() < len("2026-03-01 0"):
            continue
        if match["z"]:
            return words[: match.start()].strip(), 0
        hours, minutes = int(match["hours"]), int(match["minutes"])
        if hours > 14 or minutes > 59:
            raise BadTime(f"'{words}' has an offset that no zone has.", _CURE)
        seconds = hours * HOUR + minutes * MINUTE
        return words[: match.start()].strip(), -seconds if match["sign"] == "-" else seconds
    return words, None


def _split_day(words: str, text: str, today: datetime) -> tuple[date | None, str]:
    """The day a text names (None where it names none) and the clock part that follows."""
    first, _, rest = words.partition(" ")
    word = first.lower().rstrip(",.")
    if word in ("today", "yesterday"):
        return today.date() - timedelta(days=word == "yesterday"), rest
    weekday = _only(word, WEEKDAYS)
    if weekday is not None:
        return today.date() - timedelta(days=(today.weekday() - weekday) % 7), rest
    if _SLASH_DAY.match(words):
        raise _slashed(words, text, today)
    for pattern in (_ISO_DAY, _DOT_DAY, _NAMED_DAY):
        match = pattern.match(words)
        named = match and _date_of(match.groupdict(), text, today)
        if match and named:
            return named, words[match.end() :].strip(" ,")
    return None, words


def _slashed(words: str, text: str, today: datetime) -> BadTime:
    """What is wrong with a date written with slashes: which of the two numbers is the month differs by country."""
    first, second, *rest = (int(number) for number in re.findall(r"\d+", words.split(" ", maxsplit=1)[0]))
    month, day = sorted((first, second)) if max(first, second) > 12 else (first, second)
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return BadTime(f"'{text}' is not a date.", _CURE)
    year = today.year if not rest else rest[0] + 2000 * (rest[0] < 100)
    what = "can be read two ways" if max(first, second) <= 12 else "has a date with slashes"
    name = MONTHS[month - 1]
    cure = f"Write the date as {year}-{month:02d}-{day:02d} or {day} {name}."
    return BadTime(f"'{text}' {what}.", cure)


def _date_of(parts: dict[str, str | None], text: str, today: datetime) -> date | None:
    month = _only((parts["name"] or "").lower(), MONTHS) if "name" in parts else int(parts["month"] or 0) - 1
    if month is None:
        return None
    stated = parts.get("year")
    day = int(parts["day"] or 0)
    try:
        found = date(int(stated or today.year), month + 1, day)
        if not stated and found > today.date():
            found = date(today.year - 1, month + 1, day)
    except ValueError:
        raise BadTime(f"'{text}' is not a date.", _CURE) from None
    if not 1970 <= found.year <= 2200:
        raise BadTime(f"'{text}' is in the year {found.year}.", "Write the year as it was, for example 2026.")
    return found


def _only(word: str, names: Iterable[str]) -> int | None:
    """The place of the one name that starts with `word` (at least three letters, small ones)."""
    found = [place for place, name in enumerate(names) if len(word) >= 3 and name.lower().startswith(word)]
    return found[0] if len(found) == 1 else None


def _clock(clock_text: str, text: str) -> tuple[int, int, int]:
    match = _CLOCK.fullmatch(clock_text.strip())
    if match is None or (match["minute"] is None and match["half"] is None):
        raise BadTime(f"'{text}' is not a time Evenhand understands.", _CURE)
    hour, minute, second = (int(match[name] or 0) for name in ("hour", "minute", "second"))
    half = (match["half"] or "").lower()[:1]
    if (half and not 1 <= hour <= 12) or hour > 23 or minute > 59 or second > 59:
        raise BadTime(f"'{text}' is not a time of day.", _CURE)
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return hour, minute, second
