"""Declared looks: when they fall, which one is due, and whether its answer may end the trial. Looks at no reading."""

from __future__ import annotations

from collections.abc import Iterable

from evenhand.clock import DAY
from evenhand.findings.findings import HeadToHead
from evenhand.records.question import Opening
from evenhand.records.trial import Trial

SHOWN_FOR = DAY
"""The answer at a declared look stays readable for so long (seconds); then the seal closes again."""


def begun(trial: Trial) -> int | None:
    """The instant from which looks are counted: the planned start, else the first wear, else the declaration."""
    plan = trial.plan
    if plan.drawn is not None and plan.drawn.wears:
        return min(wear.started.instant for wear in plan.drawn.wears)
    if plan.wanted.start is not None:
        return plan.wanted.start.instant
    if trial.wears:
        return min(wear.start.instant for wear in trial.wears)
    return trial.question.declared.at.instant if trial.question.declared is not None else None


def look_times(trial: Trial) -> tuple[int, ...]:
    """The instants of the declared looks before the last, at equal numbers of days; empty for one look, or where the
    declared end is no time."""
    question, start = trial.question, begun(trial)
    if question.declared is None or question.end is None or start is None:
        return ()
    whole = question.end.instant - start
    return tuple(start + whole * look // question.looks for look in range(1, question.looks))


def due_look(trial: Trial, now: int) -> int | None:
    """The number (from 1) of the declared look whose time has come and that is not taken yet; None where there is none.

    A look that was let pass is gone once the next one is due.
    """
    come = [number for number, at in enumerate(look_times(trial), 1) if at <= now]
    end = trial.question.end
    if not come or (end is not None and end.instant <= now):
        return None
    return None if come[-1] in {opening.look for opening in trial.openings} else come[-1]


def showing(openings: Iterable[Opening], now: int) -> Opening | None:
    """The look whose answer may be read at `now`; None where there is none."""
    found = [
        one for one in openings if one.look is not None and one.at.instant <= now < one.at.instant + SHOWN_FOR
    ]
    return max(found, key=lambda one: one.at.instant, default=None)


def ends_the_trial(heads: Iterable[HeadToHead]) -> bool:
    """Whether an answer at a declared look ends the trial as declared: closer by more than the margin, or equal."""
    answers = [head.answer for head in heads]
    return any(
        one.state == "equal" or (one.state == "closer" and one.beyond_margin == "yes") for one in answers
    )
