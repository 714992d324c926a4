"""The primary question as judged: who is asked about, under which terms, and how firmly it stood before the data."""

from __future__ import annotations

from itertools import combinations
from typing import Literal

from evenhand.compare.common import Terms
from evenhand.compare.shapes import Layout
from evenhand.findings import METHOD
from evenhand.findings.findings import Declaration, Deviation, Looks, Opened, Primary, SealedUntil
from evenhand.judge.seal import end_of, reached
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


def primary(trial: Trial, layout: Layout, known: int | None) -> Primary:
    """The question with its standing, for the contract; `known` is the instant up to which the trial is known."""
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
        standing=standing(trial, layout, known),
        declared=_declaration(question),
        fingerprint=question.declared.fingerprint if question.declared else None,
        looks=Looks(question.looks, looks_taken(trial, layout, known)),
        sealed_until=_until(question),
        opened=tuple(Opened(one.at.iso, one.day) for one in trial.openings if one.look is None),
        deviations=_deviations(trial),
    )


def standing(trial: Trial, layout: Layout, known: int | None = None) -> Standing:
    """How firmly the question stood: 'undeclared'; 'explored' where the seal was broken, more looks were taken than
    declared, or sticks judge that were taken after the end; 'declared late' after the first reading or stick;
    'declared'."""
    declared = trial.question.declared
    if declared is None:
        return "undeclared"
    broken = any(opening.look is None for opening in trial.openings)
    many = looks_taken(trial, layout, known) > trial.question.looks
    if broken or many or _went_on(trial, layout):
        return "explored"
    first = min(
        (int(readings.instant[0]) for readings in trial.readings.values() if len(readings)), default=None
    )
    late = declared.sticks_before > 0 or (first is not None and first < declared.at.instant)
    return "declared late" if late else "declared"


def looks_taken(trial: Trial, layout: Layout, known: int | None) -> int:
    """How often the answer was looked at: declared looks, each broken seal, and the last look once the end is
    reached (at once where nothing is sealed)."""
    question, openings = trial.question, trial.openings
    taken = len({one.look for one in openings if one.look is not None})
    taken += sum(one.look is None for one in openings)
    endless = question.declared is None or (question.end is None and question.end_wears is None)
    over = any(one.ended for one in openings)
    return taken + int(not over and (endless or reached(trial, layout, known)))


def _went_on(trial: Trial, layout: Layout) -> bool:
    """Whether sticks judge a sensor that were taken after the declared end, or after a look that ended the trial."""
    ends = [end_of(trial, layout), *(one.at.instant for one in trial.openings if one.ended)]
    end = min((one for one in ends if one is not None), default=None)
    pairs = layout.pairs
    counted = pairs.judging & pairs.scored.any(axis=1)
    return end is not None and bool((pairs.at[counted] > end).any())


def _declaration(question: Question) -> Declaration | None:
    declared = question.declared
    if declared is None:
        return None
    return Declaration(declared.at.iso, declared.day, declared.sticks_before, declared.method)


def _until(question: Question) -> SealedUntil | None:
    if question.declared is None or (question.end is None and question.end_wears is None):
        return None
    return SealedUntil(question.end.iso if question.end else None, question.end_wears)


def _deviations(trial: Trial) -> tuple[Deviation, ...]:
    declared = trial.question.declared
    if declared is None:
        return ()
    found = [Deviation(one.at.iso, one.what, one.why) for one in trial.deviations]
    if declared.method != METHOD:
        version = f" (Evenhand {declared.version} judges by it)" if declared.version else ""
        what = f"judged by method {METHOD} instead of method {declared.method}{version}"
        found.append(Deviation(declared.at.iso, what, "the method was raised since the declaration"))
    return tuple(found)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
