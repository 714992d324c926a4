"""The declaration's canonical text: what declaring freezes, the same on every machine, and its fingerprint.

One fact a line, in a fixed order, numbers and times in one form, no word of the machine it is made on. What is not
declared is named as such, so that nothing can be added later without changing the fingerprint. Whether a must-have is
met is not part of it: that is learnt, not declared.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from evenhand.clock import Stamp
from evenhand.records.plan import Plan
from evenhand.records.question import Declared, Driving, Question
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.units import Glucose

FORM = 1
"""The form of the text; raised when the same declaration would be written otherwise."""


def fingerprint(text: str) -> str:
    """SHA-256, in hex, of a declaration's text; line ends, a byte order mark and blank lines at its ends do not count.

    >>> fingerprint("a\\n") == fingerprint("\\ufeffa\\r\\n\\r\\n")
    True
    """
    import hashlib  # 5 ms that the path of `stick` does without

    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").strip("\n") + "\n"
    return hashlib.sha256(plain.encode("utf-8")).hexdigest()


def canonical(trial: Trial, declared: Declared) -> str:
    """The whole text; `declared` says when, on which day, after how many sticks and under which METHOD."""
    return "".join(f"{line}\n" for line in _lines(trial, declared))


def departures(trial: Trial) -> tuple[tuple[str, str], ...]:
    """What would be declared otherwise today: (line as declared, line as it would be); '' where there is none."""
    declared = trial.question.declared
    if declared is None or not declared.text:
        return ()
    then, today = declared.text.splitlines(), canonical(trial, declared).splitlines()
    gone, come = [one for one in then if one not in today], [one for one in today if one not in then]
    pairs = []
    for line in gone:
        label = _label(line)
        other = next((one for one in come if _label(one) == label), "")
        if other:
            come.remove(other)
        pairs.append((line, other))
    return (*pairs, *(("", line) for line in come))


def _label(line: str) -> str:
    return line.partition(": ")[0]


def _lines(trial: Trial, declared: Declared) -> Iterator[str]:
    question = trial.question
    yield f"Evenhand declaration, form {FORM}"
    yield f"trial: {_clean(trial.header.name)}"
    yield f"zone: {trial.header.zone}"
    yield f"unit: {trial.header.unit}"
    yield f"declared: {declared.at.iso}, day {declared.day}, after {declared.sticks_before} sticks"
    yield f"method: {declared.method}"
    for sensor in trial.sensors:
        yield from _sensor(sensor, question)
    yield f"meter: {_clean(trial.header.meter)}"
    yield f"strip lots: {_list(question.strip_lots)}"
    yield from _asked(trial)
    yield from _treatment(trial)
    yield from _plan(trial)


def _sensor(sensor: Sensor, question: Question) -> Iterator[str]:
    known = next((one for one in question.known if one.sensor == sensor.id), None)
    yield f"sensor {sensor.place + 1}: {_clean(sensor.name)}"
    facts = (
        ("version", known.version if known else None),
        ("lots", _list(known.lots) if known and known.lots else None),
        ("interval", _seconds(sensor.interval)),
        ("warm-up", _seconds(sensor.warm_up)),
        ("rated life", _seconds(sensor.life)),
        ("grace", _seconds(sensor.grace)),
        ("life counts from", sensor.counts_from),
        ("low limit", _glucose(sensor.low)),
        ("high limit", _glucose(sensor.high)),
    )
    for label, value in facts:
        yield f"sensor {sensor.place + 1} {label}: {_or_not(value)}"


def _asked(trial: Trial) -> Iterator[str]:
    question = trial.question
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    ids = question.pair or (tuple(names)[:2] if len(names) == 2 else ())
    pair = " minus ".join(_clean(names[one]) for one in ids) if ids else "every pair"
    yield f"question: mean absolute difference from the sticks, {pair}"
    yield f"pairs: {question.pairs}"
    yield "sticks that judge: plan, habit"
    yield f"stream: {question.stream}"
    yield f"tolerance: {question.tolerance}/{question.tolerance}"
    yield f"margin: {_number(question.margin)} mg/dL"
    yield f"looks: {question.looks}"
    yield f"end: {_end(question)}"
    yield f"waking hours: {_hours((question.waking,)) if question.waking else '07:00-23:00 (not said)'}"
    yield f"quiet hours: {_hours(question.quiet_hours)}"


def _treatment(trial: Trial) -> Iterator[str]:
    question = trial.question
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    yield f"calibrations: {_or_not(question.policy)}"
    driver = question.driver
    told = None if driver is None else "no sensor" if driver.by is Driving.NOBODY else str(driver.by)
    on = f" by {_clean(names.get(driver.sensor, driver.sensor))}" if driver and driver.sensor else ""
    yield f"insulin is driven: {_or_not(told)}{on}"
    yield "failures: every sensor opened counts; a replacement is a new wear; replaced ones are named"
    alarm = question.alarm
    high = "none" if alarm.high is None else f"{_number(alarm.high)} mg/dL"
    yield f"alarm rehearsed: low {_number(alarm.low)} mg/dL, high {high}, delay {alarm.delay} s, silence {alarm.silence} s"
    for must in sorted(question.must_haves, key=lambda one: (one.sensor, one.text)):
        yield f"must-have: {_clean(names.get(must.sensor, must.sensor))}: {_clean(must.text)}"


def _plan(trial: Trial) -> Iterator[str]:
    plan: Plan = trial.plan
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    wanted = plan.wanted
    yield f"planned sticks a day: {wanted.sticks}"
    yield f"planned repeats: {wanted.repeats}"
    if plan.drawn is None:
        yield f"planned start: {_stamp(wanted.start)}"
        yield "drawn plan: none"
        return
    drawn = plan.drawn
    yield f"drawn plan: seed {drawn.seed}, number {drawn.number}, at {drawn.at.iso}"
    for wear in drawn.wears:
        yield (
            f"wear {wear.number} of {_clean(names.get(wear.sensor, wear.sensor))}: {wear.side}, inserted {_stamp(wear.inserted)}, "
            f"started {_stamp(wear.started)}, removed {_stamp(wear.removed)}, lot {_or_not(wear.lot)}"
        )
    twice = set(drawn.repeats)
    for minute in drawn.minutes:
        yield f"stick: {_stamp(trial.zones.stamp(minute))}{', twice' if minute in twice else ''}"


def _clean(text: str) -> str:
    """Text on one line, in one form of its letters.

    >>> _clean(" two\\n words ") == "two words"
    True
    """
    return " ".join(unicodedata.normalize("NFC", text).split())


def _or_not(value: str | None) -> str:
    return _clean(value) if value else "not said"


def _number(value: float) -> str:
    """A number in one form: at most ten digits, none that say nothing.

    >>> _number(3.0), _number(3.60312)
    ('3', '3.60312')
    """
    return f"{value:.10g}"


def _seconds(seconds: int | None) -> str | None:
    return None if seconds is None else f"{seconds} s"


def _glucose(glucose: Glucose | None) -> str | None:
    return None if glucose is None else f"{_number(glucose.value)} {glucose.unit}"


def _list(parts: tuple[str, ...]) -> str:
    return ", ".join(sorted(_clean(part) for part in parts)) or "not said"


def _stamp(stamp: Stamp | None) -> str:
    return "not said" if stamp is None else stamp.iso


def _hours(spans: tuple[tuple[int, int], ...]) -> str:
    told = (f"{a // 60:02d}:{a % 60:02d}-{b // 60:02d}:{b % 60:02d}" for a, b in spans)
    return ", ".join(told) or "none"


def _end(question: Question) -> str:
    if question.end is not None:
        return question.end.iso
    return "not said" if question.end_wears is None else f"{question.end_wears} ended wears of every sensor"
