"""Jotted lines together: which day each belongs to, their units, reasons and marks; what can be read two ways is asked.

A line becomes a stick typed by the wearer, a diary entry, or waits: a value without a time waits for the meter's file.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from evenhand.clock import Stamp, Zones, understand_time
from evenhand.errors import BadTime, EvenhandError
from evenhand.intake import jotted, numerals, words
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.collect import METER_USUAL, UNITS, Collected, Context
from evenhand.intake.jotted import Jotting
from evenhand.intake.names import METER, Names, named_in
from evenhand.intake.reading import Read
from evenhand.intake.remarks import Remarks, understood
from evenhand.intake.sticks import Draft, agrees
from evenhand.intake.table import Document
from evenhand.intake.values import LARGE, SMALL
from evenhand.intake.way import plain_read
from evenhand.records.diary import Event, EventKind, Mark, Reason
from evenhand.records.files import Fate
from evenhand.records.trial import Trial
from evenhand.units import PLAUSIBLE, Beyond, Glucose, Unit

_SHARE = 0.6
_LATE = 86_400
_TABLE_KEYS = ("delimiter", "header", "time", "date", "value", "sheet")
_EVENTS = {
    words.Kind.MEAL: EventKind.MEAL,
    words.Kind.EXERCISE: EventKind.EXERCISE,
    words.Kind.ALARM: EventKind.ALARM,
}


def are(document: Document, context: Context, has_header: bool, owned: bool) -> bool:  # noqa: FBT001
    """Whether a text is jotted lines: no header stands over it, and most lines read as a time or day and a value.

    `owned` says that somebody said it is a sensor's: jotted lines are never that.
    """
    if document.lines is None or has_header or owned:
        return False
    if any(context.settings.get(key) is not None for key in _TABLE_KEYS):
        return False
    filled = [line for line in document.lines if line.strip()]
    today = context.zones.stamp(context.now).day
    ways = [jotted.parse(line, today) if len(line) <= 300 else () for line in filled]
    valued = sum(1 for one in ways if one and one[0].value is not None)
    told = [bool(way) or _reason_near(line) is not None for way, line in zip(ways, filled, strict=True)]
    return bool(filled) and sum(told) >= _SHARE * len(filled) and valued >= 1


def as_read(document: Document) -> Read:
    """The lines as rows of one column, none with a fate yet."""
    told = [(number, line) for number, line in enumerate(document.lines or (), 1) if line.strip()]
    return plain_read([line.strip() for _, line in told], [number for number, _ in told])


@dataclass(slots=True)
class Jottings:
    """Drafts and diary entries of jotted lines, questions, guesses, and what to say."""

    collected: Collected = field(default_factory=Collected)
    asked: list[Asked] = field(default_factory=list)
    guesses: list[Guess] = field(default_factory=list)


def read(one: Read, trial: Trial, names: Names, context: Context) -> Jottings:
    """Every line understood; rows that stay open have no fate yet, and become drafts or entries."""
    return _Reader(one, trial, names, context).all()


_TIMED = re.compile(r"(?:[-*•]\s+)?(?:\d{1,2}[:h]\d{2}|\d{4}\s)", re.A)
_DATED = re.compile(
    r"(?:[-*•]\s+)?(?:\d{1,4}[-./]\d{1,2}[-./](?:\d{1,4})?|\d{1,2}\.?\s+[^\W\d]{3,9}\.?)\s", re.A
)


def _reason_near(text: str) -> str | None:
    """What is wrong with a line that begins with a date or a time of day, as it seems; None for any other."""
    if _DATED.match(text):
        return "begins with what is not a date"
    return "begins with what is not a time of day" if _TIMED.match(text) else None


class _Reader:
    """Reads lines in order; a line that is a date holds for the lines under it."""

    def __init__(self, one: Read, trial: Trial, names: Names, context: Context) -> None:
        self.one, self.trial, self.names, self.context = one, trial, names, context
        self.zones: Zones = context.zones
        self.today = self.zones.stamp(context.now).day
        self.made = Jottings()
        self.under: date | None = None
        self.before: Stamp | None = None
        self.loose: list[tuple[int, Jotting, Stamp]] = []
        self.last: tuple[date, str] | None = None
        self.dated: date | None = None
        self.said_day = self._said_day()
        self.known: list[float] = []

    def _said_day(self) -> date | None:
        said = self.context.settings.get("day")
        if said is None:
            return None
        ways = jotted.parse(said, self.today)
        days = {way.day for way in ways if way.day is not None and way.value is None}
        if len(days) != 1:
            raise BadTime(f"'{said}' is not a day.", "Write for example day=2026-03-01.")
        return days.pop()

    def all(self) -> Jottings:
        texts, lines = self.one.section.columns[0], self.one.section.lines
        chosen = [self._chosen(text, line) for text, line in zip(texts, lines, strict=True)]
        self.known = [
            way.value.value
            for way in chosen
            if isinstance(way, Jotting) and way.value and way.value.value is not None and way.unit is None
        ]
        for row, way in enumerate(chosen):
            if isinstance(way, Jotting):
                self._line(row, way)
            elif way is None:
                self.one.fates.set(row, Fate.WAITING, "waits for the answer to how it is to be read")
            else:
                self.one.fates.set(row, Fate.SET_ASIDE, way)
        self._which_day()
        return self.made

    def _chosen(self, text: str, line: int) -> Jotting | str | None:
        """The one way to read a line; a reason where it is set aside, None where it is asked."""
        said = self.context.settings.about("line", str(line))
        if said is not None and said.lower() == "ignore":
            return "you said to ignore it"
        order = self.context.settings.order
        ways = jotted.parse(text, self.today, order)
        if said is not None:
            picked = [way for way in ways if str(way) == said]
            ways = tuple(picked) or jotted.parse(said, self.today, order)
        if not ways:
            return f"'{text[:60]}' {_reason_near(text) or 'holds no time and value that can be read'}"
        if len(ways) > 1:
            self._ask(
                line, f"Line {line}, '{text[:60]}', can be read in {len(ways)} ways.", [*map(str, ways)]
            )
            return None
        return ways[0]

    def _ask(self, line: int, text: str, choices: Sequence[str]) -> None:
        self.made.asked.append(Asked("which-reading", text, (*choices, "ignore"), f"line.{line}=TEXT"))

    def _line(self, row: int, way: Jotting) -> None:
        if way.value is None and not way.rest and way.day is not None and not way.clock:
            self.under, self.before, self.last = way.day, None, None
            if self._other_week(row, way):
                return
            self.dated = way.day
            self.one.fates.set(row, Fate.SET_ASIDE, f"the day of the lines under it: {way.day}")
            return
        if not way.clock:
            self._timeless(row, way)
            return
        when = None if self._other_week(row, way) else self._when(row, way)
        if when is None:
            return
        if when.instant > self.context.now + _LATE // 24:
            self.one.fates.set(row, Fate.SET_ASIDE, f"'{way.told}' has not come yet")
            return
        if way.value is None:
            self._entry(row, way, when)
        else:
            self._stick(row, way, when)

    def _when(self, row: int, way: Jotting) -> Stamp | None:
        """The moment of a line with a time of day; None where it is asked or set aside."""
        line = self.one.section.lines[row]
        day = way.day or self.under or self.said_day
        self.dated = way.day or self.dated
        try:
            if day is None:
                stamp = self._understood(way.clock)
                follows = self._follows(way.clock)
                if follows is not None and follows.day != stamp.day:
                    self._ask(
                        line,
                        f"Line {line}, '{way}', names no day: does it follow the line above, or is it the last {way.clock} before now?",
                        [str(replace(way, day=follows.day)), str(replace(way, day=stamp.day))],
                    )
                    self.one.fates.set(row, Fate.WAITING, "waits for the answer to its day")
                    return None
                if self.before is not None:
                    self.before = stamp
                    return replace(stamp, text=way.told)
                self.loose.append((row, way, stamp))
                return replace(stamp, text=way.told)
            stamp = self._understood(f"{day.isoformat()} {way.clock}")
            if way.day and jotted.at_weekday(way.told) and stamp.instant > self.context.now:
                day -= timedelta(days=7)
                stamp = self._understood(f"{day.isoformat()} {way.clock}")
        except BadTime as error:
            self.one.fates.set(row, Fate.SET_ASIDE, error.found)
            return None
        if way.day is not None:
            self.before, self.under = stamp, None
        elif self.last is not None and self._past_midnight(self.last, (day, way.clock)):
            self._ask(
                line,
                f"Line {line}, '{way}', follows {self.last[1]}: is it after midnight, or earlier that day?",
                [str(replace(way, day=day + timedelta(days=1))), str(replace(way, day=day))],
            )
            self.one.fates.set(row, Fate.WAITING, "waits for the answer to its day")
            return None
        self.last = (day, way.clock)
        return replace(stamp, text=way.told)

    def _other_week(self, row: int, way: Jotting) -> bool:
        """Whether a day of the week may be the one that follows the date above it, as well as the last one before now: asked."""
        line = self.one.section.lines[row]
        if way.day is None or self.dated is None or not jotted.only_weekday(way.told):
            return False
        follows = self.dated + timedelta(days=(way.day - self.dated).days % 7)
        if follows == way.day or follows > self.today:
            return False
        self._ask(
            line,
            f"Line {line}, '{way.told}', stands under {self.dated}: is it the one that follows, or the last one before now?",
            [str(replace(way, day=follows)), str(way)],
        )
        self.one.fates.set(row, Fate.WAITING, "waits for the answer to its day")
        return True

    def _follows(self, clock: str) -> Stamp | None:
        """The moment at which the clock showed that time after the line above, not later than now; or on its day."""
        if self.before is None:
            return None
        day = self.before.day
        same = self._understood(f"{day.isoformat()} {clock}")
        if same.instant < self.before.instant:
            later = self._understood(f"{(day + timedelta(days=1)).isoformat()} {clock}")
            same = later if later.instant <= self.context.now else same
        return same if same.instant <= self.context.now else None

    @staticmethod
    def _past_midnight(last: tuple[date, str], now: tuple[date, str]) -> bool:
        """Whether the clock falls back by more than half a day under one date."""
        hours = [int(clock[:2]) for _, clock in (last, now)]
        return last[0] == now[0] and hours[0] - hours[1] > 12

    def _understood(self, text: str) -> Stamp:
        found = understand_time(text, self.context.now, self.zones)
        if found.said:
            self.made.collected.assumed.append(found.said)
        return found.stamp

    def _which_day(self) -> None:
        """Bare times of day that run on as on one day, but of which some would lie before others: asked."""
        if self.said_day is not None or len(self.loose) < 2:
            return
        clocks = [way.clock for _, way, _ in self.loose]
        instants = [stamp.instant for _, _, stamp in self.loose]
        if clocks == sorted(clocks) and instants != sorted(instants):
            self.made.asked.append(
                Asked(
                    "which-day",
                    f"{len(self.loose)} lines name no day, and their times run on as on one day that is not over yet. Which day is it?",
                    ((self.today - timedelta(days=1)).isoformat(), self.today.isoformat()),
                    "day=DATE",
                )
            )

    def _timeless(self, row: int, way: Jotting) -> None:
        """A value without a time: the one stick of that day (or of the last 24 h) with that value, or it waits."""
        text, line = self.one.section.columns[0][row], self.one.section.lines[row]
        if way.value is None:
            self.one.fates.set(row, Fate.SET_ASIDE, f"'{text[:60]}' has no time and no value")
            return
        glucose = self._glucose(way, row)
        if glucose is None:
            return
        day = way.day or self.under or self.said_day
        now = self.context.now
        held = [
            stick
            for stick in self.trial.sticks
            if agrees(stick.glucose, glucose)
            and (stick.at.day == day if day else now - _LATE <= stick.at.instant <= now)
        ]
        if len(held) == 1:
            self._stick(row, replace(way, told=held[0].at.text), held[0].at)
        elif held:
            self._ask(
                line,
                f"Line {line}, '{text[:60]}', has no time, and {len(held)} sticks have its value.",
                [str(replace(way, day=stick.at.day, clock=f"{stick.at.wall:%H:%M}")) for stick in held],
            )
            self.one.fates.set(row, Fate.WAITING, "waits for the answer to which stick it is")
        else:
            self.one.fates.set(
                row,
                Fate.WAITING,
                f"'{text[:80]}' has no time: it waits for the meter's file; take it in again after that",
            )

    def _glucose(self, way: Jotting, row: int) -> Glucose | None:
        """The value in the unit written, said, or the only one it can be in; a fate is given where there is none."""
        assert way.value is not None
        unit = way.unit or self.context.settings.unit or self._unit(way)
        line = self.one.section.lines[row]
        if unit is None:
            self.made.asked.append(
                Asked(
                    "unit",
                    f"'{way}' in line {line} fits both units. Which is it?",
                    tuple(map(str, Unit)),
                    "unit=UNIT",
                )
            )
            self.one.fates.set(row, Fate.WAITING, "waits for the answer to its unit")
            return None
        text = re.sub(r"[^\d.,<>≤≥=]+$", "", way.value.text) or way.value.text
        if way.value.value is None:
            side = 1 if way.value.beyond is Beyond.LOW else 2
            said = self.context.settings.get("low" if side == 1 else "high")
            from evenhand.intake.numerals import read

            told = read(said) if said else None
            limit = told.value if told and told.value is not None else METER_USUAL[UNITS.index(unit), side]
            return Glucose(limit, unit, text, way.value.beyond)
        least, most = PLAUSIBLE[unit]
        if not least <= way.value.value <= most:
            self.one.fates.set(row, Fate.SET_ASIDE, f"'{way.value.text}' cannot be a value in {unit}")
            return None
        return Glucose(way.value.value, unit, text, way.value.beyond)

    def _unit(self, way: Jotting) -> Unit | None:
        """The only unit a value without one can be in; where it fits both, that of all other lines, else the wearer's."""
        assert way.value is not None
        value = way.value.value
        small, large = any(one < SMALL for one in self.known), any(one > LARGE for one in self.known)
        if value is not None and value < SMALL:
            return Unit.MMOL_L
        if value is not None and value > LARGE:
            return Unit.MG_DL
        if small and large:
            return None if value is not None else self.trial.header.unit
        if small or large:
            return Unit.MMOL_L if small else Unit.MG_DL
        return self.trial.header.unit

    def _stick(self, row: int, way: Jotting, when: Stamp) -> None:
        glucose = self._glucose(way, row)
        if glucose is None:
            return
        told = understood(way.rest)
        line = self.one.section.lines[row]
        if self._two_values(line, way):
            self.one.fates.set(row, Fate.WAITING, "waits for the answer to its value")
            return
        if len(told.reasons) > 1:
            self._ask(
                line,
                f"Line {line} gives more than one reason: {', '.join(told.reasons)}. Which one is it?",
                [
                    str(replace(way, rest=", ".join((reason, told.left(reason))).strip(", ")))
                    for reason in told.reasons
                ],
            )
            self.one.fates.set(row, Fate.WAITING, "waits for the answer to its reason")
            return
        reason = told.reasons[0] if told.reasons else Reason.UNKNOWN
        self.made.collected.drafts.append(self._draft(row, glucose, when, reason, told))

    def _two_values(self, line: int, way: Jotting) -> bool:
        """Whether a line holds more than one number that may be its value; then it is asked, once."""
        if self.context.settings.about("line", str(line)) is not None:
            return False
        others = jotted.second_values(way)
        if others:
            first = replace(way, rest=others[0][1])
            more = [
                replace(way, value=number, unit=None, rest=rest)
                for text, rest in others
                if (number := numerals.read(text)) is not None
            ]
            self._ask(
                line,
                f"Line {line}, '{way}', holds more than one number that may be its value. Which is it?",
                [str(one) for one in (first, *more)],
            )
        return bool(others)

    def _draft(self, row: int, glucose: Glucose, when: Stamp, reason: Reason, told: Remarks) -> Draft:
        early = not any(
            len(held) and int(held.instant[0]) <= when.instant <= int(held.instant[-1])
            for held in self.trial.readings.values()
        )
        into = named_in(told.text, self.names) if reason is Reason.CALIBRATION else None
        return Draft(
            0, row, None, self.one.section.lines[row], when, glucose, reason, bool(told.reasons),
            tuple(Mark(kind, early) for kind in told.marks), None, None if into == METER else into, False,
            told.repeat and reason is not Reason.CALIBRATION, None, (), told.text if told.more else "",
        )  # fmt: skip

    def _entry(self, row: int, way: Jotting, when: Stamp) -> None:
        """A time with words and no value: a diary entry."""
        if not way.rest:
            self.one.fates.set(row, Fate.SET_ASIDE, f"'{way.told}' has no value and no words")
            return
        kind = words.KIND_WORDS.get(words.fold(way.rest.split(",")[0].split(" ")[0]))
        sensor = named_in(way.rest, self.names)
        try:
            event = Event(
                next(self.context.ids), _EVENTS.get(kind, EventKind.OTHER) if kind else EventKind.OTHER, when,
                self.context.now, None, way.rest, None if sensor == METER else sensor,
            )  # fmt: skip
        except EvenhandError as error:
            self.one.fates.set(row, Fate.SET_ASIDE, error.found)
            return
        self.made.collected.events.append((0, row, event))
