"""Sticks without a stated reason that lie at a drawn minute: they are planned ones. Looks at times alone."""

from __future__ import annotations

from dataclasses import replace

from evenhand.clock import MINUTE
from evenhand.records.diary import Reason, Stick
from evenhand.records.trial import Trial

NEAR = 10 * MINUTE
"""A stick at most this far from a drawn minute was taken for it."""


def with_reasons(trial: Trial) -> Trial:
    """The trial with every stick that nobody gave a reason, and that lies within ten minutes of a drawn minute without a
    stick yet, as a planned one: the nearest of several. Without a drawn plan the trial itself."""
    drawn = trial.plan.drawn
    if drawn is None or not drawn.minutes:
        return trial
    taken = {
        minute
        for stick in trial.sticks
        if stick.stated
        and stick.reason is Reason.PLAN
        and (minute := trial.plan.planned_at(stick.at.instant, NEAR)) is not None
    }
    found: dict[int, Stick] = {}
    for stick in trial.sticks:
        if stick.stated or stick.reason is not Reason.UNKNOWN:
            continue
        minute = trial.plan.planned_at(stick.at.instant, NEAR)
        if minute is None or minute in taken:
            continue
        held = found.get(minute)
        if held is None or abs(stick.at.instant - minute) < abs(held.at.instant - minute):
            found[minute] = stick
    planned = {stick.id for stick in found.values()}
    if not planned:
        return trial
    sticks = tuple(replace(one, reason=Reason.PLAN) if one.id in planned else one for one in trial.sticks)
    return replace(trial, sticks=sticks)
