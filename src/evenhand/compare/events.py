"""Stick events: which sticks are one, which judge, and which are left out for reasons that look at no sensor."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator
from statistics import fmean

from evenhand.clock import MINUTE
from evenhand.compare.shapes import StickEvent
from evenhand.records.diary import REPEAT_WITHIN, MarkKind, Reason, Stick
from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, IN_RANGE
from evenhand.units import Beyond, Glucose

RECHECK_WITHIN = 15 * MINUTE

CONTROL, STRIP_ERROR, UNWASHED = "control", "strip-error", "unwashed"
CALIBRATION, PROMPTED, RECHECK, UNKNOWN = "calibration", "prompted", "recheck", "unknown"


def left_out_by(stick: Stick) -> str | None:
    """The code for which a stick is no event at all, None where it is one.

    Control solution is no blood and never counts. A strip error and unwashed hands leave a stick out only if marked
    with the value itself; a mark made later is kept as a mark.
    """
    if stick.marked(MarkKind.CONTROL):
        return CONTROL
    for kind, code in ((MarkKind.STRIP_ERROR, STRIP_ERROR), (MarkKind.UNWASHED, UNWASHED)):
        mark = stick.marked(kind)
        if mark is not None and mark.early:
            return code
    return None


def marked_later(stick: Stick) -> bool:
    """Whether a mark was set later that would have left the stick out, had it been set in time."""
    return any(
        mark.kind in (MarkKind.STRIP_ERROR, MarkKind.UNWASHED) and not mark.early for mark in stick.marks
    )


def stick_events(sticks: Iterable[Stick]) -> tuple[StickEvent, ...]:
    """The events of sticks in any order, in time order.

    A planned repeat at most 5 min after the stick before it joins it. Any other stick at most 15 min after one
    before it is a recheck. Sticks that are no event (`left_out_by`) stand before nothing: the stick that follows a
    strip error is not its recheck.
    """
    groups: list[tuple[list[Stick], bool]] = []
    before: Stick | None = None
    for stick in sorted(sticks, key=lambda one: one.at.instant):
        if left_out_by(stick) is not None:
            continue
        apart = None if before is None else stick.at.instant - before.at.instant
        if stick.repeat and apart is not None and apart <= REPEAT_WITHIN:
            groups[-1][0].append(stick)
        else:
            groups.append(([stick], apart is not None and apart <= RECHECK_WITHIN))
        before = stick
    return tuple(sorted(itertools.starmap(_event, groups), key=lambda one: one.at))


def _event(sticks: list[Stick], recheck: bool) -> StickEvent:  # noqa: FBT001
    units = {stick.glucose.unit for stick in sticks}
    beyond = {stick.glucose.beyond for stick in sticks} - {None}
    side = beyond.pop() if len(beyond) == 1 else None
    mg_dl = fmean(stick.glucose.mg_dl for stick in sticks)
    if len(units) == 1:
        mean = Glucose(fmean(stick.glucose.value for stick in sticks), units.pop(), "", side)
        level = 0 if mean.is_low else 2 if mean.is_high else 1
    else:
        level = 0 if mg_dl < 70 or side is Beyond.LOW else 2 if mg_dl > 180 or side is Beyond.HIGH else 1
    return StickEvent(
        at=round(fmean(stick.at.instant for stick in sticks)),
        mg_dl=mg_dl,
        flag={None: IN_RANGE, Beyond.LOW: BEYOND_LOW, Beyond.HIGH: BEYOND_HIGH}[side],
        level=level,
        reason=sticks[0].reason,
        recheck=recheck,
        marked=any(marked_later(stick) for stick in sticks),
        sticks=tuple(sticks),
    )


def judges(event: StickEvent, *, declared: bool) -> bool:
    """Whether an event judges: plan and habit, and in an undeclared trial unknown; never a recheck."""
    if event.recheck:
        return False
    return event.reason in (Reason.PLAN, Reason.HABIT) or (event.reason is Reason.UNKNOWN and not declared)


def why_not(event: StickEvent, *, declared: bool) -> str | None:
    """The code for which an event does not judge, None where it does."""
    if event.reason is Reason.CALIBRATION:
        return CALIBRATION
    if judges(event, declared=declared):
        return None
    if event.recheck:
        return RECHECK
    return PROMPTED if event.reason is Reason.PROMPTED else UNKNOWN


def left_out_counts(
    sticks: Iterable[Stick], events: Iterable[StickEvent], *, declared: bool
) -> tuple[tuple[str, int], ...]:
    """How many sticks judge nothing, by code, codes in alphabetical order."""

    def codes() -> Iterator[str | None]:
        yield from (left_out_by(stick) for stick in sticks)
        for event in events:
            yield from [why_not(event, declared=declared)] * len(event.sticks)

    return tuple(sorted(Counter(code for code in codes() if code is not None).items()))
