"""Clocks that look off, proposed with their evidence and never applied unasked.

What sticks of one time show against sticks typed is found here, a sensor's clock in `sensor_clocks`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.intake import sensor_clocks
from evenhand.intake.ask import Suggested
from evenhand.intake.settings import Settings
from evenhand.intake.sticks import NEAR, Draft, agrees
from evenhand.records.files import OpenProposal
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial

_FURTHEST = 13 * HOUR
_SPREAD = 4 * MINUTE
_LEAST = 4


def suggest(
    drafts: Sequence[Draft], batches: Sequence[Batch], trial: Trial, settings: Settings, now: int
) -> tuple[Suggested, ...]:
    """Corrections of the device's clock that the evidence at hand supports; none once a shift or a zone was said."""
    if settings.get("shift") is not None or settings.get("zone") is not None:
        return ()
    return (*_future(drafts, now), *_against_typed(drafts, trial), *sensor_clocks.suggest(batches, trial))


def left_open(suggested: Sequence[Suggested]) -> tuple[OpenProposal, ...]:
    """The proposals as they stay open in the trial file."""
    return tuple(OpenProposal(one.code, one.text, one.evidence, one.set) for one in suggested)


def _future(drafts: Sequence[Draft], now: int) -> list[Suggested]:
    late = [draft for draft in drafts if draft.at.instant > now + DAY]
    if not late:
        return []
    return [
        Suggested(
            "clock-ahead",
            f"{len(late)} rows lie in the future: the device's clock may have been set wrong.",
            f"line {late[0].line} is dated {late[0].at.iso}",
            "shift=-365d",
        )
    ]


def _against_typed(drafts: Sequence[Draft], trial: Trial) -> list[Suggested]:
    """Sticks typed with a time of their own, found in the meter's file with the same values at a constant shift."""
    typed = [stick for stick in trial.sticks if stick.source is None]
    pairs = [
        (draft.at.instant - stick.at.instant, number)
        for number, stick in enumerate(typed)
        for draft in drafts
        if draft.of_meter
        and abs(draft.at.instant - stick.at.instant) <= _FURTHEST
        and agrees(draft.glucose, stick.glucose)
    ]
    if len({number for _, number in pairs}) < _LEAST:
        return []
    shifts = np.array([shift for shift, _ in pairs])
    votes = [
        len({number for shift, number in pairs if abs(shift - centre) <= _SPREAD})
        for centre in shifts.tolist()
    ]
    best = int(np.argmax(votes))
    centre = int(np.median(shifts[np.abs(shifts - shifts[best]) <= _SPREAD]))
    rivals = [
        vote for vote, shift in zip(votes, shifts.tolist(), strict=True) if abs(shift - centre) > 2 * _SPREAD
    ]
    if (
        votes[best] < _LEAST
        or votes[best] < 0.6 * len(typed)
        or abs(centre) <= NEAR
        or votes[best] < 2 * max(rivals, default=0)
    ):
        return []
    minutes = round(centre / MINUTE)
    ahead = "ahead of" if minutes > 0 else "behind"
    return [
        Suggested(
            "clock-off",
            f"The meter's clock looks {abs(minutes)} min {ahead} the times you typed.",
            f"{votes[best]} of {len(typed)} typed sticks have the same value in this file, {abs(minutes)} min {'later' if minutes > 0 else 'earlier'}",
            f"shift={-minutes:+d}min",
        )
    ]
