"""The question as people answer it: 'margin=0.2 mmol/L', 'quiet=13:00-15:00', 'must=Fern: reads on my watch'."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from evenhand.clock import MINUTE
from evenhand.desk.settings import KEYS as SENSOR_KEYS
from evenhand.desk.settings import parse_duration, with_settings
from evenhand.errors import BadTime, BadValue, EvenhandError, UnknownName, raise_all
from evenhand.records.question import Driver, Driving, Known, MustHave, PairsAsked, Policy, Question, Stream
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.units import Unit, parse_glucose, parse_unit, to_mg_dl

ABOUT_SENSOR = ("version", "lots")
KEYS = (
    "tolerance", "margin", "pairs", "pair", "must", "met", "driver", "policy", "stream", "waking", "quiet", "looks", "end",
    "strips", "strip_price", "money", "strip_lots", "alarm_low", "alarm_high", "alarm_delay", "alarm_silence",
)  # fmt: skip
"""What `declare --set` knows of the question; of a sensor, NAME.version, NAME.lots and all that `new --set` knows."""

LEARNT = frozenset(("met",))
"""Keys that are learnt rather than declared: they can be told at any time."""

_HOURS = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?\s*(?:-|–|to)\s*(\d{1,2})(?:[:.h](\d{2}))?", re.ASCII)
_WEARS = re.compile(r"(\d{1,2})\s*wears?(?:\s+(?:each|of each))?", re.IGNORECASE | re.ASCII)
_AMOUNT = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z]+(?:/[a-z]+)?)?", re.IGNORECASE | re.ASCII)
_YES = {"yes": True, "no": False, "unknown": None, "not known": None}
LEAST_MARGIN, MOST_MARGIN = 0.5, 40.0
"""mg/dL: a margin outside is a slip, or in the other unit (this project's choice)."""


@dataclass(frozen=True, slots=True)
class Answered:
    """The question and the sensors with the answers in; `keys` are those that were answered now, in order."""

    question: Question
    sensors: tuple[Sensor, ...]
    keys: tuple[str, ...]


def with_answers(trial: Trial, settings: Iterable[str]) -> Answered:
    """The trial's question with settings of the form KEY=VALUE; every problem at once."""
    question, sensors = trial.question, trial.sensors
    problems: list[EvenhandError] = []
    answered: list[str] = []
    for setting in settings:
        try:
            key, value = _split(setting)
            name, dot, inner = key.rpartition(".")
            if dot and inner in SENSOR_KEYS:
                sensors = with_settings(sensors, [setting], trial.header.unit)
            elif dot:
                question = _about_sensor(question, trial.sensor(name), inner, value)
            else:
                question = _answer(question, trial, key, value)
            answered.append(key)
        except EvenhandError as problem:
            problems.append(problem)
    raise_all(problems)
    keys = tuple(dict.fromkeys(answered))
    question = replace(question, answered=tuple(dict.fromkeys((*question.answered, *keys))))
    return Answered(question, sensors, keys)


def _split(setting: str) -> tuple[str, str]:
    key, equals, value = setting.partition("=")
    if not equals or not key.strip() or not value.strip():
        raise BadValue(
            f"'{setting}' is not an answer.", "Write KEY=VALUE, for example margin=3 or quiet=13:00-15:00."
        )
    return key.strip(), value.strip()


def _answer(question: Question, trial: Trial, key: str, value: str) -> Question:
    reads = _READS.get(key)
    if reads is None:
        raise UnknownName(f"'{key}' is not a key.", f"The keys are: {', '.join(KEYS)}.")
    return replace(question, **reads(question, trial, value))


def _about_sensor(question: Question, sensor: Sensor, key: str, value: str) -> Question:
    if key not in ABOUT_SENSOR:
        told = ", ".join((*ABOUT_SENSOR, *SENSOR_KEYS))
        raise UnknownName(f"'{key}' is not known of a sensor.", f"The keys are: {told}.")
    old = next((one for one in question.known if one.sensor == sensor.id), Known(sensor.id))
    new = replace(old, version=value) if key == "version" else replace(old, lots=_parts(value))
    return replace(question, known=(*(one for one in question.known if one.sensor != sensor.id), new))


Fields = dict[str, Any]


def _tolerance(_question: Question, _trial: Trial, value: str) -> Fields:
    size = value.removesuffix("%").partition("/")[0].strip()
    if size not in ("15", "20", "30", "40"):
        raise BadValue(f"A tolerance of '{value}' is not one of 15, 20, 30, 40.", "Choose one of them.")
    return {"tolerance": int(size)}


def _margin(_question: Question, trial: Trial, value: str) -> Fields:
    match = _AMOUNT.fullmatch(value)
    if match is None:
        raise BadValue(
            f"'{value}' is not a difference.", "Write a number, for example 3 mg/dL or 0.2 mmol/L."
        )
    unit = parse_unit(match[2]) if match[2] else trial.header.unit
    size = to_mg_dl(float(match[1].replace(",", ".")), unit)
    if not LEAST_MARGIN <= size <= MOST_MARGIN:
        other = Unit.MMOL_L if unit is Unit.MG_DL else Unit.MG_DL
        raise BadValue(
            f"A margin of {match[1]} {unit} can hardly be meant.",
            f"It is the difference in average error that would make you switch, often 2 to 5 mg/dL (0.1 to 0.3 mmol/L). If it is in {other}, write '{match[1]} {other}'.",
        )
    return {"margin": size}


def _member(kind: Any, name: str) -> Callable[[Question, Trial, str], Fields]:  # noqa: ANN401
    def read(_question: Question, _trial: Trial, value: str) -> Fields:
        words = {str(one): one for one in kind} | ({"maker": Policy.MAKER} if kind is Policy else {})
        if value.lower() not in words:
            raise BadValue(f"{name}: '{value}' is not possible.", f"Choose one of {', '.join(words)}.")
        return {name: words[value.lower()]}

    return read


def _pair(_question: Question, trial: Trial, value: str) -> Fields:
    names = [part.strip() for part in re.split(r",| and | minus ", value) if part.strip()]
    if len(names) != 2 or trial.sensor(names[0]).id == trial.sensor(names[1]).id:
        raise BadValue(f"'{value}' is not a pair of sensors.", "Name two, for example pair='Fern, Slate'.")
    return {"pair": (trial.sensor(names[0]).id, trial.sensor(names[1]).id)}


def _must(question: Question, trial: Trial, value: str) -> Fields:
    if value.lower() == "none":
        return {"must_haves": ()}
    sensors, text = _whose(trial, value)
    fresh = [MustHave(sensor.id, text) for sensor in sensors]
    told = {(one.sensor, one.text) for one in fresh}
    kept = [one for one in question.must_haves if (one.sensor, one.text) not in told]
    return {"must_haves": (*kept, *fresh)}


def _met(question: Question, trial: Trial, value: str) -> Fields:
    left, _, word = value.rpartition("=")
    if word.strip().lower() not in _YES or not left.strip():
        raise BadValue(
            f"'{value}' does not say whether a must-have is met.",
            "Write for example met='Fern: reads on my watch=yes' (or no, or unknown).",
        )
    sensors, text = _whose(trial, left.strip())
    ids = {sensor.id for sensor in sensors}
    found = [
        one for one in question.must_haves if one.sensor in ids and one.text.casefold() == text.casefold()
    ]
    if not found:
        told = "; ".join(dict.fromkeys(one.text for one in question.must_haves)) or "none yet"
        raise UnknownName(f"'{text}' is not a must-have of this trial.", f"They are: {told}.")
    met = _YES[word.strip().lower()]
    return {
        "must_haves": tuple(replace(one, met=met) if one in found else one for one in question.must_haves)
    }


def _whose(trial: Trial, value: str) -> tuple[tuple[Sensor, ...], str]:
    """The sensors a must-have is asked of, and its text; all where none is named."""
    name, colon, text = value.partition(":")
    named = [one for one in trial.sensors if one.name.casefold() == name.strip().casefold()]
    if colon and (named or name.strip().lower() in ("all", "both", "each")):
        if not text.strip():
            raise BadValue(
                f"'{value}' does not say what must be.", "Write for example 'Fern: reads on my watch'."
            )
        return (tuple(named) or trial.sensors, " ".join(text.split()))
    return trial.sensors, " ".join(value.split())


def _driver(_question: Question, trial: Trial, value: str) -> Fields:
    first, _, rest = value.strip().partition(" ")
    words = {"pump": Driving.PUMP, "me": Driving.WEARER, "wearer": Driving.WEARER, "i": Driving.WEARER}
    if value.strip().lower() in ("nobody", "none", "no sensor", "fingersticks", "no"):
        return {"driver": Driver(Driving.NOBODY)}
    if first.lower() not in words:
        raise BadValue(
            f"'{value}' does not say what drives the insulin.",
            "Write 'pump NAME', 'me NAME', 'me' (on more than one), or nobody (you dose by fingersticks).",
        )
    return {"driver": Driver(words[first.lower()], trial.sensor(rest).id if rest.strip() else None)}


def span_of(text: str) -> tuple[int, int]:
    """A stretch of the day, minutes of the day.

    >>> span_of("7-23"), span_of("13:00 to 15:30")
    ((420, 1380), (780, 930))
    """
    match = _HOURS.fullmatch(text.strip())
    if match is None:
        raise BadTime(f"'{text}' is not a stretch of the day.", "Write for example 07:00-23:00.")
    start, end = (int(match[place]) * 60 + int(match[place + 1] or 0) for place in (1, 3))
    if (
        not (0 <= start < 1440 and 0 < end <= 1440)
        or start == end
        or (match[2] or "0") >= "60"
        or (match[4] or "0") >= "60"
    ):
        raise BadTime(f"'{text}' is not a stretch of the day.", "Write for example 07:00-23:00.")
    return start, end % 1440


def _waking(_question: Question, _trial: Trial, value: str) -> Fields:
    start, end = span_of(value)
    if (end - start) % 1440 < 360:
        raise BadTime(f"'{value}' is less than six waking hours.", "Write from waking up to going to bed.")
    return {"waking": (start, end)}


def _quiet(_question: Question, _trial: Trial, value: str) -> Fields:
    if value.lower() == "none":
        return {"quiet": None, "also_quiet": ()}
    spans = [span_of(part) for part in _parts(value)]
    return {"quiet": spans[0], "also_quiet": tuple(spans[1:])}


def _end(_question: Question, trial: Trial, value: str) -> Fields:
    match = _WEARS.fullmatch(value)
    if match:
        return {"end": None, "end_wears": int(match[1])}
    moment = _moment(value)
    there = trial.zones.possible(moment)
    if not there:
        raise BadTime(f"'{value}' does not exist there: the clock was put forward.", "Write another time.")
    return {"end": trial.zones.stamp(there[0], value), "end_wears": None}


def _moment(value: str) -> datetime:
    """A date, meaning its end, or a date with a time; also in the future."""
    cure = "Write a date, 2026-04-04 or 2026-04-04 20:00, or so many wears of each sensor: '2 wears'."
    try:
        if len(value) <= len("2026-04-04"):
            return datetime.combine(date.fromisoformat(value) + timedelta(days=1), time())
        found = datetime.fromisoformat(value.replace(" ", "T", 1))
    except (ValueError, OverflowError):
        raise BadTime(f"'{value}' is not an end.", cure) from None
    if found.tzinfo is not None:
        raise BadTime(f"'{value}' has a zone of its own.", "Leave the offset out; the trial's zone is meant.")
    return found


def _count(name: str) -> Callable[[Question, Trial, str], Fields]:
    def read(_question: Question, _trial: Trial, value: str) -> Fields:
        if not re.fullmatch(r"\d{1,6}", value, re.ASCII):
            raise BadValue(f"{name}: '{value}' is not a whole number.", "Write for example 150.")
        return {name: int(value)}

    return read


def _price(name: str) -> Callable[[Question, Trial, str], Fields]:
    def read(_question: Question, _trial: Trial, value: str) -> Fields:
        if not re.fullmatch(r"\d{1,9}(?:[.,]\d{1,4})?", value, re.ASCII):
            raise BadValue(
                f"{name}: '{value}' is not an amount.", "Write the number alone, for example 0.60."
            )
        return {name: float(value.replace(",", "."))}

    return read


def _alarm(name: str) -> Callable[[Question, Trial, str], Fields]:
    def read(question: Question, trial: Trial, value: str) -> Fields:
        if name in ("delay", "silence"):
            told: int | float | None = parse_duration(value)
        elif value.lower() == "none" and name == "high":
            told = None
        else:
            told = parse_glucose(value, trial.header.unit).mg_dl
        if told is not None and (
            (name == "low" and not 50 <= told <= 120) or (name == "high" and not 120 <= told <= 400)
        ):
            raise BadValue(
                f"An alarm for {name}s at {value} can hardly be meant.", "Check the number and its unit."
            )
        fresh: Fields = {name: told}
        return {"alarm": replace(question.alarm, **fresh)}

    return read


def _lots(_question: Question, _trial: Trial, value: str) -> Fields:
    return {"strip_lots": _parts(value)}


def _parts(value: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part.strip() for part in value.split(",") if part.strip()))


_READS: dict[str, Callable[[Question, Trial, str], Fields]] = {
    "tolerance": _tolerance, "margin": _margin, "pairs": _member(PairsAsked, "pairs"), "pair": _pair, "must": _must,
    "met": _met, "driver": _driver, "policy": _member(Policy, "policy"), "stream": _member(Stream, "stream"),
    "waking": _waking, "quiet": _quiet, "looks": _count("looks"), "end": _end, "strips": _count("strips"),
    "strip_price": _price("strip_price"), "money": _price("money"), "strip_lots": _lots, "alarm_low": _alarm("low"),
    "alarm_high": _alarm("high"), "alarm_delay": _alarm("delay"), "alarm_silence": _alarm("silence"),
}  # fmt: skip


def default_end(trial: Trial) -> Question:
    """The question with the end of the drawn plan as its end, where none is said and a plan is drawn."""
    question, drawn = trial.question, trial.plan.drawn
    if question.end is not None or question.end_wears is not None or drawn is None or not drawn.wears:
        return question
    end = drawn.end.instant + MINUTE - drawn.end.instant % MINUTE
    return replace(question, end=trial.zones.stamp(end))
