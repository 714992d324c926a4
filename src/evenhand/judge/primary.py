"""The primary question as judged: who is asked about, under which terms, and how firmly it stood before the data."""

from __future__ import annotations

from itertools import combinations
from typing import Literal

from evenhand.compare.common import Terms
from evenhand.compare.shapes import Layout
from evenhand.findings import METHOD
from evenhand.findings.findings import Declaration, Deviation, Looks, Opened, Primary, SealedUntil
from evenhand.records.question import PairsAsked, Policy, Question
from evenhand.records.trial import Trial
from evenhand.stats.decision import confidence

Standing = Literal["declared", "declared late", "explored", "undeclared"]


def duels(trial: Trial) -> tuple[tuple[int, int], ...]:
    """The pairs of sensors that get an answer, as places in the trial: the declared pair; else every pair."""
    ids = [sensor.id for sensor in trial.sensors]
    pair = trial.question.pair
    if pair is not None and pair[0] in ids and pair[1] in ids:
        return ((ids.index(pair[0]), ids.index(pair[1])),)
    return tuple(combinations(range(len(ids)), 2))


def terms(trial: Trial, scatter: float) -> Terms:
    """What is asked of each pair of sensors; `scatter` is the meter's SD in percent."""
    question = trial.question
    answers = len(duels(trial))
    return Terms(
        steady=question.pairs is PairsAsked.STEADY,
        margin=question.margin,
        tolerance=question.tolerance,
        scatter=scatter,
        levels=confidence(question.looks, max(answers, 1)),
        uncalibrated=question.policy is Policy.NONE,
    )


def primary(trial: Trial, layout: Layout, *, ended: bool) -> Primary:
    """The question with its standing, for the contract. `ended`: its end is reached (or none was declared), so that
    this judgement is a look by itself; before that, looks are openings of the seal."""
    question = trial.question
    asked = duels(trial)
    names = [sensor.name for sensor in trial.sensors]
    return Primary(
        metric="mad",
        pair=(names[asked[0][0]], names[asked[0][1]]) if len(asked) == 1 else None,
        pairs="steady" if question.pairs is PairsAsked.STEADY else "all",
        sticks=("plan", "habit") if question.declared else ("plan", "habit", "unknown"),
        stream=question.stream.value,
        margin=question.margin,
        tolerance=f"{question.tolerance}/{question.tolerance}",
        waking=(_clock(question.waking[0]), _clock(question.waking[1])) if question.waking else None,
        standing=standing(trial, layout),
        declared=_declaration(question),
        fingerprint=question.declared.fingerprint if question.declared else None,
        looks=Looks(question.looks, len(trial.openings) + int(ended)),
        sealed_until=_until(question),
        opened=tuple(Opened(opening.at.iso, opening.day) for opening in trial.openings),
        deviations=_deviations(question),
    )


def standing(trial: Trial, layout: Layout) -> Standing:
    """How firmly the question stood: 'undeclared'; 'declared late' after the first reading or stick; 'explored' where
    sticks judge that were taken after the declared end, or where the seal was opened before the end more often than
    looks were declared for; 'declared'. The last declared look is that at the end."""
    declared = trial.question.declared
    if declared is None:
        return "undeclared"
    end = trial.question.end
    pairs = layout.pairs
    if end is not None and (pairs.at[pairs.judging] > end.instant).any():
        return "explored"
    if len(trial.openings) > trial.question.looks - 1:
        return "explored"
    first = min(
        (int(readings.instant[0]) for readings in trial.readings.values() if len(readings)), default=None
    )
    late = declared.sticks_before > 0 or (first is not None and first < declared.at.instant)
    return "declared late" if late else "declared"


def _declaration(question: Question) -> Declaration | None:
    declared = question.declared
    if declared is None:
        return None
    return Declaration(declared.at.iso, declared.day, declared.sticks_before, declared.method)


def _until(question: Question) -> SealedUntil | None:
    if question.declared is None or (question.end is None and question.end_wears is None):
        return None
    return SealedUntil(question.end.iso if question.end else None, question.end_wears)


def _deviations(question: Question) -> tuple[Deviation, ...]:
    declared = question.declared
    if declared is None or declared.method == METHOD:
        return ()
    what = f"judged by method {METHOD} instead of method {declared.method}"
    return (Deviation(declared.at.iso, what, "the method was raised since the declaration"),)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
