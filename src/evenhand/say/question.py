"""The question in plain words: what is asked, what was answered, and what holds where nothing was."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.records.question import Driver, Driving, Policy, Question
from evenhand.records.trial import Trial
from evenhand.say.dates import moment
from evenhand.say.numbers import counted, glucose, listed, margin
from evenhand.units import Unit, rounded


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that is asked: its key, the question, how an answer looks, and what holds without one."""

    key: str
    text: str
    example: str
    default: str


def asked(unit: Unit) -> tuple[Asked, ...]:
    """What is asked, in order, the most important first; examples in the wearer's unit."""
    small = "3" if unit is Unit.MG_DL else "0.2"
    return (
        Asked(
            "tolerance",
            f"How far off would a sensor have to be to change what you do? (tolerance) {_tolerances(unit)}",
            "20",
            "20",
        ),
        Asked(
            "margin",
            f"What difference in average error would make you switch sensors? (margin) In {unit}.",
            small,
            f"{margin(3.0, unit)}, the default",
        ),
        Asked(
            "must",
            "What must a sensor have, whatever the numbers say? It ends a choice by itself. One thing at a time, for one "
            "sensor ('Fern: works with my pump') or for all ('reads on my watch').",
            "reads on my watch",
            "nothing",
        ),
        Asked(
            "driver",
            "What drives your insulin: a pump that reads a sensor, you by a sensor, or fingersticks alone?",
            "'pump NAME', 'me NAME', 'me', or nobody",
            "not said",
        ),
        Asked(
            "policy",
            "Will you type fingersticks into a sensor to calibrate it? none: not during the trial; maker: only as its "
            "maker says; free: as you see fit.",
            "none",
            "not said",
        ),
        Asked("waking", "From when to when are you up? Sticks are planned, and judged, in these hours.", "07:00-23:00", "07:00-23:00"),
        Asked(
            "quiet",
            "In which of these hours shall nothing ring: driving, work, prayers, a nap? Several with commas.",
            "08:00-08:30, 17:00-17:45",
            "none",
        ),
        Asked("strips", "How many strips can you spend on this trial, all in all?", "150", "not said"),
        Asked("strip_price", "What does one strip cost you?", "0.60", "not said"),
        Asked("money", "What can the whole trial cost you, in your money?", "200", "not said"),
        Asked("strip_lots", "Which lot are the strips of? One lot for the whole trial is best.", "L2207", "not said"),
        Asked(
            "end",
            "When does the trial end? The answer stays sealed until then, so that nobody stops when it looks good. A date, or "
            "so many wears of each sensor.",
            "2026-04-04, or '2 wears'",
            "the end of the plan, once one is drawn",
        ),
        Asked(
            "looks",
            "How often shall the answer be looked at, the end included? More than once is paid for with wider intervals.",
            "1",
            "1",
        ),
    )  # fmt: skip


def _tolerances(unit: Unit) -> str:
    if unit is Unit.MG_DL:
        return "15, 20, 30 or 40: so many mg/dL below 100, so many percent from there up."
    return "15, 20, 30 or 40 stand for 0.8, 1.1, 1.7 or 2.2 mmol/L below 5.6, and for so many percent from there up."


def answers(trial: Trial) -> tuple[tuple[str, str], ...]:
    """The question as it stands: label and answer; what was not answered is marked as the default."""
    question, unit = trial.question, trial.header.unit
    given = set(question.answered) if question.declared is None else None

    def told(text: str, *keys: str) -> str:
        return text if given is None or given & set(keys) else f"{text} (default)"

    rows = [
        ("sensors", listed(sensor.name for sensor in trial.sensors) if trial.sensors else "none"),
        ("close enough (tolerance)", told(f"within {question.tolerance}/{question.tolerance}", "tolerance")),
        ("would make you switch (margin)", told(margin(question.margin, unit), "margin")),
        (
            "judged at",
            told("steady sticks" if question.pairs == "steady" else "all sticks, moving ones too", "pairs"),
        ),
        ("must-haves", _musts(trial)),
        ("drives the insulin", _driver(trial, question.driver)),
        ("calibrations", _POLICY[question.policy]),
        ("waking hours", told(span(question.waking or (420, 1380)), "waking")),
        (
            "quiet hours",
            listed(span(one) for one in question.quiet_hours)
            if question.quiet_hours
            else told("none", "quiet"),
        ),
        ("strips", _spend(question)),
        ("the end", _end(question)),
        ("looks at the answer", told(str(question.looks), "looks")),
        (
            "alarm rehearsed",
            told(_alarm(question, unit), "alarm_low", "alarm_high", "alarm_delay", "alarm_silence"),
        ),
    ]
    return tuple(rows)


_POLICY = {
    None: "not said",
    Policy.NONE: "none during the trial",
    Policy.MAKER: "as the maker says",
    Policy.FREE: "as you see fit",
}


def span(minutes: tuple[int, int]) -> str:
    """A stretch of the day.

    >>> span((420, 1380))
    '07:00 to 23:00'
    """
    return " to ".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in minutes)


def _musts(trial: Trial) -> str:
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    words = {True: "met", False: "NOT met", None: "not known yet"}
    told = [
        f"{names.get(one.sensor, one.sensor)}: {one.text} ({words[one.met]})"
        for one in trial.question.must_haves
    ]
    return "; ".join(told) or "none said"


def _driver(trial: Trial, driver: Driver | None) -> str:
    if driver is None:
        return "not said"
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    on = f" by {names.get(driver.sensor, driver.sensor)}" if driver.sensor else ""
    return {
        Driving.NOBODY: "no sensor: you dose by fingersticks",
        Driving.WEARER: f"you{on or ', by more than one sensor'}",
        Driving.PUMP: f"a pump{on}",
    }[driver.by]


def _spend(question: Question) -> str:
    parts = [counted(question.strips, "strip") if question.strips is not None else "number not said"]
    parts += [f"{rounded(question.strip_price, 2)} each"] if question.strip_price is not None else []
    parts += [f"at most {rounded(question.money, 2)} in all"] if question.money is not None else []
    parts += (
        [f"{'lot' if len(question.strip_lots) == 1 else 'lots'} {listed(question.strip_lots)}"]
        if question.strip_lots
        else []
    )
    return ", ".join(parts)


def _end(question: Question) -> str:
    if question.end is not None:
        return moment(question.end.iso, year=True)
    if question.end_wears is not None:
        return f"when {counted(question.end_wears, 'wear')} of each sensor are done"
    return "not said: the trial cannot be declared without one"


def _alarm(question: Question, unit: Unit) -> str:
    alarm = question.alarm
    low = "70 mg/dL" if unit is Unit.MG_DL else "3.9 mmol/L"
    told = f"low {low if alarm.low == 70 else glucose(alarm.low, unit)}"
    told += f", high {glucose(alarm.high, unit)}" if alarm.high is not None else ", none for highs"
    told += f", after {alarm.delay // 60} min" if alarm.delay else ", at once"
    return f"{told}, then silent for {alarm.silence // 60} min"


def driver_warning(trial: Trial) -> str | None:
    """What must be said where something acts on a sensor; None where nothing does."""
    driver = trial.question.driver
    if driver is None or driver.by is Driving.NOBODY:
        return None
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    if driver.by is Driving.PUMP:
        name = names.get(driver.sensor or "", "the sensor")
        return (
            f"A pump acts on {name}. Do not swap it, move it or take it off for this trial without your care team. Its slow "
            "errors come out in your blood the other way; every judgement says so."
        )
    return (
        "You dose by a sensor: its slow errors come out in your blood the other way. A fingerstick decides when symptoms and "
        "sensor disagree."
    )


PROOF = (
    "A date in a file on your own computer proves nothing to others. Publish the fingerprint, or the text, where its date can "
    "be seen, before the first insertion."
)
