"""The seal: until the declared end a judgement shows data, cautions and safety, not who is ahead."""

from __future__ import annotations

from enum import StrEnum

from msgspec.structs import replace

from evenhand.compare.shapes import Layout
from evenhand.compare.wears import last_known
from evenhand.findings.cautions import caution, in_order
from evenhand.findings.findings import Findings
from evenhand.findings.parts import SensorFindings
from evenhand.judge.looks import showing
from evenhand.records.trial import Trial


class Seal(StrEnum):
    """How far a judgement is open."""

    OPEN = "open"
    CLOSED = "closed"
    LOOK = "look"


def seal_of(trial: Trial, layout: Layout, now: int | None) -> Seal:
    """The seal of a trial: closed where it is declared with an end that is not reached; open for the answer alone on
    the day of a declared look; open where it is undeclared, without an end, at its end, ended at a look, or broken.

    `now` (an instant) is when it is judged; without it the last reading or stick stands for it. An end by wears is
    reached when every sensor has so many ended wears.
    """
    question = trial.question
    if question.declared is None or (question.end is None and question.end_wears is None):
        return Seal.OPEN
    if any(opening.look is None or opening.ended for opening in trial.openings):
        return Seal.OPEN
    known = last_known(trial) if now is None else now
    if reached(trial, layout, known):
        return Seal.OPEN
    return Seal.LOOK if known is not None and showing(trial.openings, known) else Seal.CLOSED


def is_sealed(trial: Trial, layout: Layout, now: int | None) -> bool:
    """Whether the seal is closed."""
    return seal_of(trial, layout, now) is Seal.CLOSED


def reached(trial: Trial, layout: Layout, known: int | None) -> bool:
    """Whether the declared end is reached at the instant `known`."""
    if trial.question.end is not None:
        return known is not None and known >= trial.question.end.instant
    return end_of(trial, layout) is not None


def end_of(trial: Trial, layout: Layout) -> int | None:
    """The instant of the declared end; None where none is declared, or an end by wears is not reached."""
    question = trial.question
    if question.end is not None:
        return question.end.instant
    if question.end_wears is None:
        return None
    ends = [
        sorted(worn.end for worn in layout.worn if worn.sensor == place and worn.ended)
        for place in range(len(trial.sensors))
    ]
    if any(len(one) < question.end_wears for one in ends):
        return None
    return max((one[question.end_wears - 1] for one in ends), default=None)


TELLING = frozenset(
    {
        "prompted-disagree",
        "marked-change-answer",
        "meter-span-narrow",
        "signs-differ-all-steady",
        "signs-differ-mean-square",
        "uncalibrated-differs",
        "identical-kinds",
        "negative-variance",
        "no-equal-meter",
        "strays-from-sticks",
        "shown-differs",
        "exploratory-looks",
        "next-priors",
        "shared-lag",
        "by-level-selection",
        "zones-from-memory",
        "few-days-for-ranges",
        "few-readings-for-ranges",
        "one-wear",
        "two-wears",
        "pressure-lows-open",
        "clock-apart",
        "alarms-rehearsed",
    }
)
"""Cautions about the answer and the numbers beside it: a sealed judgement would tell something by them, or speak of what it
does not show."""


BESIDE = frozenset(
    {
        "exploratory-looks",
        "by-level-selection",
        "zones-from-memory",
        "few-days-for-ranges",
        "few-readings-for-ranges",
        "strays-from-sticks",
        "shown-differs",
    }
)
"""Those of them that speak of each sensor by itself: left out at a declared look too."""


def sealed(findings: Findings) -> Findings:
    """The same judgement under seal: no head to head, no numbers about how far off a sensor was, no cautions that
    depend on them; safety stays."""
    kept = [each for each in findings.cautions if each.code not in TELLING]
    return replace(
        findings,
        sealed=True,
        sensors=tuple(_sealed(sensor) for sensor in findings.sensors),
        head_to_head=(),
        reconstruction=None,
        cautions=in_order([*kept, caution("sealed", "trial")]),
    )


def at_look(findings: Findings, number: int, of: int) -> Findings:
    """The judgement on the day of a declared look: the answer alone, with what it rests on."""
    told = caution("at-look", "trial", look=number, of=of)
    kept = [each for each in findings.cautions if each.code not in BESIDE]
    return replace(
        findings,
        sensors=tuple(_sealed(sensor) for sensor in findings.sensors),
        reconstruction=None,
        cautions=in_order([*kept, told]),
    )


def _sealed(sensor: SensorFindings) -> SensorFindings:
    return replace(
        sensor,
        accuracy=None, phases=None, days=None, wear_by_wear=None, levels=None, zones=None,
        against_reconstruction=None, strays=None, lag_minutes=None, pressure_lows=None, calibrations=None,
        alarms=None, ranges=None,
    )  # fmt: skip
